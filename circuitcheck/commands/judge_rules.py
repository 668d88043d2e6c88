"""`rules`: everything that is asked, under each named set of rules."""

from __future__ import annotations

import argparse
from typing import Any

from circuitcheck.commands import common


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck rules circuits/sluice.circuit"
    does = "judge every check and claim under each named set of rules, as one table"
    parser = common.parser(commands, "rules", does, example, common.guarded(run))
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    common.root_option(parser)
    common.states_option(parser, 250_000)
    parser.add_argument("--json", action="store_true", help="write the table as JSON")


def run(options: argparse.Namespace) -> int:
    """Judges, and prints the table. Exit code 1 where something fails under a set."""
    from circuitcheck import examine
    from circuitcheck.prove.meter import USUAL_STATES
    from circuitcheck.report.terminal.rule_tables import rules_data, rules_lines
    from circuitcheck.sweeps.rule_sets import under_each

    opened = examine.opened(options.path, root=options.root)
    if common.mistakes(opened, options):
        return 2
    table = under_each(opened.studies, options.states or USUAL_STATES)
    if options.json:
        common.file_json(options.path, rules_data(table))
    else:
        common.show(rules_lines(table, common.width(options)))
    return int(table.fails)
