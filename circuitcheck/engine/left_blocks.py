"""What strokes leave or bring to where light does not follow it, where light on cells depends on that.

To light, what a piston moves in its first stroke is at home or one place on, and of a row all is. A run ends where it
comes to be elsewhere, as when another piston pushes it on; where something is moved that no first stroke moves, as what
a sticky piston fetches; and where a head comes out elsewhere. What V5 names is read at home. Where the blocks of stuck
pistons are more than light can follow, each is taken to be where its piston is: home or one place on. A run then also
ends where one goes home and its block stays out, as after every stroke of a plain piston (M1) and a short one of a
sticky piston (M6). All that matters only if a cell could get other light by it.
"""

from __future__ import annotations

from functools import cached_property
from typing import NoReturn

from circuitcheck.engine.refused import RunRefused
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

SHUT = "shut it off from the cells"


class LeftBlocks:
    """What the pistons of one drawn circuit move, and where light on cells follows it."""

    def __init__(self, circuit: Circuit) -> None:
        assert circuit.drawing is not None
        self._circuit, self._drawing = circuit, circuit.drawing
        self._cells = [(circuit.where[part.name], part.cell) for part in circuit.parts if part.cell is not None]
        self._rows: dict[At, tuple[tuple[At, At], ...]] = {}
        """By each piston what it moves in its first stroke, each thing by its home and with the place it comes to."""
        self._stuck: dict[At, At] = {}
        """By each stuck piston the home of what it moves; what another one moves has a part that says where it is."""
        self._heads: dict[At, At] = {}
        """By each piston the place that its head comes to in its first stroke."""
        self._named = frozenset[At]()
        """What is read at home wherever it is moved, as a finding says (V5)."""
        known = self._circuit.by_name
        strokes = Strokes(circuit.drawing, circuit.rules)
        self._facing = strokes.facing
        for stroke in strokes.one_at_a_time() if self._cells else ():
            name = circuit.drawing.name(stroke.piston)
            self._heads[stroke.piston] = stroke.head
            if is_lit(circuit.drawing, stroke) and name in known:
                self._rows[stroke.piston] = stroke.moves
                if f"{name}{BLOCK}" not in known:
                    self._stuck[stroke.piston] = stroke.head
            elif is_named(circuit.drawing, stroke):
                self._named |= {home for home, _ in stroke.moves}
        self._piston_of = {home: piston for piston, row in self._rows.items() for home, _ in row}
        self._matters: dict[tuple[At, At], bool] = {}

    def refuse_elsewhere(self, after: Configuration, by: At) -> None:
        """Ends a run in which a stroke of a piston brings something to where light on cells does not follow it."""
        if not self._cells:
            return
        for home, place in after.places:
            piston = self._piston_of.get(home, by)
            row = self._rows.get(piston, ()) if home in self._piston_of else ()
            if home in self._named or (row and all(after.place(thing) == out for thing, out in row)):
                continue
            if self._is_seen(home, place):
                self._refuse(piston, f"what '{self._drawing.name(piston)}' has moved comes to", place)
        heads = self._heads if self._follows.heads else {}
        for piston, phase in after.phases:
            head = self._facing(piston).from_(after.place(piston))
            comes = phase in (Phase.GOING_OUT, Phase.OUT) and head != heads.get(piston)
            if comes and self._is_seen(head, head):
                self._refuse(piston, f"the head of '{self._drawing.name(piston)}' comes to", head)

    def _refuse(self, piston: At, what: str, place: At) -> NoReturn:
        why = f"{what} {said(place)}, where the light on cells does not follow it"
        raise RunRefused(why, "M4", self._drawing.name(piston), place, f"let nothing else move it, or {SHUT}")

    def refuse_left(self, piston: At, after: Configuration) -> None:
        """Ends a run in which a stuck piston goes home and its block stays, if light takes it to be where that is."""
        block = self._stuck.get(piston)
        if block is None:
            return
        stays = after.place(block)
        if stays != block and not self._follows.apart and self._is_seen(block, stays):
            name = self._drawing.name(piston)
            why = f"'{name}' goes home, its block stays at {said(stays)}, and light on cells takes it to be home"
            raise RunRefused(why, "M4", name, stays, f"let it pull its block home, or {SHUT}")

    @cached_property
    def _follows(self) -> OnCells:
        """How much light goes by of what strokes move."""
        return light_on_cells(Room(self._drawing, self._circuit.rules), self._circuit, self._cells)

    def _is_seen(self, home: At, stays: At) -> bool:
        """Whether light at any cell may depend on where a block is, with everything else wherever it may be."""
        known = self._matters.get((home, stays))
        if known is None:
            drawing, circuit = self._drawing, self._circuit
            left, blocks = Moved(home, stays, ""), moved(drawing, circuit, True)
            water = water_in_light(drawing, circuit.rules, blocks)
            coming: list[Moved | Head] = [left, *blocks, *heads(drawing, circuit)]
            known = left in with_a_say(Room(drawing, circuit.rules), self._cells, coming, water)
            self._matters[home, stays] = known
        return known
