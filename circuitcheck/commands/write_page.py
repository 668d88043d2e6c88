"""`report`: one page for a browser that shows all there is to a file."""

from __future__ import annotations

import argparse
from typing import Any

from circuitcheck.commands import common


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck report circuits/sluice.circuit -o sluice.html"
    does = "verify a file and write one page for a browser: verdicts, runs, graph, light, layers as powered"
    parser = common.parser(commands, "report", does, example, common.guarded(run))
    parser.add_argument("path", metavar="FILE", help="a circuit file")
    parser.add_argument(
        "-o", "--output", type=common.path, required=True, metavar="PATH", help="where to write the page (HTML)"
    )
    common.root_option(parser)
    parser.add_argument(
        "--states",
        type=common.count(0, 10**9),
        metavar="N",
        help="budget of states for each claim (250,000); with 0, claims are only watched in the checks' runs",
    )
    parser.add_argument("--covered", action="store_true", help="begin with the answers covered, for teaching")


def run(options: argparse.Namespace) -> int:
    """Verifies, and writes the page."""
    from circuitcheck.examine import Opened
    from circuitcheck.language.load import load_file
    from circuitcheck.prove.meter import USUAL_STATES
    from circuitcheck.verify import report_on

    loaded = load_file(options.path, options.root)
    opened = Opened(loaded.path, loaded.diagnostics, loaded.sources, None, loaded.studies)
    if common.mistakes(opened, options):
        return 2
    common.outputs_apart(options, [options.path, *loaded.sources], "output")
    states = USUAL_STATES if options.states is None else options.states
    report = report_on(loaded, states=states)

    from circuitcheck.pages import contents
    from circuitcheck.report.files import write_whole
    from circuitcheck.report.page.document import Told, page
    from circuitcheck.report.terminal.verdict_lines import summary

    write_whole(options.output, page(Told(loaded, report, states, contents(loaded.studies)), options.covered))
    common.show([summary([report])])
    common.say(f"the page is written: {options.output}")
    return int(report.exit)
