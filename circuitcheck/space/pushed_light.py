"""The blocks that pistons move, as light needs them: where each stands, and by which part that shows."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.diagnostics import NOWHERE, Diagnostic, error
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.light import Moved
from circuitcheck.space.strokes import FirstStroke, Strokes


def moved(drawing: Drawing, circuit: Circuit) -> list[Moved]:
    """The blocks right before the pistons of a drawing, for its light."""
    found = []
    for stroke in Strokes(drawing, circuit.rules).one_at_a_time():
        piston = drawing.name(stroke.piston)
        # Of a stuck piston there is no more than the piston itself.
        name = f"{piston}.block" if f"{piston}.block" in circuit.by_name else piston
        if _is_block(drawing, stroke) and name in circuit.by_name:
            found.append(Moved(stroke.head, _out(stroke), name))
    return found


def _out(stroke: FirstStroke) -> At:
    """The place that what is right before a piston comes to."""
    return dict(stroke.moves)[stroke.head]


def _is_block(drawing: Drawing, stroke: FirstStroke) -> bool:
    """Whether a piston moves something whose light is that of a block, and not that of a part that faces some way."""
    return bool(stroke.moves) and drawing.things[stroke.head].facing is None


def not_lit(drawing: Drawing, rules: RuleSet) -> Iterator[Diagnostic]:
    """A mistake for each block moved that light on soil cells can't be computed with: into water, to where another
    comes, or half a block."""
    comes: set[At] = set()
    for stroke in Strokes(drawing, rules).one_at_a_time():
        if not _is_block(drawing, stroke):
            continue
        into, out = drawing.things.get(_out(stroke)), _out(stroke)
        why = (
            "into water"
            if into is not None and into.word == "water"
            else "to where another one comes"
            if {stroke.head, out} & comes
            else "and it is half a block"
            if drawing.things[stroke.head].word == "half"
            else ""
        )
        comes |= {stroke.head, out}
        if why:
            span = drawing.spans.get(stroke.piston, NOWHERE)
            message = (
                f"'{drawing.name(stroke.piston)}' moves a block {why}: the light on soil cells can't be computed then"
            )
            yield error("CKT602", span, message, "let it move a whole block through air")
