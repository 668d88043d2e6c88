"""Water above cells that can be exchanged: when what a state says of it tells none of them from the others.

A cell that changes updates the water beside it (rules W10, Z8), which looks some gt later. So a unit
(`machine.exchange`) has that water, with its level and its wait. All other water must stand and wait alike around each
unit of a group, and where the water of units has other levels, no other water that reads it may be wet: that is checked
of each state.

Water is taken in bodies: no look in one reads or changes what is in another. A group's bodies must be shifted copies of
each other, with all that stands around them and with the pistons whose strokes can change them. The water of a unit may
touch but water of its body that is of no unit, and the same of it wherever it stands. Then a look of the water of one
unit comes to what that of any other would; what other water comes to in the next gt does not depend on which unit has
which level; and so a unit put in the place of another leads to the same steps there. Where the next state is not like
that any more, `NotAlike` is raised.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from circuitcheck.chance.machine.alike import NotAlike, Unit, away
from circuitcheck.engine.motion import Motion
from circuitcheck.engine.program import Program
from circuitcheck.engine.state import State
from circuitcheck.model.drawing import ABOVE, BELOW, At, Thing
from circuitcheck.space.flowing import is_source, is_washed_away, sides
from circuitcheck.space.unfelt import bodies
from circuitcheck.space.water import freed_by_each


class LikeWater:
    """The water of the units of one group. Raises NotAlike where it tells them apart from the first."""

    def __init__(self, program: Program, units: Sequence[Unit]) -> None:
        assert program.motion is not None
        self._motion: Motion = program.motion
        self._place_of: Mapping[int, At] = self._motion.flow.place_of
        self.own = tuple(device for unit in units for device in unit.devices if device in self._place_of)
        """The water of the units."""
        self._own_places = {self._place_of[device] for device in self.own}
        self._bodies = self._found()
        """Of each body, the places that are of no unit, in the same order."""
        self._pistons = [self._changing(places) for places in self._around()]
        device_at = self._motion.flow.device_at
        self._reading = [device_at[at] for body in self._bodies for at in body if self._reads_own(at)]
        self._checked()

    def check(self, state: State) -> None:
        """Whether a state tells no water of the group from any other. Raises NotAlike."""
        levels = {state.levels[device] for device in self.own}
        if len(levels) > 1 and any(state.levels[device] for device in self._reading):
            raise NotAlike
        assert state.configuration is not None
        waits: dict[int, list[tuple[int, int]]] = {}
        for to_go, order_class, devices in state.waits:
            for device in devices:
                waits.setdefault(device, []).append((to_go, order_class))
        phases = dict(state.configuration.phases)
        device_at = self._motion.flow.device_at
        said = set()
        for body, pistons in zip(self._bodies, self._pistons, strict=True):
            own = (device_at[at] for at in body)
            water = [(state.levels[device], tuple(waits.get(device, ()))) for device in own]
            said.add((tuple(water), tuple(phases.get(home) for home in pistons)))
        if len(said) > 1:
            raise NotAlike

    def _found(self) -> list[list[At]]:
        if not self._own_places <= {self._place_of[device] for device in self._motion.unfelt}:
            raise NotAlike
        found = bodies(self._motion.looks, frozenset(self._place_of.values()))
        return [sorted(body - self._own_places) for body in found if not self._own_places.isdisjoint(body)]

    def _around(self) -> Iterator[set[At]]:
        """All that looks in each body read or may change, and what is beside that."""
        looks = self._motion.looks
        for body in bodies(looks, frozenset(self._place_of.values())):
            if not self._own_places.isdisjoint(body):
                yield {at for place in body for at in (*looks.reads(place), *looks.changes(place))}

    def _reads_own(self, at: At) -> bool:
        """Whether a look at a place may read the water of a unit; only one that may spread aside looks for holes."""
        looks, beside = self._motion.looks, {ABOVE.from_(at), BELOW.from_(at), *sides(at)}
        spreads_aside = not looks.changes(at).isdisjoint(sides(at))
        return not self._own_places.isdisjoint(looks.reads(at) if spreads_aside else beside)

    def _changing(self, places: set[At]) -> list[At]:
        """The pistons whose strokes can change one of some places."""
        freed = freed_by_each(self._motion.drawing, self._motion.flow.rules)
        return sorted(home for home, each in freed.items() if not places.isdisjoint(each.changes))

    def _checked(self) -> None:
        """Whether the bodies are shifted copies, and the water of units touches the same of them wherever it is."""
        things = self._motion.drawing.things
        around = list(self._around())
        first, copies = self._bodies[0], self._bodies[1:]
        for body, places, pistons in zip(copies, around[1:], self._pistons[1:], strict=True):
            by = away(first[0], body[0]) if first and body else (0, 0, 0)
            same = [_shifted(at, by) for at in first] == body
            same &= {_shifted(at, by) for at in around[0]} == places
            same &= [_shifted(at, by) for at in self._pistons[0]] == pistons
            mine = {_shifted(at, by) for at in self._own_places & around[0]}
            if not same or mine != self._own_places & places:
                raise NotAlike
            if any(_to_water(things.get(at)) != _to_water(things.get(_shifted(at, by))) for at in around[0]):
                raise NotAlike
        if len({tuple(self._touched(at)) for at in self._own_places}) > 1:
            raise NotAlike

    def _touched(self, place: At) -> Iterator[object]:
        """What water of a unit touches, by its number in its body; water of a unit among it is not alike."""
        things, at_number = self._motion.drawing.things, self._number_of
        beside = sorted(str(at_number(at)) for at in sides(place))
        yield (at_number(ABOVE.from_(place)), tuple(beside), at_number(BELOW.from_(place)))
        yield _to_water(things.get(BELOW.from_(place)))

    def _number_of(self, place: At) -> int | None:
        """The number of water in its body; None for all else."""
        if place in self._own_places:
            raise NotAlike
        return next((body.index(place) for body in self._bodies if place in body), None)


def _to_water(thing: Thing | None) -> object:
    """What a thing is to water beside it or above it."""
    if thing is None or is_source(thing) or is_washed_away(thing):
        return None if thing is None else thing.word
    bears = thing.block_type.solid or thing.word == "glass"
    return (thing.word == "half", bears, thing.facing if thing.pushes else None)


def _shifted(at: At, by: At) -> At:
    return (at[0] + by[0], at[1] + by[1], at[2] + by[2])
