"""`compare`: two circuits with the same inputs and outputs, side by side."""

from __future__ import annotations

import argparse

from circuitcheck import examine
from circuitcheck.commands import common, printing
from circuitcheck.explain.compare import compare
from circuitcheck.report.terminal.explained import comparison_lines


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Compares. Exit code 1 where a difference was found, 3 where none was and not everything could be followed."""
    files = [examine.opened(path, options.define, options.root) for path in (options.first, options.second)]
    codes = [common.mistakes(opened, options) for opened in files]
    if any(codes):
        return 2
    with printing.progress(options) as progress:
        comparison = compare(
            files[0].program.circuit,
            files[1].program.circuit,
            lambda done, of: progress.tell(f"{done} of {of} series of actions followed"),
        )
    if comparison.mismatch:
        raise examine.Refused(f"the two can't be compared: {comparison.mismatch}")
    printing.show(comparison_lines(comparison, (options.first, options.second), printing.width(options)))
    return 1 if not comparison.alike else 3 if comparison.unfollowed else 0
