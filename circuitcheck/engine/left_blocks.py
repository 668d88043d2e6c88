"""Blocks that strokes leave or push to where light does not follow them, where light on cells depends on that.

To light, what a piston moves in its first stroke is at home or one place on, and of a row all is. A run ends where it
comes to be elsewhere, as when another piston pushes it on. Where the blocks of stuck pistons are more than light can
follow, each is taken to be where its piston is: home or one place on. A run then also ends where one goes home and its
block stays out, as after every stroke of a plain piston (M1) and a short one of a sticky piston (M6). Either matters
only if a cell could get other light by it.
"""

from __future__ import annotations

from functools import cached_property

from circuitcheck.engine.refused import RunRefused
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, said
from circuitcheck.model.light import BLOCK
from circuitcheck.space.configuration import Configuration
from circuitcheck.space.daylight import with_a_say
from circuitcheck.space.light import Head, Moved
from circuitcheck.space.light_on_cells import light_on_cells
from circuitcheck.space.pushed_light import heads, is_lit, moved
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
        known = self._circuit.by_name
        for stroke in Strokes(circuit.drawing, circuit.rules).one_at_a_time() if self._cells else ():
            name = circuit.drawing.name(stroke.piston)
            if is_lit(circuit.drawing, stroke) and name in known:
                self._rows[stroke.piston] = stroke.moves
                if f"{name}{BLOCK}" not in known:
                    self._stuck[stroke.piston] = stroke.head
        self._piston_of = {home: piston for piston, row in self._rows.items() for home, _ in row}
        self._matters: dict[tuple[At, At], bool] = {}

    def refuse_elsewhere(self, after: Configuration) -> None:
        """Ends a run in which something has come to where light on cells does not follow it."""
        for home, place in after.places:
            piston = self._piston_of.get(home)
            if piston is None:
                continue
            row = self._rows[piston]
            if all(after.place(thing) == out for thing, out in row) or not self._is_seen(home, place):
                continue
            name = self._drawing.name(piston)
            why = f"what '{name}' has moved comes to {said(place)}, where the light on cells does not follow it"
            raise RunRefused(why, "M4", name, place, f"let nothing else move it, or {SHUT}")

    def refuse_left(self, piston: At, after: Configuration) -> None:
        """Ends a run in which a stuck piston goes home and its block stays, if light takes it to be where that is."""
        block = self._stuck.get(piston)
        if block is None:
            return
        stays = after.place(block)
        if stays != block and not self._goes_apart and self._is_seen(block, stays):
            name = self._drawing.name(piston)
            why = f"'{name}' goes home, its block stays at {said(stays)}, and light on cells takes it to be home"
            raise RunRefused(why, "M4", name, stays, f"let it pull its block home, or {SHUT}")

    @cached_property
    def _goes_apart(self) -> bool:
        """Whether light goes by where the blocks of stuck pistons are, and not by where these pistons are."""
        return light_on_cells(Room(self._drawing, self._circuit.rules), self._circuit, self._cells).apart

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
