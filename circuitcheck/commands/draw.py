"""`draw`: lays a circuit out, and writes the file with its legend and drawing."""

from __future__ import annotations

import argparse

from circuitcheck.commands import common
from circuitcheck.commands.laying import laid_out
from circuitcheck.placing.task import task_of


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Lays out a circuit that is not drawn yet."""
    return laid_out(options, task_of, "laid out")
