"""The blocks that pistons move, as light needs them: where each stands, and by which part that shows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from circuitcheck.diagnostics import NOWHERE, Diagnostic, error
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.light import BLOCK
from circuitcheck.space.light import Head, Moved
from circuitcheck.space.strokes import FirstStroke, Strokes


def moved(drawing: Drawing, circuit: Circuit, apart: bool) -> list[Moved]:
    """The blocks that the pistons of a drawing move, for its light: of a row, the place that it leaves, and its end.

    What a piston that is not stuck moves has a part of its own. Of a stuck one it goes by where it is as well if it is
    taken `apart`, and else by where the piston is, as if each stroke pulled it home.
    """
    found = []
    for stroke in Strokes(drawing, circuit.rules).one_at_a_time():
        piston = drawing.name(stroke.piston)
        if is_lit(drawing, stroke) and piston in circuit.by_name:
            goes_by_itself = apart or f"{piston}{BLOCK}" in circuit.by_name
            found.append(Moved(stroke.head, _end(stroke), f"{piston}{BLOCK}" if goes_by_itself else piston))
    return found


def heads(drawing: Drawing, circuit: Circuit) -> Iterator[Head]:
    """The heads of the pistons of a drawing, for its light: to that each is a solid block (rule M4)."""
    for stroke in Strokes(drawing, circuit.rules).one_at_a_time():
        yield Head(stroke.head, drawing.name(stroke.piston))


def _end(stroke: FirstStroke) -> At:
    """The place that the farthest thing that a piston moves comes to."""
    left = {home for home, _ in stroke.moves}
    return next(place for _, place in stroke.moves if place not in left)


def is_lit(drawing: Drawing, stroke: FirstStroke) -> bool:
    """Whether light follows what a piston moves: blocks, and of a row only one that goes and stays as one.

    That is a row of things that are alike to light, before a piston that pulls none of them back.
    """
    things = [drawing.things[home] for home, _ in stroke.moves]
    alike = len({thing.block_type.light for thing in things}) == 1
    stays = len(things) == 1 or "sticky" not in drawing.things[stroke.piston].flags
    return alike and stays and all(thing.facing is None for thing in things)


def is_named(drawing: Drawing, stroke: FirstStroke) -> bool:
    """Whether a finding says that light reads what a piston moves at home (V5): lamps and cells, and rows with a
    block that light does not follow."""
    things = [drawing.things[home] for home, _ in stroke.moves]
    if any(thing.is_part and not (thing.pushes or thing.watches) for thing in things):
        return True
    return len(things) > 1 and not all(thing.is_part for thing in things) and not is_lit(drawing, stroke)


def not_lit(drawing: Drawing, circuit: Circuit, blocks: Iterable[Moved]) -> Iterator[tuple[Moved, Diagnostic]]:
    """Each of the blocks moved that light on soil cells can't be computed with, and the mistake that this is if light
    there depends on it: one moved into water, to where another comes, or half a block."""
    comes: set[At] = set()
    for each in blocks:
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
            piston = each.part.removesuffix(BLOCK)
            span = drawing.spans.get(circuit.where[piston], NOWHERE)
            message = (
                f"'{piston}' moves a block {why}: the light on soil cells that depends on it can't be computed then"
            )
            yield (
                each,
                error("CKT602", span, message, "let it move a whole block through air, or shut it off from them"),
            )
