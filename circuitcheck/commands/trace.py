"""`trace`: draw a check's run over time, tell it moment by moment, or write it for other programs."""

from __future__ import annotations

import argparse

from circuitcheck import examine
from circuitcheck.commands import common, printing
from circuitcheck.report.exchange.vcd import vcd
from circuitcheck.report.files import write_whole
from circuitcheck.report.terminal import traced as report


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Runs the check and shows or writes its run."""
    common.together(options, "line", "define")
    common.together(options, "line", "check")
    opened = examine.opened_as_asked(options.path, options.line, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    traced = examine.traced(opened, options.check)
    program = traced.recording.program
    common.stands_at(opened.where_of(program.circuit))
    names = [examine.shown(program, name) for name in options.show or []] or traced.signals
    common.outputs_apart(options, opened.sources, "vcd", "svg")
    if options.vcd:
        write_whole(options.vcd, vcd(traced.recording, names))
    if options.svg:
        from circuitcheck.report.exchange.run_picture import run_svg

        write_whole(options.svg, run_svg(traced.recording, names, traced.title))
    printing.show(report.traced_lines(traced, names, options.account, bool(options.show), printing.width(options)))
    return 0
