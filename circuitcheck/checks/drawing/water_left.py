"""Why runs leave the water of a drawing where it is drawn, though a stroke could change it (rules Z1, Z5, Z7)."""

from __future__ import annotations

from circuitcheck.checks.finding import Finding
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import ABOVE, said
from circuitcheck.space.water import MOST_PLACES, Water, water_of

LEFT = "runs leave all water where it is drawn"
WALLS = "put walls around it"


def followed_water(circuit: Circuit) -> Water:
    """The water of a circuit that a stroke may change; none where nothing moves."""
    if circuit.drawing is None or not circuit.things_move:
        return Water()
    return water_of(circuit.drawing, circuit.rules)


def water_left(circuit: Circuit) -> Finding | None:
    """That runs leave all water of a circuit where it is drawn; None where they follow it, or none can change."""
    drawing, water = circuit.drawing, followed_water(circuit)
    if drawing is None or not water.moves or water.followed:
        return None
    if water.meets:
        at = water.meets[0]
        message = f"the water reaches {drawing.things[at].one} before gt 0 ({said(at)}): {LEFT}"
        hint = "put a block between the water and that place"
        return Finding("Z7", drawing.name(at), drawing.spans.get(at, NOWHERE), message, hint)
    name = next(drawing.name(at) for at, thing in sorted(drawing.things.items()) if thing.word == "water")
    if water.half_below is not None:
        where = said(water.half_below)
        message = f"two sources stand beside water over a half block before gt 0 ({where}): {LEFT}"
        return Finding("Z5", name, drawing.span, message, "put a whole block below, or keep the sources apart")
    if water.too_many is not None:
        message = f"water can reach more than {MOST_PLACES} places, such as {said(water.too_many)}: {LEFT}"
        return Finding("Z1", name, drawing.span, message, WALLS)
    return Finding("Z1", name, drawing.span, f"the water comes to no rest before gt 0: {LEFT}", WALLS)


def could_come_to(circuit: Circuit, cell: str) -> bool:
    """Whether water that is left where it is drawn could else come to stand above a cell."""
    place = circuit.where.get(cell)
    water = followed_water(circuit)
    return place is not None and (water.too_many is not None or ABOVE.from_(place) in water.places)
