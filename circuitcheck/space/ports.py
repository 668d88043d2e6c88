"""What each port of a part in a drawing takes its power from, by the name that the port has (rules O2, W4 to W9)."""

from __future__ import annotations

from circuitcheck.model.block_type import BY_POWER
from circuitcheck.model.drawing import At
from circuitcheck.space.drivers import DriverLookup, Sources
from circuitcheck.space.room import Room


def ports_at(room: Room, drivers: DriverLookup, place: At) -> dict[str, Sources]:
    """What feeds each port of the part at a place; of what takes no power, nothing."""
    thing = room.at(place)
    assert thing is not None
    by_power = (each for each in thing.block_type.reads if each.how in BY_POWER)
    return {each.port: drivers.read(place, thing, each.how) for each in by_power}


def points_straight(room: Room, place: At) -> bool:
    """Whether what points stands at a place, and points straight into the back or a side of another one (rule C3)."""
    thing = room.at(place)
    if thing is None or not thing.block_type.directed or thing.facing is None:
        return False
    ahead = room.at(thing.facing.from_(place))
    return ahead is not None and ahead.block_type.directed and ahead.facing is not thing.facing.back
