"""`graph`: the signal graph for other programs, or drawn."""

from __future__ import annotations

import argparse
import sys

from circuitcheck import examine
from circuitcheck.commands import common
from circuitcheck.report.exchange.graph_picture import TooManyParts, graph_svg
from circuitcheck.report.exchange.graphs import dot, graphml
from circuitcheck.report.files import write_whole


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Writes what is asked for."""
    opened = examine.opened(options.path, options.define, options.root)
    if common.mistakes(opened, options):
        return 2
    common.outputs_apart(options, opened.sources, "dot", "graphml", "svg")
    circuit = opened.program.circuit
    if options.dot:
        write_whole(options.dot, dot(circuit))
    if options.graphml:
        write_whole(options.graphml, graphml(circuit))
    if options.svg:
        try:
            write_whole(options.svg, graph_svg(circuit))
        except TooManyParts as many:
            raise examine.Refused(str(many)) from many
    if not (options.dot or options.graphml or options.svg):
        text = dot(circuit)
        encoding = sys.stdout.encoding or "ascii"
        # DOT has numbered letters for what a terminal can't show.
        sys.stdout.write(text.encode(encoding, "xmlcharrefreplace").decode(encoding))
    return 0
