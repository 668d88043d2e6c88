"""The light in a drawing: every level of a layer by day, by night and of lamps, and the margins that are narrowest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from circuitcheck.chance.light.margins import Margin
from circuitcheck.plans.layer_light import LayerLight
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.sheet import bands
from circuitcheck.report.terminal.light_budget import WHEN

MOST_MARGINS = 10
SOLID = "##"


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
