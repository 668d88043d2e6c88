"""`hears`: every change in a drawing that tells a detector or a stuck piston."""

from __future__ import annotations

import argparse

from circuitcheck import examine
from circuitcheck.commands import common, printing
from circuitcheck.commands.which_drawing import drawing_in
from circuitcheck.plans.hearing import listeners
from circuitcheck.report.lines import wrapped
from circuitcheck.report.terminal.plans import as_moved_data, as_moved_lines, listener_data, listener_lines


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Reads, and tells what is heard."""
    found_drawing = drawing_in(options)
    if found_drawing is None:
        return 2
    drawn, _ = found_drawing
    found = list(listeners(drawn.circuit, drawn.drawing, drawn.meant))
    with printing.progress(options) as progress:
        progress.tell("looking for every way in which it rests")
        moved = examine.heard_at_rests(drawn, found)
    if options.json:
        listed = [listener_data(each) for each in found]
        printing.file_json(options.path, {"listeners": listed, **as_moved_data(moved)})
    elif found:
        printing.show(listener_lines(found, printing.width(options)))
        printing.show(as_moved_lines(moved, printing.width(options)))
    else:
        printing.show(wrapped("no detector and no piston that can be stuck is drawn", printing.width(options), ""))
    return 0
