"""`compact`: begins with a drawing that there is, and looks for a smaller one of the same circuit."""

from __future__ import annotations

import argparse

from circuitcheck.commands import common
from circuitcheck.commands.laying import laid_out
from circuitcheck.placing.task import drawn_task_of


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Makes a drawing smaller."""
    return laid_out(options, drawn_task_of, "made smaller")
