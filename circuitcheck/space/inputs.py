"""What the devices of a drawing read as it stands in one configuration: their ports, and what pistons hear."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial
from typing import NamedTuple

from circuitcheck.model.drawing import At, Thing, placed_name
from circuitcheck.space.drivers import DriverLookup, Sources
from circuitcheck.space.dust import Dusts
from circuitcheck.space.flowing import is_source
from circuitcheck.space.ports import points_straight, ports_at
from circuitcheck.space.reach import Reach
from circuitcheck.space.room import Room, neighbours, within_two_steps
from circuitcheck.space.scene import HEAD
from circuitcheck.space.telling import update_targets

Drivers = tuple[tuple[str, int], ...]
"""The devices that feed a port, by name and in order, each with the levels lost on the way."""


class Inputs(NamedTuple):
    """What one device reads as things stand."""

    place: At | None
    """Where it stands; None while it is in motion, when it reads nothing."""
    ports: tuple[tuple[str, Drivers], ...] = ()
    """Its ports by name: those that it has as a part, and of each piston both `power` and `above`."""
    hears: tuple[Drivers, ...] = ()
    """Of a piston, what tells it by changing, each by the devices that make its level (rule W10); strokes do not
    count here, as `Wirings.told` says whom they tell."""
    straight: bool = False
    """Whether it points straight (rule C3)."""


class Reading:
    """A drawing as it stands, ready to be read at any of its places."""

    def __init__(self, room: Room, shown: frozenset[str], water: frozenset[At]) -> None:
        self._drawing = room.drawing
        self._water = water
        self._shown = shown
        self._room = room
        self._dusts = Dusts(self._room)
        self._drivers = DriverLookup(self._room, self._dusts)
        self._reach = Reach(room, self._dusts, self._drivers)

    def dust_at(self, place: At) -> object:
        """What there is to say of dust at a place that its whole run depends on, and what it points into."""
        if not self._room.is_a(place, "dust"):
            return None
        return self._dusts.joins(place), self._dusts.points(place), self._reach.lit_by(place)

    def runs_at(self, place: At) -> frozenset[At]:
        """The run of dust at a place; none where there is no dust."""
        return self._dusts.whole_run(place) if self._room.is_dust(place) else frozenset()

    def inputs(self, places: Iterable[At], hearing: bool = True) -> Iterator[tuple[str, Inputs]]:
        """What the devices at some places read, by their names; what they hear only with `hearing`."""
        for place in places:
            thing = self._room.at(place)
            if thing is not None and thing.is_part:
                yield self._drawing.name(place), self._inputs(place, thing, hearing)
            elif thing is not None and thing.word in ("dust", "block") and self._drawing.name(place) in self._shown:
                yield self._drawing.name(place), Inputs(place, (("power", self._power(place, thing)),))
            if place in self._water:
                yield placed_name("water", place), Inputs(place, (), self._heard_around((place,)) if hearing else ())

    def ports(self, place: At) -> dict[str, Drivers]:
        """What feeds each port of the part at a place."""
        return {port: self._named(each) for port, each in ports_at(self._room, self._drivers, place).items()}

    def _power(self, place: At, thing: Thing) -> Drivers:
        """What makes the level of dust, or the power of a block."""
        if thing.word == "dust":
            return tuple(self._reach.dust(place).items())
        return self._named(self._drivers.into_block(place))

    def _inputs(self, place: At, thing: Thing, hearing: bool) -> Inputs:
        sources = ports_at(self._room, self._drivers, place)
        ports = tuple((port, self._named(each)) for port, each in sources.items())
        if thing.pushes:
            return Inputs(place, ports, self._heard(place, thing) if hearing else ())
        if thing.watches:
            assert thing.facing is not None
            return Inputs(place, (("watched", self._seen(thing.facing.back.from_(place))),))
        return Inputs(place, ports, (), points_straight(self._room, place))

    def _named(self, sources: Sources) -> Drivers:
        return tuple(sorted(self._reach.into(sources).items()))

    def _heard(self, place: At, thing: Thing) -> tuple[Drivers, ...]:
        """What updates a piston by changing, whether or not it has power by it (rules W10, M4)."""
        assert thing.facing is not None
        head = thing.facing.from_(place)
        before = self._room.at(head)
        # A head that faces the same way right before it is its own: no other piston can have one there.
        is_out = before is not None and before.word == HEAD.word and before.facing is thing.facing
        return self._heard_around((place, head) if is_out else (place,))

    def _heard_around(self, ears: Iterable[At]) -> tuple[Drivers, ...]:
        """What updates some places by changing, each by itself: a lever and the dust that it drives are two, and stay
        two when the dust has another driver as well."""
        near = {place for ear in ears for place in (ear, *within_two_steps(ear))}  # nothing updates what is farther off
        told = [each for each in near if self._room.asked(each, partial(self._tells, each, ears))]
        return tuple(sorted(seen for each in told if (seen := self._seen(each))))

    def _tells(self, place: At, ears: Iterable[At]) -> bool:
        """Whether what is at a place tells some of these places by changing; whom strokes tell, `told` says."""
        thing = self._room.at(place)
        if thing is None and place not in self._water:
            return False  # as it is of most places that are asked about
        if thing is not None and thing.pushes:
            return False
        return not self._targets(place).isdisjoint(ears)

    def _targets(self, place: At) -> frozenset[At]:
        """The places that are updated when what is at a place changes; water updates its own as well (rule Z8)."""
        if self._is_open_to_water(place):
            return frozenset((place, *(beside for _, beside in neighbours(place))))
        return update_targets(self._room, place)

    def _is_open_to_water(self, place: At) -> bool:
        """Whether what can change at a place is water."""
        thing = self._room.at(place)
        return place in self._water and (thing is None or is_source(thing))

    def _seen(self, place: At) -> Drivers:
        """What makes the level, or the state, of what stands at a place; of a piston nothing (see `told`)."""
        thing = self._room.at(place)
        if self._is_open_to_water(place):
            return ((placed_name("water", place), 0),)
        if thing is None or thing.pushes:
            return ()
        if thing.is_dust:
            return tuple(self._reach.dust(place).items())
        if thing.when is not None:
            return ((thing.when.part, 0),)
        return ((self._drawing.name(place), 0),) if thing.is_part else ()
