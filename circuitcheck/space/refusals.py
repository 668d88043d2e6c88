"""Words for strokes that no builder means, or that the rules know nothing of: one mistake a thing (rules M8, M10)."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.diagnostics import NOWHERE, Diagnostic, error
from circuitcheck.model.drawing import At, Drawing, said
from circuitcheck.space.strokes import Breaks, Broken, Why

HINTS = {
    Why.BREAKS: "leave the places free that it moves to",
    Why.UNHELD: "let it hang or lie on something that is not moved",
    Why.NO_DETECTOR: "move it out of the way, or choose newer rules",
}


def refusals(drawing: Drawing, piston: At, breaks: Breaks) -> Iterator[Diagnostic]:
    """A mistake for each thing that the stroke of a piston, known by its home, breaks; at the thing's letter."""
    for broken in breaks.broken:
        message = (
            f"the stroke of '{drawing.name(piston)}' {_what(drawing, broken)} ({said(broken.place)}; {_rule(broken)})"
        )
        yield error("CKT612", drawing.spans.get(broken.thing, NOWHERE), message, HINTS[broken.why])


def _what(drawing: Drawing, broken: Broken) -> str:
    thing = drawing.things[broken.thing]
    if broken.why is Why.BREAKS:
        return f"breaks {thing.one}"
    if broken.why is Why.NO_DETECTOR:
        return f"would move the detector '{drawing.name(broken.thing)}', and under these rules none can be moved"
    return f"takes away what {thing.one} {'lies' if thing.block_type.lies else 'hangs'} on"


def _rule(broken: Broken) -> str:
    return "M10" if broken.why is Why.NO_DETECTOR else "M8"
