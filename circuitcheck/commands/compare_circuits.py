"""`compare`: two circuits with the same inputs and outputs, side by side."""

from __future__ import annotations

import argparse
from typing import Any

from circuitcheck.commands import common


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck compare old.circuit new.circuit"
    does = "compare two circuits: what they compute, how they react, what they cost"
    parser = common.parser(commands, "compare", does, example, common.guarded(run))
    parser.add_argument("first", metavar="A", help="a circuit file")
    parser.add_argument("second", metavar="B", help="another, with the same inputs and outputs")
    common.root_option(parser)
    common.quiet_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="compare the definition of that name in each")


def run(options: argparse.Namespace) -> int:
    """Compares. Exit code 1 where a difference was found, 3 where none was and not everything could be followed."""
    from circuitcheck import examine
    from circuitcheck.explain.compare import compare
    from circuitcheck.report.terminal.explained import comparison_lines

    files = [examine.opened(path, options.define, options.root) for path in (options.first, options.second)]
    codes = [common.mistakes(opened, options) for opened in files]
    if any(codes):
        return 2
    with common.progress(options) as progress:
        comparison = compare(
            files[0].program.circuit,
            files[1].program.circuit,
            lambda done, of: progress.tell(f"{done} of {of} series of actions followed"),
        )
    if comparison.mismatch:
        raise examine.Refused(f"the two can't be compared: {comparison.mismatch}")
    common.show(comparison_lines(comparison, (options.first, options.second), common.width(options)))
    return 1 if not comparison.alike else 3 if comparison.unfollowed else 0
