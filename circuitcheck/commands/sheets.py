"""`sheets`: the sheets to build from, what to bring, in which order, and what must be lit after each stage."""

from __future__ import annotations

import argparse

from circuitcheck.commands import common, printing
from circuitcheck.commands.which_drawing import drawing_in
from circuitcheck.model.drawing import Drawing
from circuitcheck.plans.building import build_up
from circuitcheck.plans.changes import changes
from circuitcheck.report.files import write_whole
from circuitcheck.report.sheet import sheets_svg
from circuitcheck.report.terminal import plans
from circuitcheck.report.terminal.plans import change_data, change_lines


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Reads, builds up, and prints."""
    common.together(options, "since", "svg")
    found = drawing_in(options)
    if found is None:
        return 2
    drawn, opened = found
    if options.since:
        return _since(options, drawn.drawing)
    common.outputs_apart(options, opened.sources, "svg")
    if options.svg:
        write_whole(options.svg, sheets_svg(drawn.drawing, drawn.circuit.name))
    built = build_up(drawn.circuit, drawn.drawing, drawn.declared)
    if options.json:
        printing.file_json(options.path, plans.plan_data(drawn.declared, drawn.drawing, built))
    else:
        printing.show(plans.plan_lines(drawn.declared, drawn.drawing, built, printing.width(options)))
    return 0


def _since(options: argparse.Namespace, drawing: Drawing) -> int:
    """Tells what has changed in the drawing since an older file."""
    older = drawing_in(options, options.since)
    if older is None:
        return 2
    found = list(changes(older[0].drawing, drawing))
    if options.json:
        places = [change_data(each) for each in found]
        printing.file_json(options.path, {"since": options.since, "changed": places})
    else:
        printing.show(change_lines(found, printing.width(options)))
    return 0
