"""What pistons move, and whether wiring depends on it.

A piston moves what stands before it one place on, if that is a block and there is room. Light is computed with the
block at either place. Wiring is read with every block at home; where it would be another while one is away, that is
reported.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.diagnostics import NOWHERE, Diagnostic, error
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing, Thing
from circuitcheck.space.light import Moved
from circuitcheck.space.pushing import gives_way, is_moved, stays


class Stroke(NamedTuple):
    """What a piston does when it goes out: to which place its head comes, and which block it moves where."""

    piston: At
    head: At
    out: At
    moves: Thing | None
    breaks: Thing | None
    """What stands where its head, or its block, comes, and is broken by it."""
    crowded: bool
    """Whether more stands before it than the one block, with room behind it, that is read as moved."""


def strokes(drawing: Drawing) -> Iterator[Stroke]:
    """What each piston of a drawing does."""
    for place, thing in drawing.things.items():
        if not thing.pushes or thing.facing is None:
            continue
        head = thing.facing.from_(place)
        out = thing.facing.from_(head)
        before, beyond = drawing.things.get(head), drawing.things.get(out)
        # Of a block that it moves, what lies beyond is in the way; else what stands before it.
        moves = before is not None and is_moved(before)
        in_the_way = beyond if moves else before
        if in_the_way is None or gives_way(in_the_way):
            yield Stroke(place, head, out, before if moves else None, None, False)
        elif stays(in_the_way) or (moves and is_moved(in_the_way)):
            yield Stroke(place, head, out, None, None, True)
        else:
            yield Stroke(place, head, out, before if moves else None, in_the_way, False)


def changing(drawing: Drawing) -> Iterator[tuple[At, Stroke]]:
    """The places that pistons come to, and that they move blocks from and to."""
    for stroke in strokes(drawing):
        yield stroke.head, stroke
        if stroke.moves is not None:
            yield stroke.out, stroke


def unreckoned(drawing: Drawing) -> Iterator[Diagnostic]:
    """A mistake for each block moved that light on soil cells can't be computed with: into water, to where another
    comes, or half a block."""
    comes: set[At] = set()
    for stroke in strokes(drawing):
        if stroke.moves is None:
            continue
        into = drawing.things.get(stroke.out)
        why = (
            "into water"
            if into is not None and into.word == "water"
            else "to where another one comes"
            if {stroke.head, stroke.out} & comes
            else "and it is half a block"
            if stroke.moves.word == "half"
            else ""
        )
        comes |= {stroke.head, stroke.out}
        if why:
            span = drawing.spans.get(stroke.piston, NOWHERE)
            message = (
                f"'{drawing.name(stroke.piston)}' moves a block {why}: the light on soil cells can't be computed then"
            )
            yield error("CKT602", span, message, "let it move a whole block through air")


def moved(drawing: Drawing, circuit: Circuit) -> list[Moved]:
    """The blocks that pistons of a drawing move, for its light."""
    found = []
    for stroke in strokes(drawing):
        piston = drawing.name(stroke.piston)
        # Of a stuck piston there is no more than the piston itself.
        name = f"{piston}.block" if f"{piston}.block" in circuit.by_name else piston
        if stroke.moves is not None and name in circuit.by_name:
            found.append(Moved(stroke.head, stroke.out, name))
    return found


def away(drawing: Drawing, stroke: Stroke) -> Drawing:
    """The drawing while a piston is out."""
    things = {place: thing for place, thing in drawing.things.items() if place not in (stroke.head, stroke.out)}
    beyond = drawing.things.get(stroke.out)
    if stroke.moves is not None:
        things[stroke.out] = stroke.moves
    elif beyond is not None:
        things[stroke.out] = beyond
    names = {place: name for place, name in drawing.names.items() if place not in (stroke.head, stroke.out)}
    if stroke.moves is not None and stroke.head in drawing.names:
        names[stroke.out] = drawing.names[stroke.head]
    return replace(drawing, things=things, names=names)
