"""Stuck pistons that go home without their blocks, where light on cells depends on that.

To light what a stuck piston moves is where the piston is: home or one place on. That is so where each stroke pulls
its block home. Where a block stays out, as after every stroke of a plain piston (M1) and a short one of a sticky piston
(M6), light would need a part of its own that says so; a run ends there, if a cell could get other light by it.
"""

from __future__ import annotations

from collections.abc import Mapping

from circuitcheck.engine.refused import RunRefused
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.directions import ABOVE
from circuitcheck.model.drawing import At, said
from circuitcheck.space.configuration import Configuration
from circuitcheck.space.light import Lighting, shining
from circuitcheck.space.pushed_light import moved
from circuitcheck.space.room import Room
from circuitcheck.space.scene import Displaced, scene


class LeftBlocks:
    """The blocks of which light takes it that they are home when their pistons are, of one drawn circuit."""

    def __init__(self, circuit: Circuit) -> None:
        assert circuit.drawing is not None
        self._circuit, self._drawing = circuit, circuit.drawing
        self._cells = [circuit.where[part.name] for part in circuit.parts if part.cell is not None]
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
        """Whether any cell gets other light with a block there and not at home, with everything else at home."""
        known = self._matters.get((home, stays))
        if known is None:
            here, there = self._light({}), self._light({home: stays})
            known = self._matters[home, stays] = here != there
        return known

    def _light(self, away: Mapping[At, At]) -> list[tuple[int, int]]:
        """The light of full sun, and of all that may shine, at the place above each cell."""
        drawing = scene(self._drawing, [Displaced(home, place) for home, place in away.items()])
        room = Room(drawing, self._circuit.rules)
        _, brightest = Lighting.bounds(room, (), {})
        sun, lamps = brightest.from_sky().levels, brightest.from_places(dict(shining(room))).levels
        return [(sun.get(at, 0), lamps.get(at, 0)) for at in map(ABOVE.from_, self._cells)]
