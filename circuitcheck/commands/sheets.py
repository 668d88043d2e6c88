"""`sheets`: the sheets to build from, what to bring, in which order, and what must be lit after each stage."""

from __future__ import annotations

import argparse

from circuitcheck.commands import common, printing
from circuitcheck.commands.which_drawing import drawing_in
from circuitcheck.examine import Drawn, Refused
from circuitcheck.model.drawing import Drawing
from circuitcheck.plans.building import build_up
from circuitcheck.plans.changes import changes
from circuitcheck.plans.solids import Cut, solids
from circuitcheck.report.files import write_whole
from circuitcheck.report.sheet import sheets_svg
from circuitcheck.report.solid.from_a_corner import Asked, TooMuchToShow, solid_svg
from circuitcheck.report.solid.view import Corner
from circuitcheck.report.terminal import plans
from circuitcheck.report.terminal.plans import change_data, change_lines


@common.guarded
def run(options: argparse.Namespace) -> int:
    """Reads, builds up, and prints."""
    for output in ("svg", "solid", "gltf"):
        common.together(options, "since", output)
    _only_with_solid(options)
    found = drawing_in(options)
    if found is None:
        return 2
    drawn, opened = found
    if options.since:
        return _since(options, drawn.drawing)
    common.outputs_apart(options, opened.sources, "svg", "solid", "gltf")
    if options.gltf:
        write_whole(options.gltf, _gltf(drawn))
    if options.solid:
        write_whole(options.solid, _solid(options, drawn))
    if options.svg:
        write_whole(options.svg, sheets_svg(drawn.drawing, drawn.circuit.name))
    built = build_up(drawn.circuit, drawn.drawing, drawn.declared)
    if options.json:
        printing.file_json(options.path, plans.plan_data(drawn.declared, drawn.drawing, built))
    else:
        printing.show(plans.plan_lines(drawn.declared, drawn.drawing, built, printing.width(options)))
    return 0


def _only_with_solid(options: argparse.Namespace) -> None:
    """Refuses what says how a build is looked at where nobody looks at it. Raises Refused."""
    looked_at = {
        "corner": options.corner,
        "apart": options.apart,
        "cut": options.cut,
        "letters": options.letters or None,
    }
    given = next((name for name, value in looked_at.items() if value is not None), "")
    if given and not options.solid:
        raise Refused(f"--{given} says how the build is drawn in three dimensions: give --solid PATH as well")


def _solid(options: argparse.Namespace, drawn: Drawn) -> str:
    """The build in three dimensions, as the call asks for it. Raises Refused."""
    counts = dict(zip(("layer", "row", "column"), drawn.drawing.size, strict=True))
    cut = options.cut or {}
    for way, number in cut.items():
        if number > counts[way]:
            raise Refused(f"--cut {way} {number:,} is outside the drawing: it has {counts[way]:,} {way}s")
    corner = next((each for each in Corner if each.word == options.corner), Corner.SOUTH_EAST)
    asked = Asked(corner, options.apart or 0, Cut(**cut), options.letters)
    try:
        return solid_svg(drawn.drawing, solids(drawn.drawing, drawn.circuit.rules), drawn.circuit.name, asked)
    except TooMuchToShow as many:
        raise Refused(str(many)) from many


def _gltf(drawn: Drawn) -> bytes:
    """The build for other programs. Raises Refused."""
    try:
        from circuitcheck.report.solid.gltf import Empty, TooManyNodes, solid_glb
    except ImportError as missing:
        if missing.name != "pygltflib":
            raise
        raise Refused("--gltf takes the extra 'gltf': pip install 'circuitcheck[gltf]'") from missing
    try:
        return solid_glb(drawn.drawing, solids(drawn.drawing, drawn.circuit.rules), drawn.circuit.name)
    except (TooManyNodes, Empty) as why:
        raise Refused(str(why)) from why


def _since(options: argparse.Namespace, drawing: Drawing) -> int:
    """Tells what has changed in the drawing since an older file."""
    older = drawing_in(options, options.since)
    if older is None:
        return 2
    found = list(changes(older[0].drawing, drawing))
    if options.json:
        places = [change_data(each) for each in found]
        printing.file_json(options.path, {"since": options.since, "changed": places})
    else:
        printing.show(change_lines(found, printing.width(options)))
    return 0
