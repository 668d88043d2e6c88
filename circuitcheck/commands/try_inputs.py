"""`try`: work a circuit's inputs and see what happens."""

from __future__ import annotations

import argparse
from typing import Any

from circuitcheck.commands import common


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = 'circuitcheck try circuits/sluice.circuit "at 5t pond.1 on" "until 30t"'
    parser = common.parser(
        commands, "try", "set a circuit's inputs and draw what happens", example, common.guarded(run)
    )
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    common.root_option(parser)
    parser.add_argument(
        "lines", nargs="+", metavar="LINE", help='lines of a check, such as "at 5t pond.1 on" or "until 30t"'
    )
    parser.add_argument(
        "--show", action="append", metavar="NAME", help="a signal to draw; inputs and outputs if none is named"
    )


def run(options: argparse.Namespace) -> int:
    """Tries the lines and draws the run."""
    from circuitcheck.report.terminal.tried import attempt_lines
    from circuitcheck.verify import attempt

    tried = attempt(options.path, options.lines, options.root)
    unknown = tried.unknown(options.show or [])
    if unknown:
        return common.refuse(f"--show: {unknown}")
    common.stands_at(tried.where)
    common.show(attempt_lines(tried, options.show or [], common.width(options)))
    return int(tried.exit)
