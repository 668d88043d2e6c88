"""Who is updated when something changes in space (rule W10)."""

from __future__ import annotations

from collections.abc import Iterable

from circuitcheck.model.block_type import Tells
from circuitcheck.model.drawing import At
from circuitcheck.space.pushing import is_moved
from circuitcheck.space.room import Room, neighbours, within_two_steps


def update_targets(room: Room, place: At) -> frozenset[At]:
    """The places that are updated when what stands at a place changes its state."""
    thing = room.at(place)
    if thing is None:
        return frozenset()
    tells = thing.block_type.tells
    if tells is Tells.TWO_STEPS:
        return frozenset(within_two_steps(place))
    if tells is Tells.HOLDER:
        held = room.held_by(place)
        return (_six(place) | (_six(held) if held is not None else frozenset())) - {place}
    if tells is Tells.FRONT and thing.facing is not None:
        front = thing.facing.from_(place)
        return (_six(front) | {front}) - {place}
    if tells is Tells.STROKE and thing.facing is not None:
        # It moves its head and, if there is one, the block before it.
        head = thing.facing.from_(place)
        before = room.at(head)
        out = _six(thing.facing.from_(head)) if before is not None and is_moved(before) else frozenset()
        return (_six(place) | _six(head) | out) - {place}
    if tells is Tells.BESIDE or thing.when is not None:
        return _six(place)
    return frozenset()


def _six(place: At) -> frozenset[At]:
    return frozenset(beside for _, beside in neighbours(place))


class Hearing:
    """Which changes of a drawing are heard at a place."""

    def __init__(self, room: Room) -> None:
        self._room = room
        self._heard: dict[At, list[At]] | None = None

    def at(self, place: At) -> Iterable[At]:
        """The places whose changes are heard at a place, in order."""
        if self._heard is None:
            self._heard = {}
            for changing in sorted(self._room.drawing.things):
                for told in update_targets(self._room, changing):
                    self._heard.setdefault(told, []).append(changing)
        return self._heard.get(place, ())
