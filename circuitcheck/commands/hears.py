"""`hears`: every change in a drawing that tells a detector or a stuck piston."""

from __future__ import annotations

import argparse
from typing import Any

from circuitcheck.commands import common
from circuitcheck.commands.which_drawing import drawing_in, drawing_options


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck hears circuits/lampkeeper.circuit"
    does = "show what each detector and stuck piston of a drawing can hear"
    parser = common.parser(commands, "hears", does, example, common.guarded(run))
    drawing_options(parser)


def run(options: argparse.Namespace) -> int:
    """Reads, and tells what is heard."""
    from circuitcheck.plans.hearing import listeners
    from circuitcheck.report.terminal.plans import listener_data, listener_lines

    found_drawing = drawing_in(options)
    if found_drawing is None:
        return 2
    drawn, _ = found_drawing
    found = list(listeners(drawn.circuit, drawn.drawing, drawn.meant))
    if options.json:
        listed = [listener_data(each) for each in found]
        common.file_json(options.path, {"listeners": listed})
    elif found:
        common.show(listener_lines(found, common.width(options)))
    else:
        from circuitcheck.report.lines import wrapped

        common.show(wrapped("no detector and no piston that can be stuck is drawn", common.width(options), ""))
    return 0
