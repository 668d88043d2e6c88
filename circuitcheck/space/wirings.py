"""The wiring of a drawing in every configuration: what each port reads, what a piston hears, what points straight.

A wiring is read when it is first asked for, and kept by what is displaced (rule M9). Only what can differ from home is
read. Everything that a port reads lies within three steps of it, or is a run of dust that comes so near. So what is
displaced can change ports only within three steps of the places that differ, or of a run of which dust within three
steps of those is joined, points or is lit otherwise than at home: its *reach*. Displaced things whose reaches have no
place in common change different ports, and are read apart and put together; ten lone pistons take twenty readings.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import product
from typing import NamedTuple

from circuitcheck.model.drawing import At, Drawing, placed_name
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.configuration import Configuration, Phase
from circuitcheck.space.growing import Growing
from circuitcheck.space.inputs import Drivers as Drivers
from circuitcheck.space.inputs import Inputs as Inputs
from circuitcheck.space.inputs import Reading
from circuitcheck.space.room import ComparingRoom, MayStand, Room, neighbours
from circuitcheck.space.scene import Displaced, Displacement, Seen, displacement, scene

MOST_WIRINGS = 4_096
"""How many wirings of one drawing are read before that is given up."""
MOST_COMPARED = 64
"""In how many configurations readings are kept that other things might change."""
STEPS = 3
"""How far away what a port reads can lie from it, apart from dust that leads there."""
NEAR = tuple(step for step in product(range(-STEPS, STEPS + 1), repeat=3) if sum(map(abs, step)) <= STEPS)


@dataclass(frozen=True, eq=False)
class Wiring:
    """The wiring of one configuration, as what is otherwise than at home. Each is one object, and compared as such."""

    home: Mapping[str, Inputs]
    changed: Mapping[str, Inputs] = field(default_factory=dict)
    """Of each device that does not read what it reads at home, what it reads; empty if everything is as at home."""

    def of(self, device: str) -> Inputs:
        """What a device reads."""
        return self.changed.get(device) or self.home[device]


def read_anew(one: Inputs, other: Inputs) -> set[str]:
    """What a device hears, or reads as power, in one of two wirings and not so in the other, by name.

    Of a cell among them more may matter than that it changes: the level that it has by then.
    """
    ports = [{drivers for name, drivers in each.ports if name != "watched"} for each in (one, other)]
    return {name for drivers in {*one.hears} ^ {*other.hears} | ports[0] ^ ports[1] for name, _ in drivers}


class LookedAt(NamedTuple):
    """What one device reads, and the places at which something else could change that."""

    device: str
    inputs: Inputs
    noted: frozenset[At]


class TooMany(NamedTuple):
    """That more wirings are reached than are read, and something that is not at home in the next one."""

    home: At


class Wirings:
    """The wirings of one drawing, under a set of rules; of its settings, `power_above_piston` alone counts."""

    def __init__(
        self,
        drawing: Drawing,
        rules: RuleSet,
        shown: frozenset[str] = frozenset(),
        water: frozenset[At] = frozenset(),
    ) -> None:
        self.drawing = drawing
        self.rules = rules
        self._shown = shown
        """The names of dust and blocks that are read too, as somebody may ask for their power."""
        self._water = water
        """The places at which there may be water, each a device."""
        self.readings = 0
        """How often some of the drawing, or all of it at home, was read."""
        self._at_home = Reading(Room(drawing, rules), shown, water)
        self.home = Wiring(self._read(self._at_home, dict.fromkeys((*drawing.things, *sorted(water)))))
        self._known: dict[Displacement, Wiring] = {frozenset(): self.home}
        self._parts: dict[Displacement, _Part] = {}
        self._looked_at: dict[tuple[Displacement, At, MayStand, bool], tuple[LookedAt, ...]] = {}
        self._comparing: dict[Displacement, tuple[ComparingRoom, Reading]] = {}
        self._compared_with: MayStand | None = None

    def wiring(self, now: Configuration) -> Wiring | TooMany:
        """The wiring of a configuration; the same object for all in which the same things are displaced."""
        displaced = displacement(self.drawing, now)
        known = self._known.get(displaced)
        if known is None:
            if len(self._known) >= MOST_WIRINGS:
                return TooMany((*(home for home, _ in now.phases), *(home for home, _ in now.places))[0])
            changed: dict[str, Inputs] = {}
            for part in self._apart(displaced):
                changed |= part.changed
            known = self._known[displaced] = Wiring(self.home.home, changed)
        return known

    def depends_on(self, now: Configuration, device: str, may_stand: MayStand) -> frozenset[At]:
        """The places at which other things that may stand there could change what a device reads."""
        wiring = self.wiring(now)
        place = None if isinstance(wiring, TooMany) else wiring.of(device).place
        if place is None:
            return frozenset()  # it reads nothing
        return frozenset().union(*(each.noted for each in self.looked_at(now, place, may_stand)))

    @property
    def known(self) -> int:
        """How many wirings have been read."""
        return len(self._known)

    # Readings

    def _apart(self, displaced: Displacement) -> list[_Part]:
        """Readings of what is displaced, put together as far as their reaches have places in common."""
        parts: list[_Part] = []
        waiting = [self._part(each) for each in _beside(displaced)]
        while waiting:
            part = waiting.pop()
            touched = [other for other in parts if not part.reach.isdisjoint(other.reach)]
            if touched:
                parts = [other for other in parts if other not in touched]
                waiting.append(self._part(part.displaced.union(*(other.displaced for other in touched))))
            else:
                parts.append(part)
        return parts

    def _part(self, displaced: Displacement) -> _Part:
        known = self._parts.get(displaced)
        if known is None:
            here = Reading(Room(scene(self.drawing, displaced), self.rules), self._shown, self._water)
            reach = self._reach(displaced, here)
            read = self._read(here, sorted(reach))
            read |= {self.drawing.name(each.home): Inputs(None) for each in displaced if self._in_motion(each)}
            home = self.home.home
            changed = {name: inputs for name, inputs in read.items() if inputs != home[name]}
            known = self._parts[displaced] = _Part(displaced, reach, changed)
        return known

    def _in_motion(self, each: Displaced) -> bool:
        read = self.drawing.things[each.home].is_part or self.drawing.name(each.home) in self._shown
        return each.place is None and read

    def _reach(self, displaced: Displacement, here: Reading) -> frozenset[At]:
        """Every place at which something may read otherwise than at home."""
        near = _near(place for each in displaced for place in each.changes)
        changed = [place for place in near if self._at_home.dust_at(place) != here.dust_at(place)]
        runs = {run for reading in (self._at_home, here) for place in changed for run in reading.runs_at(place)}
        return near | _near(runs)

    def _read(self, reading: Reading, places: Iterable[At]) -> dict[str, Inputs]:
        self.readings += 1
        return dict(reading.inputs(places))

    def near(self, now: Configuration, places: Iterable[At]) -> frozenset[At]:
        """Every place at which something may read otherwise if places change: those near them and near dust there."""
        here = self._standing_reading(now)
        near = _near(places)
        return near | _near(run for place in near for run in here.runs_at(place))

    def looked_at(
        self, now: Configuration, place: At, may_stand: MayStand, hearing: bool = True
    ) -> tuple[LookedAt, ...]:
        """What devices at a place read in a configuration, with the places at which other things could change that.

        Without `hearing` what they hear is left out. It is kept: each claim on one drawing asks for the same again.
        What was found on the way serves the other places.
        """
        displaced = displacement(self.drawing, now)
        key = (displaced, place, may_stand, hearing)
        known = self._looked_at.get(key)
        if known is None:
            room, reading = self._compared(displaced, may_stand)
            room.begin_noting()
            read = tuple(reading.inputs((place,), hearing))
            noted = room.end_noting()
            known = self._looked_at[key] = tuple(LookedAt(*each, noted) for each in read)
        return known

    def _compared(self, displaced: Displacement, may_stand: MayStand) -> tuple[ComparingRoom, Reading]:
        """A drawing as it stands, with what was found in it before as long as the same may stand in it."""
        if may_stand is not self._compared_with or len(self._comparing) >= MOST_COMPARED:
            self._compared_with, self._comparing = may_stand, {}
        known = self._comparing.get(displaced)
        if known is None:
            room = ComparingRoom(scene(self.drawing, displaced), self.rules, may_stand)
            known = self._comparing[displaced] = room, Reading(room, self._shown, self._water)
        return known

    def power_looked_at(self, now: Configuration, place: At) -> tuple[Mapping[str, Drivers], frozenset[At]]:
        """What feeds the ports of the part at a place in a configuration, and the places that were looked at for it."""
        standing = self.standing(now)
        seen = Seen(standing.things)
        reading = Reading(Room(replace(standing, things=seen), self.rules), self._shown, self._water)
        return reading.ports(place), frozenset(seen.looked_at)

    def _standing_reading(self, now: Configuration) -> Reading:
        return Reading(Room(self.standing(now), self.rules), self._shown, self._water)

    # Who is updated, and what else depends on where things are

    def told(self, now: Configuration, centres: Iterable[At]) -> tuple[tuple[str, ...], ...]:
        """For each of some places in turn, the devices that are updated by what changes there: those on the six around
        it.

        A piston whose head has landed is updated there as well; one that goes home is deaf (rule M4).
        """
        displaced = displacement(self.drawing, now)
        standing = scene(self.drawing, displaced)
        named = {each.place: self.drawing.name(each.home) for each in displaced if each.head}
        deaf = {self.drawing.name(home) for home, phase in now.phases if phase is Phase.GOING_HOME}
        found = []
        for centre in centres:
            around = [beside for _, beside in neighbours(centre)]
            named |= {at: standing.name(at) for at in around if at in standing.things and _behaves(standing, at)}
            named |= {at: placed_name("water", at) for at in around if at in self._water and at not in named}
            found.append(tuple(sorted({named[at] for at in around if at in named} - deaf)))
        return tuple(found)

    def watching(self, now: Configuration, places: Iterable[At]) -> tuple[str, ...]:
        """The detectors that watch one of some places (rules D1, M10)."""
        standing, found = self.standing(now), set()
        for place in places:
            for direction, beside in neighbours(place):
                thing = standing.things.get(beside)
                if thing is not None and thing.facing is direction and thing.watches:
                    found.add(standing.name(beside))
        return tuple(sorted(found))

    def standing(self, now: Configuration) -> Drawing:
        """The drawing as it stands, for light and for cells (rules G1 to G3, X2, X3): heads are there, and what is in
        motion is not."""
        return scene(self.drawing, displacement(self.drawing, now))

    def grows(self, now: Configuration) -> dict[str, tuple[str, ...]]:
        """For each cell that stands, the cells that can grow it over (rules X3, M11)."""
        standing = self.standing(now)
        growing = Growing(Room(standing, self.rules))
        cells = [place for place, thing in standing.things.items() if thing.is_cell]
        return {standing.name(cell): tuple(map(standing.name, growing.sources(cell))) for cell in sorted(cells)}


class _Part(NamedTuple):
    displaced: Displacement
    reach: frozenset[At]
    changed: dict[str, Inputs]


def _behaves(drawing: Drawing, place: At) -> bool:
    return drawing.things[place].is_part


def _near(places: Iterable[At]) -> frozenset[At]:
    """All places within three steps of some places."""
    return frozenset(
        (layer + up, row + south, column + east) for layer, row, column in places for up, south, east in NEAR
    )


def _beside(displaced: Displacement) -> list[Displacement]:
    """What is displaced, in groups of which each could reach no other if there were no dust."""
    groups: list[tuple[frozenset[At], Displacement]] = []
    for each in sorted(displaced, key=lambda each: (each.home, each.head)):
        near, group = _near(each.changes), frozenset({each})
        for other in [other for other in groups if not near.isdisjoint(other[0])]:
            groups.remove(other)
            near, group = near | other[0], group | other[1]
        groups.append((near, group))
    return [group for _, group in groups]
