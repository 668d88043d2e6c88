"""Stuck pistons that go home without their blocks, where light on cells depends on that.

To light what a stuck piston moves is where the piston is: home or one place on. That is so where each stroke pulls
its block home. Where a block stays out, as after every stroke of a plain piston (M1) and a short one of a sticky piston
(M6), light would need a part of its own that says so; a run ends there, if a cell could get other light by it.
"""

from __future__ import annotations

from circuitcheck.engine.refused import RunRefused
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, said
from circuitcheck.space.configuration import Configuration
from circuitcheck.space.daylight import with_a_say
from circuitcheck.space.light import Head, Moved
from circuitcheck.space.pushed_light import heads, moved
from circuitcheck.space.room import Room
from circuitcheck.space.water_light import water_in_light


class LeftBlocks:
    """The blocks of which light takes it that they are home when their pistons are, of one drawn circuit."""

    def __init__(self, circuit: Circuit) -> None:
        assert circuit.drawing is not None
        self._circuit, self._drawing = circuit, circuit.drawing
        self._cells = [(circuit.where[part.name], part.cell) for part in circuit.parts if part.cell is not None]
        blocks = moved(circuit.drawing, circuit) if self._cells else []
        at = {circuit.drawing.name(piston): piston for piston, thing in circuit.drawing.things.items() if thing.pushes}
        self._home = {at[each.part]: each.home for each in blocks if each.part in at}
        """By their pistons, each with the place that it belongs in; another block has a part that says where it is."""
        self._matters: dict[tuple[At, At], bool] = {}

    def refuse(self, piston: At, after: Configuration) -> None:
        """Ends a run in which a piston has started home, and what it moved stays where light can't see it."""
        block = self._home.get(piston)
        if block is None:
            return
        stays = after.place(block)
        if stays != block and self._is_seen(block, stays):
            name = self._drawing.name(piston)
            why = f"'{name}' goes home, its block stays at {said(stays)}, and light on cells takes it to be home"
            hint = "let it pull its block home, or shut the block off from the cells"
            raise RunRefused(why, "M4", name, stays, hint)

    def _is_seen(self, home: At, stays: At) -> bool:
        """Whether light at any cell may depend on where a block is, with everything else wherever it may be."""
        known = self._matters.get((home, stays))
        if known is None:
            drawing, circuit = self._drawing, self._circuit
            left, blocks = Moved(home, stays, ""), moved(drawing, circuit)
            water = water_in_light(drawing, circuit.rules, blocks)
            coming: list[Moved | Head] = [left, *blocks, *heads(drawing, circuit)]
            known = left in with_a_say(Room(drawing, circuit.rules), self._cells, coming, water)
            self._matters[home, stays] = known
        return known
