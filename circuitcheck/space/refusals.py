"""Words for strokes that no builder means, or that the rules know nothing of (rules M8, M10)."""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.model.drawing import At, Drawing, said
from circuitcheck.space.strokes import Broken, Why

HINTS = {
    Why.BREAKS: "leave the places free that it moves to",
    Why.UNHELD: "let it be attached to, or lie on, something that is not moved",
    Why.NO_DETECTOR: "move it out of the way, or choose newer rules",
}


class Refusal(NamedTuple):
    """Why a stroke is refused, by which rule, and what to do about it."""

    why: str
    rule: str
    hint: str


def refusal(drawing: Drawing, piston: At, broken: Broken) -> Refusal:
    """Why the stroke of a piston, known by its home, is refused for what it does to one thing."""
    rule = "M10" if broken.why is Why.NO_DETECTOR else "M8"
    why = f"the stroke of '{drawing.name(piston)}' {_what(drawing, broken)} at {said(broken.place)}"
    return Refusal(why, rule, HINTS[broken.why])


def _what(drawing: Drawing, broken: Broken) -> str:
    thing = drawing.things[broken.thing]
    if broken.why is Why.BREAKS:
        return f"breaks {thing.one}"
    if broken.why is Why.NO_DETECTOR:
        return f"would move the detector '{drawing.name(broken.thing)}', which can't be moved under these rules,"
    return f"takes away what holds {thing.one}"
