"""The light in a drawing: every level of a layer by day, by night and of lamps, and the margins that are narrowest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from circuitcheck.chance.margins import Margin
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.light import FULL_SUN, MOONLIGHT
from circuitcheck.report.light import WHEN
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.sheet import bands
from circuitcheck.space.light import Lighting, shining
from circuitcheck.space.moving import moved
from circuitcheck.space.room import Room

MOST_MARGINS = 10
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


class LayerLight(NamedTuple):
    """The light in one layer while some parts are on. Levels by rows; None where light does not pass."""

    layer: int
    lit: tuple[str, ...]
    """The lamps and torches that are on."""
    by_day: list[list[int | None]]
    at_night: list[list[int | None]]
    of_lamps: list[list[int | None]]
    """Of lamps, torches and standing lights alone."""


def layer_light(circuit: Circuit, drawing: Drawing, layer: int, on: frozenset[str]) -> LayerLight:
    """Every level of a layer: by day, at night, and of lamps alone."""
    lighting = lighting_of(circuit, drawing, on)
    sun, lamps = levels_of(circuit, drawing, on)
    moon = {place: max(level - (FULL_SUN - MOONLIGHT), 0) for place, level in sun.items()}
    shining_parts = (name for name in sorted(on) if name in circuit.by_name)
    lit = tuple(name for name in shining_parts if circuit.by_name[name].light)
    _, rows, columns = drawing.size

    def grid(sky: Levels) -> list[list[int | None]]:
        return [
            [
                None if lighting.meets(place) == "solid" else max(sky.get(place, 0), lamps.get(place, 0))
                for place in ((layer, row, column) for column in range(1, columns + 1))
            ]
            for row in range(1, rows + 1)
        ]

    return LayerLight(layer, lit, grid(sun), grid(moon), grid({}))


def map_lines(found: LayerLight, width: int) -> Iterator[Line]:
    """Every level of a layer, under one another."""
    lit = ", ".join(found.lit[:8]) + (", …" if len(found.lit) > 8 else "")
    what = f"lit: {lit}" if lit else "no lamp or torch is lit"
    yield from wrapped(safe(f"layer {found.layer}; {what}"), width, "", "  ", Style.STRONG)
    for words, levels in (
        ("by day", found.by_day),
        ("at night", found.at_night),
        ("of lamps, torches and standing lights alone", found.of_lamps),
    ):
        yield from wrapped(words, width, "  ", style=Style.STRONG)
        for band in bands(len(levels[0]), (width - 6) // 3):
            yield line("      ", "".join(f"{column:>3}" for column in band))
            for row, each in enumerate(levels, 1):
                shown = (each[column - 1] for column in band)
                yield line(f"  {row:>3} ", "".join(f"{SOLID if level is None else level or '.':>3}" for level in shown))
            yield line()
    yield from wrapped(f"{SOLID} is what light does not pass; . is dark", width, "  ", style=Style.FAINT)


def map_data(found: LayerLight) -> dict[str, Any]:
    """The same as plain data."""
    return {**found._asdict(), "lit": list(found.lit)}


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


def margin_data(each: Margin) -> dict[str, Any]:
    """A margin as plain data."""
    return {
        "place": each.place,
        "sensor": each.row,
        "change": each.words,
        "sky": each.sky,
        "parts": [{"part": part, "on": on} for part, on in each.parts],
        "to_spare": each.to_spare,
        "cells": list(each.cells),
    }
