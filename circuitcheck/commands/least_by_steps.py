"""`least --by-steps`: a file's own circuit made smaller one change at a time, each run and proved."""

from __future__ import annotations

import argparse

from circuitcheck import examine
from circuitcheck.commands import common, printing
from circuitcheck.curing.search import Budget
from circuitcheck.curing.source_text import source_of
from circuitcheck.designing.step_by_step import Steps, Unsuited, begun, made_smaller
from circuitcheck.examine import Opened
from circuitcheck.report.files import write_whole
from circuitcheck.report.terminal.step_lines import step_data, step_lines

MOST_TRIED = 200_000
WORK = 600_000_000
"""How much work (`engine.work`) is done for all steps together: about ten minutes of one core."""
STOPPED = "it was stopped"


def run(options: argparse.Namespace) -> int:
    """Makes steps and prints them. Exit code 1 where no single change will do, 3 where not all were tried."""
    look_at_shift(options)
    if options.most is not None:
        raise examine.Refused("--most does not go with --by-steps: steps begin with the parts that the file has")
    source = source_of(options.path)
    opened = Opened(source.path, source.loaded.diagnostics, source.loaded.sources, None, source.loaded.studies)
    if common.mistakes(opened, options):
        return 2
    common.found_from(options.write, source.loaded)
    budget = Budget.of(MOST_TRIED, options.states, options.seconds)
    budget.work = WORK
    stopped = False
    try:
        steps = begun(source, options.same, options.shift)
        with printing.progress(options) as progress:
            try:
                made_smaller(source, budget, steps, progress.tell)
            except KeyboardInterrupt:
                steps.ended, stopped = STOPPED, True
    except Unsuited as unsuited:
        raise examine.Refused(f"{options.path} can't be made smaller: {unsuited}") from None
    _told(options, steps)
    if stopped:
        return printing.INTERRUPTED
    return 0 if steps.steps else 3 if steps.ended else 1


def look_at_shift(options: argparse.Namespace) -> None:
    """Refuses a shift of what need not stay the same."""
    if options.shift and not options.same:
        raise examine.Refused("--shift goes with --same only: it says how much later or earlier the same may come")


def _told(options: argparse.Namespace, steps: Steps) -> None:
    if options.json:
        printing.file_json(options.path, step_data(steps))
    else:
        printing.show(step_lines(options.path, steps, printing.width(options)))
    if options.write and steps.steps:
        write_whole(options.write, steps.text)
        if not options.json:
            printing.say(f"  written to {options.write}")
