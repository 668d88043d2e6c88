"""What each port of a part in a drawing takes its power from, by the name that the port has (rules O2, W4 to W9)."""

from __future__ import annotations

from circuitcheck.model.drawing import AROUND, At
from circuitcheck.space.drivers import DriverLookup, Sources
from circuitcheck.space.room import Room

POINTS = ("repeater", "comparator")
"""What may point straight into another one (rule C3)."""


def ports_at(room: Room, drivers: DriverLookup, place: At) -> dict[str, Sources]:
    """What feeds each port of the part at a place; of what takes no power, nothing."""
    thing = room.at(place)
    assert thing is not None
    if thing.word == "torch":
        holder = room.held_by(place)
        assert holder is not None
        return {"block": Sources(blocks=(holder,))}
    if thing.word == "lamp":
        return {"power": drivers.into_lamp(place)}
    if thing.word == "piston":
        return {"power": drivers.at_part(place, but=thing.facing), "above": drivers.above_piston(place)}
    if thing.word not in POINTS or thing.facing is None:
        return {}
    behind, *sides = (thing.facing.back, *(side for side in AROUND if side not in (thing.facing, thing.facing.back)))
    back = drivers.from_side(place, behind)
    if thing.word == "repeater":
        return {"back": back, "side": Sources(tuple(lock for side in sides for lock in drivers.locks(place, side)))}
    one, other = (drivers.comparator_side(place, side) for side in sides)
    return {"back": back, "side": one | other}


def points_straight(room: Room, place: At) -> bool:
    """Whether a repeater or comparator points straight into the back or a side of another one (rule C3)."""
    thing = room.at(place)
    if thing is None or thing.word not in POINTS or thing.facing is None:
        return False
    ahead = room.at(thing.facing.from_(place))
    return ahead is not None and ahead.word in POINTS and ahead.facing is not thing.facing.back
