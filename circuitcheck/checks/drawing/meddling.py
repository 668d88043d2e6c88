"""What pistons and water of a drawing do that it does not allow for (V5, Z1, Z7): broken things, water without an end.

Only a drawing with pistons is looked at.
"""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.checks.drawing.water_left import followed_water, water_left
from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.checks.finding import Finding
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing, said
from circuitcheck.space.circuit import read
from circuitcheck.space.configuration import AT_HOME, Configuration, Stroke
from circuitcheck.space.pushed_light import is_lit
from circuitcheck.space.refusals import refusal
from circuitcheck.space.scene import displacement, scene
from circuitcheck.space.strokes import Blocked, Breaks, Step, Strokes

MOST_READ = 200_000
"""How many things may be read again, times the pistons, to see whether those move wiring."""
LEAVE_ROOM = "leave the places free that it moves to, or silence this if it is meant"


def meddling_findings(circuit: Circuit, drawing: Drawing) -> Iterator[Finding]:
    """Pistons whose first stroke breaks something, moves what is read at home, or is not followed; water that flows."""
    strokes = Strokes(drawing, circuit.rules)
    if circuit.things_move:
        for piston in strokes.pistons:
            step = strokes.start_out(AT_HOME, piston)
            if isinstance(step, Breaks):
                yield _breaking(drawing, piston, step, ": no run goes on from there")
            elif isinstance(step, Step):
                yield from _moved_parts(drawing, piston, step)
        yield from _flowing(circuit, drawing)
        yield from _rows_in_light(circuit, drawing, strokes)
    else:
        yield from _not_followed(circuit, drawing, strokes)


def _breaking(drawing: Drawing, piston: At, step: Breaks, follows: str = "") -> Finding:
    """The first thing that a stroke breaks (rule M8)."""
    found = refusal(drawing, piston, step.broken[0])
    span = drawing.spans.get(piston, NOWHERE)
    return Finding("V5", drawing.name(piston), span, f"{found.why} ({found.rule}){follows}", found.hint)


def _moved_parts(drawing: Drawing, piston: At, step: Step) -> Iterator[Finding]:
    """The lamps and cells that a stroke moves: their light, and the light on them, are read at home."""
    for thing in (drawing.things[home] for home, _ in step.after.places):
        if thing.is_part and not (thing.pushes or thing.watches):
            name, span = drawing.name(piston), drawing.spans.get(piston, NOWHERE)
            message = f"the piston '{name}' moves {thing.one}: its light is read at home"
            yield Finding("V5", name, span, message, "leave it where it is, or silence this if it is meant")


def _rows_in_light(circuit: Circuit, drawing: Drawing, strokes: Strokes) -> Iterator[Finding]:
    """Rows that light on cells does not follow, as they come apart, or are not alike to light."""
    if not any(part.cell is not None for part in circuit.parts):
        return
    for stroke in strokes.one_at_a_time():
        blocks = [drawing.things[home] for home, _ in stroke.moves if not drawing.things[home].is_part]
        if len(stroke.moves) > 1 and blocks and not is_lit(drawing, stroke):
            name, span = drawing.name(stroke.piston), drawing.spans.get(stroke.piston, NOWHERE)
            message = f"the piston '{name}' moves a row of {len(stroke.moves)}: light on cells is read with it at home"
            yield Finding("V5", name, span, message, "leave one block before it, or silence this if it is meant")


def _not_followed(circuit: Circuit, drawing: Drawing, strokes: Strokes) -> Iterator[Finding]:
    """Under rules without power above a piston: strokes that change what is read with everything at home."""
    if len(strokes.pistons) * len(drawing.things) > MOST_READ:
        name, span = drawing.name(strokes.pistons[0]), drawing.spans.get(strokes.pistons[0], NOWHERE)
        message = f"whether the {len(strokes.pistons)} pistons move wiring was not checked: the drawing is too large"
        yield Finding("V5", name, span, message, "draw it in smaller pieces")
        return
    usual = None
    for piston in strokes.pistons:
        name, span = drawing.name(piston), drawing.spans.get(piston, NOWHERE)
        step = strokes.start_out(AT_HOME, piston)
        if isinstance(step, Breaks):
            yield _breaking(drawing, piston, step)
        elif isinstance(step, Blocked):
            message = f"the piston '{name}' can't move out ({step.why.value}), and it is taken to move"
            yield Finding("V5", name, span, message, "leave room before it, or silence this if it is meant")
        elif moved := list(_moved_parts(drawing, piston, step)):
            yield from moved
        elif step.after.places:
            usual = usual or wiring(circuit)
            landed = strokes.land(step.after, Stroke(piston, True)).after
            changed = read(scene(drawing, displacement(drawing, landed)), circuit.rules)
            if changed.mistakes:
                message = f"once the piston '{name}' has moved its block away, {changed.mistakes[0].message}"
                yield Finding("V5", name, span, message, LEAVE_ROOM)
            elif (after := wiring(changed.circuit)) != usual:
                readers = [part for part in usual.inputs if after.inputs.get(part) != usual.inputs[part]]
                yield Finding("V5", name, span, _moves_wiring(name, landed, readers), LEAVE_ROOM)


def _moves_wiring(name: str, landed: Configuration, readers: list[str]) -> str:
    depends = ", ".join(f"'{reader}'" for reader in readers[:4]) or "what is drawn"
    home, place = landed.places[0]
    return (
        f"the piston '{name}' moves a block from {said(home)} to {said(place)}, and what feeds {depends} "
        "depends on it: the circuit is read with the block at home"
    )


def _flowing(circuit: Circuit, drawing: Drawing) -> Iterator[Finding]:
    """Water that can flow out of its drawing, or that runs leave where it is drawn (rules Z1, Z5, Z7)."""
    water, left = followed_water(circuit), water_left(circuit)
    if not water.moves:
        return
    if left is not None:
        yield left
    elif water.leaves:
        message = f"water can leave the drawing, first at {said(water.leaves[0])}: it is followed no further"
        hint = "put walls around it, or silence this if it is meant"
        name = next(drawing.name(at) for at, thing in sorted(drawing.things.items()) if thing.word == "water")
        yield Finding("Z1", name, drawing.span, message, hint)
