"""`trace`: draw a check's run over time, tell it moment by moment, or write it for other programs."""

from __future__ import annotations

import argparse
from typing import Any

from circuitcheck.commands import common


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = 'circuitcheck trace circuits/sluice.circuit --check "it opens on time" --account'
    parser = common.parser(commands, "trace", "draw the run of a check over time", example, common.guarded(run))
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    common.root_option(parser)
    parser.add_argument("--check", default="", metavar="TITLE", help="the check; the first that fails if none is named")
    parser.add_argument("--define", default="", metavar="NAME", help="a definition of the file, standing alone")
    parser.add_argument("--line", action="append", metavar="LINE", help="a line of a check to run instead")
    parser.add_argument("--show", action="append", metavar="NAME", help="a signal to show")
    parser.add_argument("--account", action="store_true", help="list every change with its rule and cause, row by row")
    parser.add_argument(
        "--vcd", type=common.path, metavar="PATH", help="write the run as a value change dump (IEEE 1364)"
    )
    parser.add_argument("--svg", type=common.path, metavar="PATH", help="write the picture as SVG")


def run(options: argparse.Namespace) -> int:
    """Runs the check and shows or writes its run."""
    from circuitcheck import examine
    from circuitcheck.report.files import write_whole
    from circuitcheck.report.terminal import traced as report

    common.together(options, "line", "define")
    common.together(options, "line", "check")
    opened = examine.opened_as_asked(options.path, options.line, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    traced = examine.traced(opened, options.check)
    program = traced.recording.program
    common.stands_at(opened.where_of(program.circuit))
    names = [examine.signal(program, name) for name in options.show or []] or traced.signals
    common.outputs_apart(options, opened.sources, "vcd", "svg")
    if options.vcd:
        from circuitcheck.report.exchange.vcd import vcd

        write_whole(options.vcd, vcd(traced.recording, names))
    if options.svg:
        from circuitcheck.report.exchange.run_picture import run_svg

        write_whole(options.svg, run_svg(traced.recording, names, traced.title))
    common.show(report.traced_lines(traced, names, options.account, bool(options.show), common.width(options)))
    return 0
