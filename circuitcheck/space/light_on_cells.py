"""The light on the cells of a drawing, by as much of what comes and goes as can be followed.

Where strokes move things, light goes by the heads of pistons, by what each moves in its first stroke, and by water that
flows. That may be too much to try in every state. Then what stuck pistons move is lit as if each stroke pulled it home:
where they are. If that is still too much, heads are as air, and then water is as it is drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At
from circuitcheck.model.light import BLOCK
from circuitcheck.model.parts.cells import Cell
from circuitcheck.space.daylight import Lit, lit_places, with_a_say
from circuitcheck.space.light import Head, Moved
from circuitcheck.space.room import Room


class OnCells(NamedTuple):
    """The light on cells, or why it can't be computed."""

    lit: Lit
    apart: bool = True
    """Whether it goes by where the blocks of stuck pistons are, and not by where these pistons are."""
    heads: bool = True
    """Whether it goes by the heads of pistons."""


def followed(circuit: Circuit) -> dict[str, str]:
    """What goes by itself for the light on cells alone, and is no part of the circuit: by it, the piston that moves it.

    Those are blocks of stuck pistons.
    """
    lit = dict.fromkeys(part for place in circuit.places for part in place.parts)
    return {part: part.removesuffix(BLOCK) for part in lit if part.endswith(BLOCK) and part not in circuit.by_name}


def light_on_cells(
    room: Room, circuit: Circuit, cells: Sequence[tuple[At, Cell]], every_light: bool = False
) -> OnCells:
    """The light on some cells of a drawing, each with the place that it stands at.

    Of lamps and torches that give a cell less light than decides anything there the ways are left out, unless
    `every_light` is asked for.
    """
    if not (cells and room.drawing.has_pistons):
        return OnCells(lit_places(room, cells, [], {}, every_light))
    from circuitcheck.space.pushed_light import heads, moved, not_lit  # what moves is imported only where it does
    from circuitcheck.space.water_light import water_in_light

    drawing, coming = room.drawing, list(heads(room.drawing, circuit))
    blocks = moved(drawing, circuit, True)
    flowing = water_in_light(drawing, room.rules, blocks)
    unlit = {each.places: why for each, why in not_lit(drawing, circuit, blocks)}
    if unlit:
        say = with_a_say(room, cells, blocks, flowing)
        mistakes = tuple(unlit[each.places] for each in say if isinstance(each, Moved) and each.places in unlit)
        if mistakes:
            return OnCells(Lit((), {}, mistakes))
    pushed: list[Moved | Head] = []
    for apart in (True, False):
        pushed = [each for each in moved(drawing, circuit, apart) if each.places not in unlit]
        lit = lit_places(room, cells, [*pushed, *coming], flowing, every_light)
        if not lit.mistakes:
            return OnCells(lit, apart)
    lit = lit_places(room, cells, pushed, flowing, every_light)
    if lit.mistakes and flowing:
        lit = lit_places(room, cells, pushed, {}, every_light)
    return OnCells(lit, apart=False, heads=not coming)
