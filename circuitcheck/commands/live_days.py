"""`days`: live through many days by chance, with the whole machine, and replay any one of them."""

from __future__ import annotations

import argparse
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from circuitcheck.commands import common
from circuitcheck.commands.tell_response import asked_for, response_arguments

if TYPE_CHECKING:
    from circuitcheck.chance.days.together import Plan
    from circuitcheck.chance.first_edge.response import Response
    from circuitcheck.examine import Opened

USUAL_DAYS = 1_000
USUAL_ON_END = 10


def add(commands: Any) -> None:
    """Adds the command with its options."""
    from circuitcheck.chance.days.calendar import CASES

    example = "circuitcheck days circuits/lampkeeper.circuit --days 10000 --case wet"
    does = "simulate many random days, beside the exact figures, and find what only the whole machine shows"
    parser = common.parser(commands, "days", does, example, common.guarded(run))
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    response_arguments(parser)
    common.root_option(parser)
    parser.add_argument("--days", type=common.count(1, 1_000_000), metavar="N", help=f"how many days ({USUAL_DAYS:,})")
    help_ = f"how many of them are one run of one machine ({USUAL_ON_END})"
    parser.add_argument("--on-end", type=common.count(1, 10_000), metavar="N", help=help_)
    parser.add_argument(
        "--case", type=_case, choices=tuple(CASES), default="fair", help=f"what the days are like: {_cases(CASES)}"
    )
    parser.add_argument(
        "--seed", type=common.count(0, 10**9), default=1, metavar="N", help="the seed of all random draws"
    )
    parser.add_argument("--define", default="", metavar="NAME", help="a definition of the file, standing alone")
    parser.add_argument("--jobs", type=common.count(1, 256), metavar="N", help="processes to share the work")
    parser.add_argument("--replay", metavar="RUN:DAY", help="show that day of that run instead")
    parser.add_argument(
        "--account", action="store_true", help="for a replay, list every change with its rule and cause"
    )
    parser.add_argument(
        "--vcd", type=common.path, metavar="PATH", help="write a replay as a value change dump (IEEE 1364)"
    )
    common.quiet_option(parser)
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


def _cases(cases: Mapping[str, str]) -> str:
    return "; ".join(f"{name}, {meaning}" for name, meaning in cases.items())


def _case(name: str) -> str:
    from circuitcheck.chance.days.calendar import ONCE

    if name in ONCE:
        raise argparse.ArgumentTypeError(f"'{name}' is called '{ONCE[name]}' now")
    return name


def run(options: argparse.Namespace) -> int:
    """Lives through the days that are asked for, or one of them again."""
    from circuitcheck import examine
    from circuitcheck.chance.machine.joint import TooLarge

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
    from circuitcheck import examine
    from circuitcheck.chance.days.together import Plan
    from circuitcheck.chance.days.walk import Watching

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
    from circuitcheck.chance.days.together import live_through
    from circuitcheck.report.terminal.lived_days import days_data, days_lines
    from circuitcheck.sweeps.executors import executor_of, usual_workers

    workers = min(options.jobs or usual_workers(), plan.runs)
    with common.progress(options) as progress:
        days = plan.on_end

        def done(runs: int, of: int) -> None:
            progress.tell(f"{runs * days:,} of {of * days:,} days simulated")

        with executor_of(workers) as executor:
            found = live_through(plan, executor, workers, done)
        progress.tell("exact figures of the first day")
        exact = _exact(plan)
    if options.json:
        common.file_json(options.path, days_data(found, exact))
    else:
        common.show(days_lines(found, exact, common.width(options)))
    return 0


def _exact(plan: Plan) -> Sequence[Response | None]:
    """The exact figures of the first day; where it begins otherwise than the file says, there are none."""
    from circuitcheck.chance.first_edge.response import respond

    if plan.case == "faded":
        return [None] * len(plan.watching.edges)
    return [
        respond(plan.circuit, phase, edge, plan.case)
        for phase, edge in zip(plan.watching.phases, plan.watching.edges, strict=True)
    ]


def _replayed(opened: Opened, plan: Plan, options: argparse.Namespace) -> int:
    from circuitcheck import examine
    from circuitcheck.chance.days.replay import replay
    from circuitcheck.report.terminal.lived_days import replay_lines, telling_names

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
        from circuitcheck.report.exchange.vcd import vcd
        from circuitcheck.report.files import write_whole

        signals = [name for name in found.recording.program.circuit.by_name if name not in found.still_cells]
        write_whole(options.vcd, vcd(found.recording, signals))
    common.show(replay_lines(found, plan, number, day, names, options.account, common.width(options)))
    return 0
