"""`report`: one page for a browser that shows all there is to a file."""

from __future__ import annotations

import argparse

from circuitcheck.commands import common, printing
from circuitcheck.examine import Opened
from circuitcheck.language.load import load_file
from circuitcheck.pages import contents
from circuitcheck.prove.meter import USUAL_STATES
from circuitcheck.report.files import write_whole
from circuitcheck.report.page.document import Told, page
from circuitcheck.report.terminal.verdict_lines import summary
from circuitcheck.verify import report_on


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Verifies, and writes the page."""
    loaded = load_file(options.path, options.root)
    opened = Opened(loaded.path, loaded.diagnostics, loaded.sources, None, loaded.studies)
    if common.mistakes(opened, options):
        return 2
    common.outputs_apart(options, [options.path, *loaded.sources], "output")
    states = USUAL_STATES if options.states is None else options.states
    report = report_on(loaded, states=states)

    write_whole(
        options.output, page(Told(loaded, report, states, contents(loaded.studies, report.results)), options.covered)
    )
    printing.show([summary([report])])
    printing.say(f"the page is written: {options.output}")
    return int(report.exit)
