"""`hears`: every change in a drawing that tells a detector or a stuck piston."""

from __future__ import annotations

import argparse
from typing import Any

from circuitcheck.commands import common


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck hears circuits/nightwatch.circuit"
    does = "tell what else each detector and stuck piston of a drawing can hear"
    parser = common.parser(commands, "hears", does, example, common.guarded(run))
    parser.add_argument("path", metavar="FILE", help="a circuit file with a drawing")
    common.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="the drawing of a definition")
    parser.add_argument("--json", action="store_true", help="write it as JSON")


def run(options: argparse.Namespace) -> int:
    """Reads, and tells what is heard."""
    from circuitcheck import examine
    from circuitcheck.commands.drawn import drawn_of
    from circuitcheck.plans.hearing import listeners
    from circuitcheck.report.plans import listener_data, listener_lines

    opened = examine.opened(options.path, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    drawn = drawn_of(opened)
    found = list(listeners(drawn.circuit, drawn.drawing, drawn.meant))
    if options.json:
        listed = [listener_data(each) for each in found]
        common.as_json({"schema_version": 1, "path": options.path, "listeners": listed})
    elif found:
        common.show(listener_lines(found, common.width(options)))
    else:
        common.say("no detector and no piston that can be stuck is drawn")
    return 0
