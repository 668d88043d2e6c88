"""Pieces: one part, or several that must touch, with the blocks that hold them and the places where nets come and go.

A piece is what is moved as one. Between pieces there is always room, so that no part of one does anything to a part of
another but by way of dust.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from circuitcheck.placing.grid import (
    ABOVE,
    BACK,
    BELOW,
    COMPARATOR,
    DETECTOR,
    EAST,
    HOLDER,
    LAMP,
    LEVER,
    LOCK,
    NORTH,
    POWER,
    REPEATER,
    SIDE,
    SOUTH,
    TORCH,
    WATCHED,
    WEST,
    back_of,
)
from circuitcheck.placing.problem import CantPlace, Problem

Spot = tuple[int, int, int]
"""A place by its layer, row and column, counted from anywhere."""
STEPS: tuple[Spot, ...] = ((0, -1, 0), (0, 0, 1), (0, 1, 0), (0, 0, -1), (1, 0, 0), (-1, 0, 0))
"""One place on in each of the six directions."""


def beside(at: Spot, way: int, places: int = 1) -> Spot:
    """So many places on in a direction."""
    step = STEPS[way]
    return at[0] + step[0] * places, at[1] + step[1] * places, at[2] + step[2] * places


def turned(at: Spot, turn: int) -> Spot:
    """A place after so many quarter turns, from east to south."""
    layer, row, column = at
    for _ in range(turn):
        row, column = column, -row
    return layer, row, column


@dataclass
class Piece:
    """What is moved as one: its places are counted from its first part."""

    parts: dict[int, tuple[Spot, int]] = field(default_factory=dict)
    """Where each part stands, and which way it faces or is held."""
    blocks: set[Spot] = field(default_factory=set)
    pins: dict[int, list[Spot]] = field(default_factory=dict)
    """For each input that nets lead to, by the number of its port: where their dust is to lie, one place for each."""
    taps: dict[int, list[Spot]] = field(default_factory=dict)
    """For each part that lights dust: where that may lie."""

    def turned(self, turn: int) -> Piece:
        """The piece after so many quarter turns."""

        def each(places: list[Spot]) -> list[Spot]:
            return [turned(at, turn) for at in places]

        parts = {
            part: (turned(at, turn), (way + turn) % 4 if way < 4 else way) for part, (at, way) in self.parts.items()
        }
        pins = {port: each(places) for port, places in self.pins.items()}
        taps = {part: each(places) for part, places in self.taps.items()}
        return Piece(parts, {turned(at, turn) for at in self.blocks}, pins, taps)

    @property
    def core(self) -> tuple[Spot, Spot]:
        """The least and the greatest place of the box that holds its parts, blocks and pins."""
        own = [
            *self.blocks,
            *(at for at, _ in self.parts.values()),
            *(at for pins in self.pins.values() for at in pins),
        ]
        own += [places[0] for places in self.taps.values() if len(places) == 1]
        low, high = (tuple(pick(at[axis] for at in own) for axis in range(3)) for pick in (min, max))
        return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def straight_parts(problem: Problem) -> dict[int, int]:
    """For each part that points straight into another the port that it feeds (rule C3). Raises CantPlace."""
    found = {}
    for part, straight in enumerate(problem.straight):
        if straight:
            ports = [number for number, port in enumerate(problem.ports) if part in port.feeds]
            if len(ports) != 1:
                raise CantPlace(
                    f"'{problem.names[part]}' points straight into one part and feeds others", "put dust between"
                )
            found[part] = ports[0]
    return found


def pieces_of(
    problem: Problem, nets_at: dict[int, int], straight: dict[int, int], meetings: Sequence[tuple[int, ...]]
) -> list[Piece]:
    """The pieces of a circuit. Raises CantPlace for a part that none can be made of.

    `nets_at` says of each port how many nets lead to it, `meetings` which parts are to light one and the same dust.
    """
    alone = set(range(len(problem.names))) - straight.keys() - {part for each in meetings for part in each}
    made = []
    for root in sorted(alone):
        made.append(_Made(problem, nets_at, straight))
        made[-1].put(root, (0, 0, 0), EAST)
    for sources in meetings:
        made.append(_Made(problem, nets_at, straight))
        made[-1].meet(sources)
    if sum(len(each.piece.parts) for each in made) < len(problem.names):
        raise CantPlace("parts point straight into one another in a ring", "put dust between two of them")
    return [each.piece for each in made]


class _Made:
    """A piece as it is put together."""

    def __init__(self, problem: Problem, nets_at: dict[int, int], straight: dict[int, int]) -> None:
        self._problem, self._nets_at, self._straight = problem, nets_at, straight
        self.piece = Piece()

    def meet(self, sources: tuple[int, ...]) -> None:
        """Puts parts around one dust, which all of them light with nothing lost."""
        dust = (0, 0, 0)
        for part, side in zip(sources, (WEST, NORTH, SOUTH), strict=False):
            at = beside(dust, side)
            self.put(part, beside(at, ABOVE) if self._problem.codes[part] == LEVER else at, back_of(side))
            self.piece.taps[part] = [dust]
        self.piece.blocks.add(beside(dust, BELOW))
        crowded = self.piece.blocks & {at for at, _ in self.piece.parts.values()}
        if crowded or len(sources) > 3:
            names = ", ".join(f"'{self._problem.names[part]}'" for part in sources)
            raise CantPlace(f"{names} have no room around the dust that they give out", "give out a part")

    def put(self, part: int, at: Spot, way: int) -> None:
        """Puts a part, what holds it, and what points straight into it."""
        if at in self.piece.blocks or any(at == known for known, _ in self.piece.parts.values()):
            raise CantPlace(f"there is no room for '{self._problem.names[part]}' to point straight", "put dust between")
        code = self._problem.codes[part]
        if code == TORCH:
            self._torch(part, at, way)
        elif code == LEVER:
            below = beside(at, BELOW)
            self.piece.parts[part] = at, BELOW
            self.piece.blocks.add(below)
            self.piece.taps[part] = [beside(each, side) for each in (below, at) for side in range(4)]
        elif code == LAMP:
            self.piece.parts[part] = at, 0
            self._feed(self._port(part, POWER), at, range(4))
        else:
            self._faced(part, at, way)

    def _torch(self, part: int, at: Spot, way: int) -> None:
        holder = beside(at, back_of(way))
        self.piece.parts[part] = at, back_of(way)
        self.piece.blocks.add(holder)
        self.piece.taps[part] = [beside(at, side) for side in range(4) if side != back_of(way)]
        self._feed(self._port(part, HOLDER), holder, [side for side in range(4) if side != way])

    def _faced(self, part: int, at: Spot, way: int) -> None:
        """A repeater, a comparator or a detector: what it reads behind and from its sides, and gives in front."""
        code, back = self._problem.codes[part], back_of(way)
        self.piece.parts[part] = at, way
        if code in (REPEATER, COMPARATOR):
            self.piece.blocks.add(beside(at, BELOW))
        if part not in self._straight:
            self.piece.taps[part] = [beside(at, way)]
        behind = self._port(part, WATCHED if code == DETECTOR else BACK)
        inside = [each for each, port in self._straight.items() if port == behind]
        if inside:
            if len(inside) > 1 or self._nets_at.get(behind, 0):
                raise CantPlace(
                    f"more than one thing points into '{self._problem.names[part]}' from behind", "put dust between"
                )
            self.put(inside[0], beside(at, back), way)
        elif self._nets_at.get(behind, 0) == 1:
            self.piece.pins[behind] = [beside(at, back)]
        elif self._nets_at.get(behind, 0):
            block = beside(at, back)
            self.piece.blocks.add(block)
            self._feed(behind, block, [side for side in range(4) if side != way])
        if code != DETECTOR:
            self._sides(part, at, way)

    def _sides(self, part: int, at: Spot, way: int) -> None:
        """What a repeater or comparator takes from its sides."""
        port = self._port(part, LOCK if self._problem.codes[part] == REPEATER else SIDE)
        sides = [(way + 1) % 4, (way + 3) % 4]
        inside = [each for each, into in self._straight.items() if into == port]
        nets = self._nets_at.get(port, 0)
        if len(inside) + nets > 2 or (nets and self._problem.codes[part] == REPEATER):
            raise CantPlace(f"too much comes to '{self._problem.names[part]}' from its sides", "let less lock it")
        for each in inside:
            side = sides.pop()
            self.put(each, beside(at, side), back_of(side))
        if nets:
            self.piece.pins[port] = [beside(at, side) for side in sides[:nets]]

    def _port(self, part: int, how: int) -> int:
        """The number of a part's port; -1 where it has none such."""
        found = (number for number, port in enumerate(self._problem.ports) if port.part == part and port.how == how)
        return next(found, -1)

    def _feed(self, port: int, block: Spot, sides: Iterable[int]) -> None:
        """Pins for a block that nets are to power: dust on it, and from its sides, where it must come in straight.

        Dust at a side has blocks above it and to its left and right: so it can't join dust that would turn it away.
        """
        count, order = self._nets_at.get(port, 0), sorted(sides, key=lambda side: (side != WEST, side))
        if count > 1 + len(order):
            name = self._problem.names[self._problem.ports[port].part]
            raise CantPlace(
                f"'{name}' is fed by {count} sorts of parts, and {1 + len(order)} have room", "feed it by fewer"
            )
        pins = [(block[0] + 1, block[1], block[2])] if count else []
        for side in order[: max(0, count - 1)]:
            pin = beside(block, side)
            pins.append(pin)
            self.piece.blocks |= {beside(pin, way) for way in ((side + 1) % 4, (side + 3) % 4, ABOVE)}
        if pins:
            self.piece.pins[port] = pins
