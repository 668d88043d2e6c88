"""The ground with all pieces on it: what stands where for good, and which nets may lay dust and blocks beside that."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from circuitcheck.model.drawing import At
from circuitcheck.placing.grid import (
    ABOVE,
    BELOW,
    COMPARATOR,
    DETECTOR,
    LAMP,
    LEVER,
    REPEATER,
    TORCH,
    Row,
    back_of,
)
from circuitcheck.placing.pieces.leading import FREE, OTHER, OUTSIDE, SOLID, Ground
from circuitcheck.placing.pieces.made_pieces import Piece, Spot, beside
from circuitcheck.placing.problem import Problem

Rows = Callable[[Iterable[int]], Row]
Nets = frozenset[int]


@dataclass(frozen=True)
class Standing:
    """Pieces at their places, in a box."""

    problem: Problem
    size: At
    """Of the box, in layers, rows and columns."""
    pieces: Sequence[tuple[Piece, Spot]]
    """Each piece as it is turned, and where its first part stands."""
    net_of: Mapping[int, int]
    """The net that each part gives to."""
    nets_at: Mapping[int, Sequence[int]]
    """The nets that lead to each port, in the order of the pins that they come to."""
    by_hand: bool
    """Whether levers and buttons have nothing but air above them, so that a hand comes to them."""

    def number(self, at: Spot) -> int:
        """Where a place stands in the rows; places are counted from 1, with one of air around them."""
        return (at[0] * (self.size[1] + 2) + at[1]) * (self.size[2] + 2) + at[2]

    def place(self, number: int) -> At:
        """The place that stands there in the rows."""
        layer, rest = divmod(number, (self.size[1] + 2) * (self.size[2] + 2))
        return (layer, *divmod(rest, self.size[2] + 2))

    def parts(self) -> Iterable[tuple[int, Spot, int]]:
        """Each part, its place, and which way it faces or is held."""
        for piece, at in self.pieces:
            for part, (there, way) in piece.parts.items():
                yield part, moved(there, at), way

    def blocks(self) -> Iterable[Spot]:
        """Every block of a piece."""
        return (moved(block, at) for piece, at in self.pieces for block in piece.blocks)

    def pins(self) -> Mapping[tuple[int, int], Spot]:
        """For each port and each net that leads to it where its dust is to lie."""
        return {
            (port, net): moved(pin, at)
            for piece, at in self.pieces
            for port, pins in piece.pins.items()
            for net, pin in zip(self.nets_at[port], pins, strict=True)
        }

    def taps(self) -> Mapping[int, list[Spot]]:
        """For each part that lights dust where that may lie."""
        return {
            part: [moved(tap, at) for tap in taps] for piece, at in self.pieces for part, taps in piece.taps.items()
        }


def moved(at: Spot, by: Spot) -> Spot:
    """A place, moved."""
    return at[0] + by[0], at[1] + by[1], at[2] + by[2]


def _fixed(standing: Standing, rules: _Rules, whole: int) -> list[int]:
    """What stands at each place, or may."""
    fixed = [OUTSIDE] * whole
    for layer in range(1, standing.size[0] + 1):
        for row in range(1, standing.size[1] + 1):
            first = standing.number((layer, row, 1))
            fixed[first : first + standing.size[2]] = [FREE] * standing.size[2]
    for at in rules.air:
        fixed[standing.number(at)] = OTHER
    for at in standing.blocks():
        fixed[standing.number(at)] = SOLID
    for part, at, _ in standing.parts():
        fixed[standing.number(at)] = SOLID if standing.problem.codes[part] == LAMP else OTHER
    return fixed


def _limited(standing: Standing, rules: _Rules, whole: int) -> tuple[list[int], list[int], list[int]]:
    """Which nets alone may lay dust at each place, and blocks, each as where its set begins; and these sets."""
    sets = [0]
    known: dict[Nets, int] = {}
    limited: list[list[int]] = []
    for allowed in (rules.dusts, rules.blocks):
        numbers = [0] * whole
        for at, nets in allowed.items():
            number = standing.number(at)
            if not 0 <= number < whole:
                continue
            if nets not in known:
                known[nets] = len(sets)
                sets += [len(nets), *sorted(nets)]
            numbers[number] = known[nets]
        limited.append(numbers)
    dusts, blocks = limited
    return dusts, blocks, sets


def ground_of(standing: Standing, rows: Rows) -> Ground:
    """The ground on which the nets are to be led."""
    layers, across, deep = standing.size[0] + 2, standing.size[2] + 2, (standing.size[1] + 2) * (standing.size[2] + 2)
    whole = layers * deep
    rules = _Rules(standing)
    dusts, blocks, sets = _limited(standing, rules, whole)

    def empty(size: int = whole) -> Row:
        return rows([0] * size)

    return Ground(
        rows((-across, 1, across, -1, deep, -deep)),
        rows(_fixed(standing, rules, whole)),
        empty(),
        empty(),
        empty(),
        empty(),
        rows(dusts),
        rows(blocks),
        rows(sets),
        empty(),
        empty(),
        empty(),
        empty(),
        empty(),
        empty(),
        empty(12 * whole + 2),
        empty(),
        empty(),
        empty(),
    )


class _Rules:
    """Which nets may lay dust, and blocks, where: from what the parts do there (rules P4, W4 to W8)."""

    def __init__(self, standing: Standing) -> None:
        self._standing = standing
        self.dusts: dict[Spot, Nets] = {}
        self.blocks: dict[Spot, Nets] = {}
        self.air: list[Spot] = []
        """Places that must stay free: above levers."""
        self._codes = standing.problem.codes
        self._solid = set(standing.blocks())
        wanted: dict[int, set[int]] = {}
        for number, port in enumerate(standing.problem.ports):
            wanted.setdefault(port.part, set()).update(standing.nets_at.get(number, ()))
        for part, at, way in standing.parts():
            given = frozenset({standing.net_of[part]}) if part in standing.net_of else frozenset()
            self._of_part(part, at, way, given, frozenset(wanted.get(part, ())))

    def _of_part(self, part: int, at: Spot, way: int, given: Nets, wanted: Nets) -> None:
        code = self._codes[part]
        if code in (TORCH, LEVER):
            holder = beside(at, way)
            self._dust((beside(at, side) for side in range(6)), given)
            if code == TORCH:
                self._block((beside(at, ABOVE),), frozenset())
                self._holder(holder, wanted)
            else:
                self._dust((beside(holder, side) for side in range(6)), given)
                if self._standing.by_hand:
                    self.air += [(layer, at[1], at[2]) for layer in range(at[0] + 1, self._standing.size[0] + 1)]
        elif code in (REPEATER, COMPARATOR, DETECTOR):
            self._of_faced(code, at, way, given, wanted)
        elif code == LAMP:
            near = [
                (at[0], at[1] + row, at[2] + column)
                for row in range(-2, 3)
                for column in range(-2, 3)
                if 0 < abs(row) + abs(column) <= 2
            ]
            self._dust(near, wanted)
            above = beside(at, ABOVE)
            self._dust((above, *(beside(above, side) for side in range(4))), wanted)
            self._block((above, beside(at, BELOW)), frozenset())

    def _of_faced(self, code: int, at: Spot, way: int, given: Nets, wanted: Nets) -> None:
        """What a repeater, a comparator or a detector gives in front, and reads behind it and from its sides."""
        front, behind = beside(at, way), beside(at, back_of(way))
        self._dust((front,), given)
        self._block((front, behind), frozenset())
        self._dust((behind,), wanted)
        if behind in self._solid:
            self._holder(behind, wanted)
        if code == COMPARATOR:
            self._dust((beside(at, (way + turn) % 4) for turn in (1, 3)), wanted)

    def _holder(self, block: Spot, wanted: Nets) -> None:
        """What may lie on a block that is read, and beside it."""
        self._dust((beside(block, side) for side in range(5)), wanted)

    def _dust(self, places: Iterable[Spot], nets: Nets) -> None:
        for at in places:
            self.dusts[at] = self.dusts[at] & nets if at in self.dusts else nets

    def _block(self, places: Iterable[Spot], nets: Nets) -> None:
        for at in places:
            self.blocks[at] = self.blocks[at] & nets if at in self.blocks else nets
