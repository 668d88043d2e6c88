"""Whether a drawing is a circuit: asked of the house's own reading of drawings, which has the last word."""

from __future__ import annotations

from circuitcheck.checks.drawing.built import differences
from circuitcheck.checks.drawing.matching import TooMuchAlike
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import Drawing
from circuitcheck.space.circuit import read


def wrong_with(circuit: Circuit, drawing: Drawing) -> list[str]:
    """Why a drawing is not a circuit, in words; empty where it is."""
    made = read(drawing, circuit.rules, circuit.name)
    if made.mistakes:
        return [mistake.message for mistake in made.mistakes]
    try:
        return differences(circuit, made.circuit)
    except TooMuchAlike:
        return ["so many of its parts look alike that they can't be compared"]
