"""The light in a drawing: every level of a layer by day, by night and of lamps, and the margins that are narrowest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from circuitcheck.chance.margins import Margin
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.light import FULL_SUN, MOONLIGHT
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.space.light import Lighting, shining
from circuitcheck.space.moving import moved
from circuitcheck.space.room import Room

MOST_MARGINS = 10
WHEN = {"day": "by day", "rain": "in rain", "storm": "in a storm", "night": "at night"}
SOLID = "##"

Levels = dict[At, int]


def lighting_of(circuit: Circuit, drawing: Drawing, on: frozenset[str]) -> Lighting:
    """The light in a drawing while some parts are on."""
    return Lighting(Room(drawing, circuit.rules), on.__contains__, moved(drawing, circuit))


def levels_of(circuit: Circuit, drawing: Drawing, on: frozenset[str]) -> tuple[Levels, Levels]:
    """The light at every place, of full sun and of lamps, torches and standing lights, while some parts are on."""
    lighting = lighting_of(circuit, drawing, on)
    lit = {place: level for place, level in shining(Room(drawing, circuit.rules)) if _shines(drawing, place, on)}
    return lighting.from_sky().levels, lighting.from_places(lit).levels


def _shines(drawing: Drawing, place: At, on: frozenset[str]) -> bool:
    return drawing.things[place].word == "light" or drawing.name(place) in on


def map_lines(circuit: Circuit, drawing: Drawing, layer: int, on: frozenset[str], width: int) -> Iterator[Line]:
    """Every level of a layer: by day, at night, and of lamps alone."""
    lighting = lighting_of(circuit, drawing, on)
    sun, lamps = levels_of(circuit, drawing, on)
    moon = {place: max(level - (FULL_SUN - MOONLIGHT), 0) for place, level in sun.items()}
    lit = [name for name in sorted(on) if name in circuit.by_name and circuit.by_name[name].word in ("lamp", "torch")]
    what = f"lit: {', '.join(lit[:8])}{', …' if len(lit) > 8 else ''}" if lit else "no lamp or torch is lit"
    yield from wrapped(safe(f"layer {layer}; {what}"), width, "", "  ", Style.STRONG)
    for words, sky in (("by day", sun), ("at night", moon), ("of lamps, torches and standing lights alone", {})):
        yield from wrapped(words, width, "  ", style=Style.STRONG)
        yield from _grid(
            lighting, drawing.size, layer, {**lamps, **{p: max(level, lamps.get(p, 0)) for p, level in sky.items()}}
        )
    yield from wrapped(f"{SOLID} is what light does not pass; . is dark", width, "  ", style=Style.FAINT)


def _grid(lighting: Lighting, size: At, layer: int, levels: Levels) -> Iterator[Line]:
    _, rows, columns = size
    yield line("      ", "".join(f"{column:>3}" for column in range(1, columns + 1)))
    for row in range(1, rows + 1):
        cells = (_cell(lighting, (layer, row, column), levels) for column in range(1, columns + 1))
        yield line(f"  {row:>3} ", "".join(f"{cell:>3}" for cell in cells))
    yield line()


def _cell(lighting: Lighting, place: At, levels: Levels) -> str:
    if lighting.meets(place) == "solid":
        return SOLID
    return str(levels.get(place, 0) or ".")


def margin_lines(margins: Sequence[Margin], width: int) -> Iterator[Line]:
    """The places that are nearest to a threshold."""
    yield line(Piece("nearest to a threshold", Style.STRONG))
    for margin in margins[:MOST_MARGINS]:
        state = " and ".join(f"'{part}' is {'on' if on else 'off'}" for part, on in margin.parts)
        how = f"{margin.to_spare} to spare" if margin.to_spare >= 0 else f"{-margin.to_spare} short"
        while_ = f" while {state}" if state else ""
        cells = ", ".join(margin.cells[:3]) + (f" and {len(margin.cells) - 3} more" if len(margin.cells) > 3 else "")
        text = f"{how:>10}  {cells} can {margin.words} {WHEN[margin.sky]}{while_}"
        yield from wrapped(safe(text), width, "  ", " " * 14)
    yield line()
