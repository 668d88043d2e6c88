"""`light`: the light at each place, folded or block by block, against what the cells there take."""

from __future__ import annotations

import argparse

from circuitcheck import examine
from circuitcheck.chance.light.budget import budgets
from circuitcheck.chance.light.margins import margins
from circuitcheck.commands import common, printing
from circuitcheck.diagnostics import did_you_mean
from circuitcheck.examine import Drawn, Refused
from circuitcheck.plans.layer_light import light_at_the_start
from circuitcheck.report.lines import Style, safe, wrapped
from circuitcheck.report.terminal.light_budget import LEGEND, light_data, light_lines
from circuitcheck.report.terminal.light_folded import folded_lines
from circuitcheck.report.terminal.lightmap import map_data, map_lines, margin_data, margin_lines


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Reads, and shows the light at each place."""
    opened = examine.opened(options.path, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    common.together(options, "layer", "place")
    if options.layer:
        return _layer(options, common.drawn_of(opened))
    circuit = opened.circuit_study.circuit
    every = list(budgets(circuit))
    names = [each.place.name for each in every]
    if not names and circuit.drawing is not None:
        raise examine.Refused(f"{options.path} draws no soil cell for light to fall on; --layer N shows a whole layer")
    if not names:
        raise examine.Refused(f"{options.path} names no place: add a line such as 'place bed gets sky through leaf'")
    if options.place is not None and options.place not in names:
        near = did_you_mean(options.place, names) or f"there are {', '.join(names[:8])}"
        raise examine.Refused(f"no place is called '{options.place}'; {near}")
    found = [each for each in every if options.place in (None, each.place.name)]
    nearest = margins(every) if circuit.drawing is not None else []
    if options.json:
        listed = {"places": [light_data(each) for each in found], "nearest": [margin_data(each) for each in nearest]}
        printing.file_json(options.path, listed)
        return 0
    width = printing.width(options)
    if options.full:
        for each in found:
            printing.show(light_lines(each, circuit.cycle, width))
    else:
        printing.show(folded_lines(found, circuit.cycle, width))
    if nearest:
        printing.show(margin_lines(nearest, width))
    for finding in opened.still_cells:
        printing.show(wrapped(safe(finding.message), width, "  ", style=Style.DOUBT))
    printing.show(wrapped(LEGEND, width, "  ", style=Style.FAINT))
    return 0


def _layer(options: argparse.Namespace, drawn: Drawn) -> int:
    """Shows every level of one layer, with what is on at the start."""
    if options.layer > drawn.drawing.size[0]:
        raise Refused(f"the drawing has {drawn.drawing.size[0]} layers")
    found, ways = light_at_the_start(drawn.circuit, drawn.started, drawn.drawing, options.layer)
    if options.json:
        printing.file_json(options.path, {"starts": ways, **map_data(found)})
        return 0
    if ways > 1:
        text = f"it can start in {ways} ways (C6): this is the light in the first of them"
        printing.show(wrapped(text, printing.width(options), "", style=Style.DOUBT))
    printing.show(map_lines(found, printing.width(options)))
    return 0
