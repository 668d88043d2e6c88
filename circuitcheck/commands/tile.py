"""`tile`: whether copies of a drawing may stand side by side, mirrored or stacked."""

from __future__ import annotations

import argparse
from typing import Any

from circuitcheck.commands import common
from circuitcheck.commands.which_drawing import drawing_in, drawing_options

FURTHEST = 256


def add(commands: Any) -> None:
    """Adds the command with its options."""
    example = "circuitcheck tile circuits/lampkeeper.circuit --east 12"
    does = "say whether a copy of a drawing may stand beside it, and what the two would do to each other"
    parser = common.parser(commands, "tile", does, example, common.guarded(run))
    drawing_options(parser)
    for way, what in (("east", "columns"), ("south", "rows"), ("up", "layers")):
        help_ = f"how many {what} the copy is moved"
        parser.add_argument(f"--{way}", type=common.count(0, FURTHEST), default=0, metavar="N", help=help_)
    parser.add_argument("--mirrored", action="store_true", help="east and west are exchanged in the copy")


def run(options: argparse.Namespace) -> int:
    """Reads both as one, and tells the difference. Exit code 1 where a copy may not stand so."""
    from circuitcheck.examine import Refused
    from circuitcheck.plans.tiling import NotReckoned, Offset, least_apart, meddlings
    from circuitcheck.report.terminal.plans import tiling_lines

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
        common.file_json(options.path, {"meddlings": listed, "nearest": apart})
    else:
        common.show(tiling_lines(offset, found, nearest, common.width(options)))
    return int(bool(found))
