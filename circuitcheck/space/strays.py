"""Where what pistons have moved, and their heads, are not where light on cells takes them to be.

To light, what a piston moves in its first stroke is at home or one place on, and of a row all is. It may come to be
elsewhere, as when another piston pushes it on; something may be moved that no first stroke moves, as what a sticky
piston fetches; and a head may come out elsewhere. What V5 names is read at home. Where the blocks of stuck pistons are
more than light can follow, each is taken to be where its piston is: home or one place on. It is not where one goes home
and its block stays out, as after every stroke of a plain piston (M1) and a short one of a sticky piston (M6). All that
matters only if a cell could get other light by it.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import NamedTuple

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, said
from circuitcheck.model.light import BLOCK
from circuitcheck.space.configuration import Configuration, Phase
from circuitcheck.space.daylight import with_a_say
from circuitcheck.space.light import Head, Moved
from circuitcheck.space.light_on_cells import OnCells, light_on_cells
from circuitcheck.space.pushed_light import heads, is_lit, is_named, moved
from circuitcheck.space.room import Room
from circuitcheck.space.strokes import Strokes
from circuitcheck.space.water_light import water_in_light


class Stray(NamedTuple):
    """Something that is not where light takes it to be: what, its home, and where it is; of a head that place twice."""

    what: str
    home: At
    place: At


class Strays:
    """What the pistons of one drawn circuit move, and where light on cells takes it to be."""

    def __init__(self, circuit: Circuit) -> None:
        assert circuit.drawing is not None
        self._circuit, self._drawing = circuit, circuit.drawing
        self._cells = [(circuit.where[part.name], part.cell) for part in circuit.parts if part.cell is not None]
        self._rows: dict[At, tuple[tuple[At, At], ...]] = {}
        """By each piston what it moves in its first stroke, each thing by its home and with the place it comes to."""
        self._stuck: set[At] = set()
        """The stuck pistons among them; what another one moves has a part that says where it is."""
        self._heads: dict[At, At] = {}
        """By each piston the place that its head comes to in its first stroke."""
        self._named: set[At] = set()
        """What is read at home wherever it is moved, as a finding says (V5)."""
        known, strokes = circuit.by_name, Strokes(circuit.drawing, circuit.rules)
        self._facing = strokes.facing
        for stroke in strokes.one_at_a_time() if self._cells else ():
            name = circuit.drawing.name(stroke.piston)
            self._heads[stroke.piston] = stroke.head
            if is_lit(circuit.drawing, stroke) and name in known:
                self._rows[stroke.piston] = stroke.moves
                if f"{name}{BLOCK}" not in known:
                    self._stuck.add(stroke.piston)
            elif is_named(circuit.drawing, stroke):
                self._named |= {home for home, _ in stroke.moves}
        self._piston_of = {home: piston for piston, row in self._rows.items() for home, _ in row}
        self._seen: dict[tuple[At, At], bool] = {}

    def of(self, now: Configuration) -> Iterator[Stray]:
        """What is not where light takes it to be, seen by cells or not."""
        if not self._cells or not (now.places or now.phases):
            return
        for home, place in now.places:
            piston = self._piston_of.get(home)
            if home not in self._named and not self._is_followed(home, piston, now):
                what = f"what stood at {said(home)}" if piston is None else f"what '{self._name(piston)}' has moved"
                yield Stray(what, home, place)
        heads = self._heads if self._follows.heads else {}
        for piston, phase in now.phases:
            head = self._facing(piston).from_(now.place(piston))
            if phase in (Phase.GOING_OUT, Phase.OUT) and head != heads.get(piston):
                yield Stray(f"the head of '{self._name(piston)}'", head, head)

    def seen(self, now: Configuration) -> str:
        """The first of them, said in words, on which light at a cell may depend; empty if there is none."""
        for what, home, place in self.of(now):
            if self._is_seen(home, place):
                return f"{what} is at {said(place)}, and the light on cells does not follow it (M4)"
        return ""

    def _is_followed(self, home: At, piston: At | None, now: Configuration) -> bool:
        """Whether something that is away from its home is where light takes it to be."""
        if piston is None or any(now.place(thing) != out for thing, out in self._rows[piston]):
            return False
        left = now.phase(piston) is not Phase.OUT and now.stroke_of(home) is None
        return not left or piston not in self._stuck or self._follows.apart

    def _name(self, piston: At) -> str:
        return self._drawing.name(piston)

    @cached_property
    def _follows(self) -> OnCells:
        """How much light goes by of what strokes move."""
        return light_on_cells(Room(self._drawing, self._circuit.rules), self._circuit, self._cells)

    def _is_seen(self, home: At, stays: At) -> bool:
        """Whether light at any cell may depend on where a block is, with everything else wherever it may be."""
        known = self._seen.get((home, stays))
        if known is None:
            drawing, circuit = self._drawing, self._circuit
            stray, blocks = Moved(home, stays, ""), moved(drawing, circuit, True)
            water = water_in_light(drawing, circuit.rules, blocks)
            coming: list[Moved | Head] = [stray, *blocks, *heads(drawing, circuit)]
            known = stray in with_a_say(Room(drawing, circuit.rules), self._cells, coming, water)
            self._seen[home, stays] = known
        return known
