"""`light`: the light at each place, block by block, against what the cells there take."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from circuitcheck.commands import common

if TYPE_CHECKING:
    from circuitcheck.examine import Drawn


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck light circuits/lampkeeper.circuit"
    does = "show the light at each place, block by block, and what its cells can do in it"
    parser = common.parser(commands, "light", does, example, common.guarded(run))
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    common.root_option(parser)
    parser.add_argument("--place", metavar="NAME", help="only the place of that name")
    parser.add_argument("--define", default="", metavar="NAME", help="a definition of the file, standing alone")
    parser.add_argument("--layer", type=common.count(1, 256), metavar="N", help="every level of a layer that is drawn")
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


def run(options: argparse.Namespace) -> int:
    """Reads, and shows the light at each place."""
    from circuitcheck import examine
    from circuitcheck.chance.light.budget import budgets
    from circuitcheck.chance.light.margins import margins
    from circuitcheck.diagnostics import did_you_mean
    from circuitcheck.report.lines import Style, safe, wrapped
    from circuitcheck.report.terminal.light_budget import LEGEND, light_data, light_lines
    from circuitcheck.report.terminal.lightmap import margin_data, margin_lines

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
        common.file_json(options.path, listed)
        return 0
    width = common.width(options)
    for each in found:
        common.show(light_lines(each, circuit.cycle, width))
    if circuit.drawing is not None:
        common.show(margin_lines(nearest, width))
    for finding in opened.still_cells:
        common.show(wrapped(safe(finding.message), width, "  ", style=Style.DOUBT))
    common.show(wrapped(LEGEND, width, "  ", style=Style.FAINT))
    return 0


def _layer(options: argparse.Namespace, drawn: Drawn) -> int:
    """Shows every level of one layer, with what is on at the start."""
    from circuitcheck.examine import Refused
    from circuitcheck.plans.layer_light import light_at_the_start
    from circuitcheck.report.terminal.lightmap import map_data, map_lines

    if options.layer > drawn.drawing.size[0]:
        raise Refused(f"the drawing has {drawn.drawing.size[0]} layers")
    found, ways = light_at_the_start(drawn.circuit, drawn.started, drawn.drawing, options.layer)
    if options.json:
        common.file_json(options.path, {"starts": ways, **map_data(found)})
        return 0
    if ways > 1:
        from circuitcheck.report.lines import Style, wrapped

        text = f"it can start in {ways} ways (C6): this is the light in the first of them"
        common.show(wrapped(text, common.width(options), "", style=Style.DOUBT))
    common.show(map_lines(found, common.width(options)))
    return 0
