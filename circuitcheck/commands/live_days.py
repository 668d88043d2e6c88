"""`days`: live through many days by chance, with the whole machine, and replay any one of them."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from circuitcheck import examine
from circuitcheck.chance.days.replay import replay
from circuitcheck.chance.days.together import Plan, live_through
from circuitcheck.chance.days.walk import Watching
from circuitcheck.chance.first_edge.response import Response, respond
from circuitcheck.chance.machine.joint import TooLarge
from circuitcheck.commands import common, printing
from circuitcheck.commands.chance_options import USUAL_DAYS, USUAL_ON_END
from circuitcheck.commands.tell_response import asked_for
from circuitcheck.examine import Opened
from circuitcheck.report.exchange.vcd import vcd
from circuitcheck.report.files import write_whole
from circuitcheck.report.terminal.lived_days import days_data, days_lines, replay_lines, telling_names
from circuitcheck.sweeps.executors import executor_of, usual_workers


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Lives through the days that are asked for, or one of them again."""
    if (options.account or options.vcd) and not options.replay:
        raise examine.Refused("--account and --vcd show one day: they go with --replay RUN:DAY")
    common.together(options, "replay", "json")
    opened = examine.opened(options.path, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    plan = _plan(opened, options)
    try:
        return _replayed(opened, plan, options) if options.replay else _lived(plan, options)
    except TooLarge as large:
        raise examine.Refused(f"these days can't be followed: {large}") from None


def _plan(opened: Opened, options: argparse.Namespace) -> Plan:
    circuit = opened.circuit_study.circuit
    if not opened.has_sensors:
        raise examine.Refused(f"{opened.path} has no sensor: nothing in it changes at random")
    asked = asked_for(opened, options)
    watching = Watching(tuple(edge for _, edge in asked), tuple(phase for phase, _ in asked))
    days = options.days or USUAL_DAYS
    on_end = options.on_end or min(USUAL_ON_END, days)
    if days % on_end:
        raise examine.Refused(f"{days:,} days do not go into runs of {on_end:,}: choose a multiple of {on_end:,}")
    return Plan(circuit, watching, days // on_end, on_end, options.case, options.seed, opened.circuit_study.assumptions)


def _lived(plan: Plan, options: argparse.Namespace) -> int:
    workers = min(options.jobs or usual_workers(), plan.runs)
    with printing.progress(options) as progress:
        days = plan.on_end

        def done(runs: int, of: int) -> None:
            progress.tell(f"{runs * days:,} of {of * days:,} days simulated")

        with executor_of(workers) as executor:
            found = live_through(plan, executor, workers, done)
        progress.tell("exact figures of the first day")
        exact = _exact(plan)
    if options.json:
        printing.file_json(options.path, days_data(found, exact))
    else:
        printing.show(days_lines(found, exact, printing.width(options)))
    return 0


def _exact(plan: Plan) -> Sequence[Response | None]:
    """The exact figures of the first day; where it begins otherwise than the file says, there are none."""
    if plan.case == "faded":
        return [None] * len(plan.watching.edges)
    return [
        respond(plan.circuit, phase, edge, plan.case)
        for phase, edge in zip(plan.watching.phases, plan.watching.edges, strict=True)
    ]


def _replayed(opened: Opened, plan: Plan, options: argparse.Namespace) -> int:
    run_text, _, day_text = options.replay.partition(":")
    if not (run_text.isdecimal() and day_text.isdecimal() and len(options.replay) < 20):
        raise examine.Refused(f"'{options.replay}' is no day: write RUN:DAY as the report does, for example 5:10")
    number, day = int(run_text), int(day_text) - 1
    if not (number < plan.runs and 0 <= day <= plan.on_end):
        days = f"days 1 to {plan.on_end} ({plan.on_end + 1} for what the last night leaves due)"
        last = f"runs are 0 to {plan.runs - 1}, {days}"
        raise examine.Refused(f"there is no day {options.replay} in these days: {last}")
    common.outputs_apart(options, opened.sources, "vcd")
    found = replay(plan, number, day)
    names = telling_names(found, plan)
    if options.vcd:
        signals = [name for name in found.recording.program.circuit.by_name if name not in found.still_cells]
        write_whole(options.vcd, vcd(found.recording, signals))
    printing.show(replay_lines(found, plan, number, day, names, options.account, printing.width(options)))
    return 0
