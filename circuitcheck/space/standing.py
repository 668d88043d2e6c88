"""What can't stand where it is drawn (rule W1): one mistake each, at the letter."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.diagnostics import NOWHERE, Diagnostic, error
from circuitcheck.model.drawing import BELOW, At, Thing, said
from circuitcheck.space.room import Room


def mistakes(room: Room) -> Iterator[Diagnostic]:
    """A mistake for each thing that has nothing to lie on or to be held by, or that may not be there."""
    for place, thing in room.drawing.things.items():
        found = _mistake(room, place, thing)
        if found is not None:
            span = room.drawing.spans.get(place, NOWHERE)
            message, hint = found
            yield error("CKT601", span, f"{message} ({said(place)}; W1)", hint)


def _mistake(room: Room, place: At, thing: Thing) -> tuple[str, str] | None:
    if thing.block_type.lies:
        below = BELOW.from_(place)
        if room.is_a(below, "glass") and not room.rules.dust_on_clear:
            return f"{thing.one} can't lie on a clear block under these rules", "put a solid block under it"
        if not room.carries_dust(below):
            return f"{thing.one} lies on {_shown(room, below)}", "put a solid block under it"
    if thing.is_dust and thing.shape == "dot" and not room.rules.dust_dots:
        return "dust can't be set to a dot under these rules", "leave out 'dot'"
    if thing.on is not None and not room.solid(thing.on.from_(place)):
        holder = thing.on.from_(place)
        other = " (say 'on west' and the like for one beside it)" if thing.on is BELOW else ""
        return (
            f"{thing.one} has nothing to hold it: {_shown(room, holder)} is {thing.on.beside}",
            f"put a solid block there{other}",
        )
    return None


def _shown(room: Room, place: At) -> str:
    thing = room.at(place)
    if thing is None:
        return "air"
    return thing.one
