"""The pictures of a bench, drawn once: the layers of a drawing, or the signal graph of a circuit in text."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.report.exchange.graph_picture import TooManyParts, graph_svg
from circuitcheck.report.exchange.svg import written
from circuitcheck.report.page.layers import lighten
from circuitcheck.report.sheet import Look, described, layer_picture, used


def one_layer(drawing: Drawing, layer: int, name: str, looks: Mapping[At, Look]) -> dict[str, Any]:
    """A layer: its picture without levels, and what its letters mean."""
    drawn = layer_picture(drawing, layer, None, f"layer {layer} of {name}", looks)
    lighten(drawn, drawing.size)
    meanings = [[thing.letter, described(thing)] for thing in used(drawing, layer)]
    return {"svg": written(drawn), "letters": meanings}


def graph_picture(circuit: Circuit) -> str | None:
    """The signal graph; None where it is too large to be drawn."""
    try:
        return graph_svg(circuit)
    except TooManyParts:
        return None
