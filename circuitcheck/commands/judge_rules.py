"""`rules`: everything that is asked, under each named set of rules."""

from __future__ import annotations

import argparse

from circuitcheck import examine
from circuitcheck.commands import common, printing
from circuitcheck.prove.meter import USUAL_STATES
from circuitcheck.report.terminal.rule_tables import rules_data, rules_lines
from circuitcheck.sweeps.rule_sets import under_each


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Judges, and prints the table. Exit code 1 where something fails under a set."""
    opened = examine.opened(options.path, root=options.root)
    if common.mistakes(opened, options):
        return 2
    table = under_each(opened.studies, options.states or USUAL_STATES)
    if options.json:
        printing.file_json(options.path, rules_data(table))
    else:
        printing.show(rules_lines(table, printing.width(options)))
    return int(table.fails)
