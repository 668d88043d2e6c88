"""`tile`: whether copies of a drawing may stand side by side, mirrored or stacked."""

from __future__ import annotations

import argparse

from circuitcheck.commands import common, printing
from circuitcheck.commands.which_drawing import drawing_in
from circuitcheck.examine import Refused
from circuitcheck.plans.tiling import NotReckoned, Offset, least_apart, meddlings
from circuitcheck.report.terminal.plans import tiling_lines


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Reads both as one, and tells the difference. Exit code 1 where a copy may not stand so."""
    found_drawing = drawing_in(options)
    if found_drawing is None:
        return 2
    drawn, _ = found_drawing
    offset = Offset(options.up, options.south, options.east, options.mirrored)
    if not (offset.layers or offset.rows or offset.columns):
        raise Refused("say where the copy stands, with --east, --south or --up")
    try:
        found = meddlings(drawn.circuit, drawn.drawing, offset)
        nearest = least_apart(drawn.circuit, drawn.drawing, offset) if found else offset
    except NotReckoned as refused:
        raise Refused(str(refused)) from refused
    if options.json:
        listed = [{"kind": each.kind, "words": each.words} for each in found]
        apart = None if nearest is None else [nearest.layers, nearest.rows, nearest.columns]
        printing.file_json(options.path, {"meddlings": listed, "nearest": apart})
    else:
        printing.show(tiling_lines(offset, found, nearest, printing.width(options)))
    return int(bool(found))
