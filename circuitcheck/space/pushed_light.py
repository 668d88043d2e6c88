"""The blocks that pistons move, as light needs them: where each stands, and by which part that shows."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.diagnostics import NOWHERE, Diagnostic, error
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing
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


def not_lit(drawing: Drawing, circuit: Circuit) -> Iterator[tuple[Moved, Diagnostic]]:
    """Each block moved that light on soil cells can't be computed with, and the mistake that this is if light there
    depends on it: one moved into water, to where another comes, or half a block."""
    comes: set[At] = set()
    for each in moved(drawing, circuit):
        into, places = drawing.things.get(each.out), {each.home, each.out}
        why = (
            "into water"
            if into is not None and into.word == "water"
            else "to where another one comes"
            if places & comes
            else "and it is half a block"
            if drawing.things[each.home].word == "half"
            else ""
        )
        comes |= places
        if why:
            piston = each.part.removesuffix(".block")
            span = drawing.spans.get(circuit.where[piston], NOWHERE)
            message = (
                f"'{piston}' moves a block {why}: the light on soil cells that depends on it can't be computed then"
            )
            yield (
                each,
                error("CKT602", span, message, "let it move a whole block through air, or shut it off from them"),
            )
