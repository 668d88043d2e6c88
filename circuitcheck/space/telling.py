"""Who is updated when something changes in space (rule W10)."""

from __future__ import annotations

from collections.abc import Iterable

from circuitcheck.model.block_type import Tells
from circuitcheck.model.drawing import At
from circuitcheck.space.room import Room, neighbours, within_two_steps


def update_targets(room: Room, place: At) -> frozenset[At]:
    """The places that are updated when what stands at a place changes its state; whom strokes update, they say."""
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
    if tells is Tells.BESIDE or thing.when is not None:
        return _six(place)
    return frozenset()


def _six(place: At) -> frozenset[At]:
    return frozenset(beside for _, beside in neighbours(place))


def _updated_by_strokes(room: Room) -> dict[At, frozenset[At]]:
    """The places that the first stroke of each piston updates; of one that stays home, those beside its head too."""
    if not room.drawing.has_pistons:
        return {}
    from circuitcheck.space.strokes import Strokes  # only where something moves

    strokes = Strokes(room.drawing, room.rules)
    changed: dict[At, frozenset[At]] = {
        piston: frozenset({strokes.facing(piston).from_(piston)}) for piston in strokes.pistons
    }
    changed |= {stroke.piston: stroke.changes for stroke in strokes.one_at_a_time()}
    return {
        piston: frozenset().union(_six(piston), *map(_six, places)) - {piston} for piston, places in changed.items()
    }


class Hearing:
    """Which changes of a drawing are heard at a place."""

    def __init__(self, room: Room) -> None:
        self._room = room
        self._heard: dict[At, list[At]] | None = None

    def at(self, place: At) -> Iterable[At]:
        """The places whose changes are heard at a place, in order."""
        if self._heard is None:
            self._heard, strokes = {}, _updated_by_strokes(self._room)
            for changing in sorted(self._room.drawing.things):
                for told in update_targets(self._room, changing) | strokes.get(changing, frozenset()):
                    self._heard.setdefault(told, []).append(changing)
        return self._heard.get(place, ())
