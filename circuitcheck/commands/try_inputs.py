"""`try`: work a circuit's inputs and see what happens."""

from __future__ import annotations

import argparse

from circuitcheck.commands import common, printing
from circuitcheck.report.terminal.tried import attempt_lines
from circuitcheck.verify import attempt


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Tries the lines and draws the run."""
    tried = attempt(options.path, options.lines, options.root)
    unknown = tried.unknown(options.show or [])
    if unknown:
        return printing.refuse(f"--show: {unknown}")
    common.stands_at(tried.where)
    printing.show(attempt_lines(tried, options.show or [], printing.width(options)))
    return int(tried.exit)
