"""A window of a drawing, made a box of its own: in it all may change, what is around it stays as it is.

Whatever feeds a port there as it stands must feed it afterwards. Power that comes from beyond the surroundings is dust
that is lit, and dust by which power leaves them is to be lit by the same. So the rest of the drawing need not be read;
only how many levels are lost in all is not seen, and a few rules that reach beyond the surroundings: the true reading
has the last word.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property
from typing import NamedTuple

from circuitcheck.model.drawing import MATTERS, At, Drawing, Thing
from circuitcheck.placing.box import WAYS, Box, Rows, box_of, fill, lift_unfit, turned
from circuitcheck.placing.grid import (
    AIR,
    BELOW,
    COMPARATOR,
    DUST,
    ENTRY,
    EXIT,
    FACE,
    GIVEN,
    HAVE,
    INSIDE,
    KIND,
    LEVER,
    MOST_PARTS,
    MOST_PLACES,
    MOST_PORTS,
    OUTER,
    PORTS,
    REPEATER,
    STAYS,
    STRAIGHT_IN,
    WANT,
    WAY,
    WHO,
    Row,
    back_of,
)
from circuitcheck.placing.pieces.made_pieces import beside
from circuitcheck.placing.pieces.whole import Whole
from circuitcheck.placing.problem import Port, Problem

MARGIN = 2
"""How far the surroundings reach: what is done to a place depends on no more, but for dust (rules W2 to W8)."""


class Mark(NamedTuple):
    """Dust in the surroundings that has to do with what is beyond them."""

    at: At
    code: int
    face: int
    """On which side other dust joins it beyond."""


class Window:
    """A window of a drawing, as a box with its surroundings."""

    def __init__(self, whole: Whole, low: At, high: At) -> None:
        self._whole, self.low, self.high = whole, low, high
        first = [max(1, each - MARGIN) for each in low]
        last = [min(most, each + MARGIN) for most, each in zip(whole.size, high, strict=True)]
        self._from, self._to = (first[0], first[1], first[2]), (last[0], last[1], last[2])

    @cached_property
    def seen(self) -> list[int]:
        """The parts in the window and its surroundings, as their box counts them."""
        return sorted(number for at, number in self._whole.parts.items() if self.sees(at))

    def has(self, at: At) -> bool:
        """Whether a place is in the window."""
        return all(one <= each <= other for one, each, other in zip(self.low, at, self.high, strict=True))

    def sees(self, at: At) -> bool:
        """Whether a place is in the window or its surroundings."""
        return all(one <= each <= other for one, each, other in zip(self._from, at, self._to, strict=True))

    def places(self) -> Iterable[At]:
        """Every place of the window."""
        return _all_places(self.low, self.high)

    def inside(self, at: At) -> At:
        """A place of the drawing, as its box counts."""
        return at[0] - self._from[0] + 1, at[1] - self._from[1] + 1, at[2] - self._from[2] + 1

    def box(self, gone: Callable[[At], bool], read: Callable[[Row], None], rows: Rows) -> Box | None:
        """The box, from which all was taken that stood at places that are to become free; None where there is too much
        in it."""
        size = tuple(other - one + 1 for one, other in zip(self._from, self._to, strict=True))
        whole, problem = self._whole, self._whole.problem
        seen = self.seen
        marks = list(self._marks())
        count, ports = len(seen) + len(marks), self._ports(seen, len(marks))
        if count > MOST_PARTS or len(ports) > MOST_PORTS or (size[0] + 2) * (size[1] + 2) * (size[2] + 2) > MOST_PLACES:
            return None
        dust = Thing(MATTERS["dust"])
        own = Problem(
            problem.circuit,
            tuple(map(str, range(count))),
            (*(problem.things[part] if part < len(problem.things) else dust for part in seen), *[dust] * len(marks)),
            (*(whole.code(part) for part in seen), *(mark.code for mark in marks)),
            tuple(ports),
            (False,) * count,
            (),
        )
        box = box_of(own, (size[0], size[1], size[2]))
        places = {number: at for at, number in whole.parts.items()}
        where = [*(places[part] for part in seen), *(mark.at for mark in marks)]
        self._furnish(box, [BELOW] * len(seen) + [mark.face for mark in marks], where)
        box = Box(own, box.size, rows(box.memory))
        self._ask(box, where, gone, read)
        return box

    def _furnish(self, box: Box, faces: Sequence[int], where: Sequence[At]) -> None:
        """Puts all that stands into the box; what is around the window stays."""
        m, whole = box.memory, self._whole
        for part, face in enumerate(faces):
            m[FACE + part] = face
        things = {self.inside(at): thing for at, thing in whole.things.items() if self.sees(at)}
        fill(box, things, {part: self.inside(at) for part, at in enumerate(where)})
        staying = {at for at, part in whole.parts.items() if part >= len(whole.problem.names)}
        staying |= {at for at in map(self.outside, things) if not self.has(at)}
        held = {whole.holder(at) for at in staying}
        for inside in box.places():
            number, at = box.number(inside), self.outside(inside)
            stays = at in staying or at in held or not self.has(at)
            m[STAYS + number], m[INSIDE + number] = int(stays), int(not stays)
            m[OUTER + number] = int(whole.in_reach(at))
        if whole.by_hand:
            for at, part in whole.parts.items():
                if whole.code(part) == LEVER and at[0] < whole.size[0]:
                    self._keep_open(box, at)

    def _keep_open(self, box: Box, lever: At) -> None:
        """Keeps what is above a lever open, where a hand comes to it from there only."""
        if lever[1] in (1, self._whole.size[1]) or lever[2] in (1, self._whole.size[2]):
            return
        for layer in range(lever[0] + 1, self._whole.size[0] + 1):
            if self.sees((layer, *lever[1:])):
                box.memory[INSIDE + box.number(self.inside((layer, *lever[1:])))] = 0

    def outside(self, at: At) -> At:
        """A place of its box, as the drawing counts."""
        return at[0] + self._from[0] - 1, at[1] + self._from[1] - 1, at[2] + self._from[2] - 1

    def _ask(self, box: Box, where: Sequence[At], gone: Callable[[At], bool], read: Callable[[Row], None]) -> None:
        """Has each port fed as it is now, and lifts what stands where nothing may stay."""
        m = box.memory
        for part, at in enumerate(where):
            if box.problem.codes[part] in (REPEATER, COMPARATOR):
                ahead = box.number(self.inside(beside(at, self._whole.way(at))))
                pointed = m[KIND + ahead] in (REPEATER, COMPARATOR) and m[WAY + ahead] != back_of(self._whole.way(at))
                m[STRAIGHT_IN + part] = int(pointed)
        read(m)
        for port in range(m[PORTS]):
            m[WANT + port] = m[HAVE + port]
        for at in self.places():
            if gone(at):
                m[INSIDE + box.number(self.inside(at))] = 0
        lift_unfit(box, self._whole.by_hand)

    def _ports(self, seen: Sequence[int], marks: int) -> list[Port]:
        """The ports of the parts that are seen, and one of each mark."""
        known = {part: number for number, part in enumerate(seen)}
        found = [
            Port(known[port.part], port.how, {}, frozenset(), False)
            for port in self._whole.problem.ports
            if port.part in known
        ]
        given = [known[part] for part in seen if part >= len(self._whole.problem.names)]
        dusts = [*given, *range(len(seen), len(seen) + marks)]
        return found + [Port(each, GIVEN, {}, frozenset(), False) for each in dusts]

    def _marks(self) -> Iterator[Mark]:
        """The dust by which power comes in from beyond the surroundings, or may leave them."""
        whole = self._whole
        beyond = [at for at in whole.parts if not self.sees(at)]
        for at in _all_places(self._from, self._to):
            if self.has(at) or not whole.is_dust(at) or at in whole.parts:
                continue
            out = [(side, other) for side, other in whole.joined(at) if not self.sees(other)]
            lit = any(not self.sees(place) for place in self._places_of(whole.lights(at)))
            near = any(sum(abs(one - other) for one, other in zip(at, each, strict=True)) <= 2 for each in beyond)
            if out or lit or near:
                comes = lit or any(self._comes_by(other, at) for _, other in out)
                yield Mark(at, ENTRY if comes else EXIT, out[0][0] if out else BELOW)

    def _places_of(self, parts: set[int]) -> Iterator[At]:
        return (at for at, part in self._whole.parts.items() if part in parts)

    def _comes_by(self, first: At, at: At) -> bool:
        """Whether power may come in by dust beyond, that goes on from a place in the surroundings."""
        found, reached = [first], {first, at}
        for place in found:
            if self.sees(place) or self._whole.lights(place):
                return True
            for _, other in self._whole.joined(place):
                if other not in reached:
                    reached.add(other)
                    found.append(other)
        return False

    def with_box(self, box: Box) -> Drawing:
        """The drawing with what stands in the box."""
        m, whole, problem = box.memory, self._whole, self._whole.problem
        things = {at: thing for at, thing in whole.things.items() if not self.has(at)}
        names = {at: name for at, name in whole.drawing.names.items() if not self.has(at)}
        for at in self.places():
            number = box.number(self.inside(at))
            part, kind = m[WHO + number], m[KIND + number]
            if m[STAYS + number]:
                if at in whole.things:
                    things[at] = whole.things[at]
                if at in whole.drawing.names:
                    names[at] = whole.drawing.names[at]
            elif part >= 0:
                things[at] = turned(problem.things[self.seen[part]], WAYS[m[WAY + number]])
                names[at] = problem.names[self.seen[part]]
            elif kind != AIR:
                things[at] = Thing(MATTERS["dust" if kind == DUST else "block"])
        return Drawing(things, names, size=whole.size)


def _all_places(low: At, high: At) -> Iterable[At]:
    """Every place from one to another."""
    layers, rows, columns = (range(one, other + 1) for one, other in zip(low, high, strict=True))
    return ((layer, row, column) for layer in layers for row in rows for column in columns)
