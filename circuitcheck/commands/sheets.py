"""`sheets`: the sheets to build from, what to bring, in which order, and what must be lit after each stage."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from circuitcheck.commands import common
from circuitcheck.commands.which_drawing import drawing_in, drawing_options

if TYPE_CHECKING:
    from circuitcheck.model.drawing import Drawing


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck sheets circuits/lampkeeper.circuit"
    does = "print the sheets of a drawing: layers, what to bring, in which order, and what must light"
    parser = common.parser(commands, "sheets", does, example, common.guarded(run))
    drawing_options(parser)
    parser.add_argument(
        "--since", type=common.path, metavar="OLD", help="list what changed in the drawing since an older file"
    )
    parser.add_argument(
        "--svg", type=common.path, metavar="PATH", help="write the layers as one picture, below one another"
    )


def run(options: argparse.Namespace) -> int:
    """Reads, builds up, and prints."""
    from circuitcheck.report.terminal import plans

    common.together(options, "since", "svg")
    found = drawing_in(options)
    if found is None:
        return 2
    drawn, opened = found
    if options.since:
        return _since(options, drawn.drawing)
    common.outputs_apart(options, opened.sources, "svg")
    if options.svg:
        from circuitcheck.report.files import write_whole
        from circuitcheck.report.sheet import sheets_svg

        write_whole(options.svg, sheets_svg(drawn.drawing, drawn.circuit.name))
    from circuitcheck.plans.building import build_up

    built = build_up(drawn.circuit, drawn.drawing, drawn.declared)
    if options.json:
        common.file_json(options.path, plans.plan_data(drawn.declared, drawn.drawing, built))
    else:
        common.show(plans.plan_lines(drawn.declared, drawn.drawing, built, common.width(options)))
    return 0


def _since(options: argparse.Namespace, drawing: Drawing) -> int:
    """Tells what has changed in the drawing since an older file."""
    from circuitcheck.plans.changes import changes
    from circuitcheck.report.terminal.plans import change_data, change_lines

    older = drawing_in(options, options.since)
    if older is None:
        return 2
    found = list(changes(older[0].drawing, drawing))
    if options.json:
        places = [change_data(each) for each in found]
        common.file_json(options.path, {"since": options.since, "changed": places})
    else:
        common.show(change_lines(found, common.width(options)))
    return 0
