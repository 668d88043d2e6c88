"""The options of the commands about what happens by chance: responses, and days that are lived through."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

from circuitcheck.commands import arguments

EDGES = ("rises", "falls", "changes")
USUAL_DAYS = 1_000
USUAL_ON_END = 10


def response(commands: Any) -> None:
    example = "circuitcheck response circuits/lampkeeper.circuit dusk dark --over 90s"
    does = "say how long it takes from a phase of the day to an output's edge, with what chance"
    parser = arguments.parser(commands, "response", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    _response_arguments(parser)
    arguments.root_option(parser)
    parser.add_argument("--define", default="", metavar="NAME", help="a definition of the file, standing alone")
    parser.add_argument("--over", action="append", metavar="TIME", help="also the chance that it takes more than this")
    parser.add_argument("--brief", action="store_true", help="without the tables of cells and rules")
    help_ = "also with one thing otherwise at a time: chance of a draw, rules, cells, their sources, dusk and dawn"
    parser.add_argument("--decides", action="store_true", help=help_)
    parser.add_argument("--svg", type=arguments.path, metavar="PATH", help="write the curves as SVG")
    arguments.quiet_option(parser)
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


def _response_arguments(parser: Any) -> None:
    """Adds the arguments that say which response is asked for."""
    help_ = "day, dusk, night or dawn; as the file claims if left out"
    parser.add_argument("phase", nargs="?", metavar="PHASE", help=help_)
    parser.add_argument("signal", nargs="?", metavar="SIGNAL", help="the output or part whose edge is waited for")
    parser.add_argument("--edge", choices=EDGES, default="rises", help="the edge that is waited for (rises)")


def days(commands: Any) -> None:
    from circuitcheck.chance.days.calendar import CASES

    example = "circuitcheck days circuits/lampkeeper.circuit --days 10000 --case wet"
    does = "simulate many random days, beside the exact figures, and find what only the whole machine shows"
    parser = arguments.parser(commands, "days", does, example)
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    _response_arguments(parser)
    arguments.root_option(parser)
    parser.add_argument(
        "--days", type=arguments.count(1, 1_000_000), metavar="N", help=f"how many days ({USUAL_DAYS:,})"
    )
    help_ = f"how many of them are one run of one machine ({USUAL_ON_END})"
    parser.add_argument("--on-end", type=arguments.count(1, 10_000), metavar="N", help=help_)
    parser.add_argument(
        "--case", type=_case, choices=tuple(CASES), default="fair", help=f"what the days are like: {_cases(CASES)}"
    )
    parser.add_argument(
        "--seed", type=arguments.count(0, 10**9), default=1, metavar="N", help="the seed of all random draws"
    )
    parser.add_argument("--define", default="", metavar="NAME", help="a definition of the file, standing alone")
    parser.add_argument("--jobs", type=arguments.count(1, 256), metavar="N", help="processes to share the work")
    parser.add_argument("--replay", metavar="RUN:DAY", help="show that day of that run instead")
    parser.add_argument(
        "--account", action="store_true", help="for a replay, list every change with its rule and cause"
    )
    parser.add_argument(
        "--vcd", type=arguments.path, metavar="PATH", help="write a replay as a value change dump (IEEE 1364)"
    )
    arguments.quiet_option(parser)
    parser.add_argument("--json", action="store_true", help="write the report as JSON")


def _cases(cases: Mapping[str, str]) -> str:
    return "; ".join(f"{name}, {meaning}" for name, meaning in cases.items())


def _case(name: str) -> str:
    from circuitcheck.chance.days.calendar import ONCE

    if name in ONCE:
        raise argparse.ArgumentTypeError(f"'{name}' is called '{ONCE[name]}' now")
    return name
