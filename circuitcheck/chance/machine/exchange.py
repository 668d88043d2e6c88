"""Cells of a machine in which things move that can be exchanged, each with the pistons that hear it.

A *unit* is a cell, the pistons that hear it, what their strokes move, and the devices that these strokes bring into
play. Units of one sensor whose parts stand in the same way to each other are shifted copies of one another. They can be
exchanged if each step of a stroke, and the wiring in each place that the strokes of one unit alone can bring things to,
is that of any other shifted, and all else reads one as it reads the other. Levels lost on the way may differ where they
make no difference: where nothing but power or none is felt, or where one thing alone that is on or off is read.

A cell also updates the water beside it as it changes; `machine.like_water` says when that tells no unit from another.

What several units, and all else that moves, make of the wiring together must be what each makes of it alone, put
together. That is checked of each wiring that is met; where it is not so, `NotAlike` is raised, and whoever asked begins
again without exchanges. (Exchanges of states that leave all steps as they are make a chain lumpable: Kemeny and Snell,
Finite Markov Chains, 1960, section 6.3; Buchholz, Exact and ordinary lumpability in finite Markov chains, Journal of
Applied Probability 31, 1994.)
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TypeVar

from circuitcheck.chance.machine.alike import Comparison, NotAlike, Unit, away
from circuitcheck.chance.machine.like_water import LikeWater
from circuitcheck.chance.machine.units import cells_of, probes_of_places
from circuitcheck.engine.gauge import Gauge
from circuitcheck.engine.motion import Motion
from circuitcheck.engine.program import PortDrivers, Program
from circuitcheck.engine.state import State
from circuitcheck.model.directions import At
from circuitcheck.space.configuration import AT_HOME, Configuration, Stroke
from circuitcheck.space.strokes import Step
from circuitcheck.space.wirings import Inputs, TooMany

Turn = tuple[int, ...]
"""For each slot of a group, the slot whose unit comes to stand there."""
Classes = tuple[int, ...]
"""For each slot of a group, the first slot that is like it."""


NOTHING: Mapping[int, int] = {}
Held = TypeVar("Held")
Local = tuple[object, ...]
"""What a configuration says of one unit, by its things' numbers and by places counted from its first piston."""


class Exchange:
    """The groups of units of one machine in which things move that can be exchanged."""

    def __init__(self, program: Program, watched: Iterable[PortDrivers], wet: bool = True) -> None:
        """Without `wet` it is of the machine without its water, which cells and strokes update as they change."""
        assert program.motion is not None
        self._program = program
        self._wet = wet
        self._motion: Motion = program.motion
        self._cells = cells_of(program)
        lit = probes_of_places(program).values() if wet else ()
        looked_at = {source for feeds in (*watched, *lit) for source, _ in feeds}
        self.groups: list[tuple[Unit, ...]] = []
        self._reached: list[list[Configuration]] = []
        self._waters: list[LikeWater] = []
        for units in self._candidates():
            try:
                made, reached = Comparison(program, units, wet).checked()
                water = LikeWater(program, made) if any(map(self._flowing, units)) else None
            except NotAlike:
                continue
            seen = looked_at.difference(water.own if water is not None else ())
            if seen.isdisjoint(self._told_of(made)):
                self.groups.append(made)
                self._reached.append(reached)
                self._waters += [water] if water is not None else []
        self._look_up()
        self._together: set[Configuration] = set()

    def within(self, part: Program, asked: Iterable[int]) -> Exchange:
        """The same for some devices of the machine in which nothing else has a say (`Program.cut`).

        Left out are the groups of which not all is in it, those that update water, and those of which something is
        `asked`, by its own numbers.
        """
        assert part.motion is not None
        names, inside, numbers, seen = self._program.names, part.number.keys(), part.number, set(asked)
        mine = copy.copy(self)
        mine._program, mine._motion = part, part.motion
        mine.groups, mine._reached, mine._together, mine._waters = [], [], set(), []
        for units, reached in zip(self.groups, self._reached, strict=True):
            own = {names[device] for unit in units for device in unit.devices}
            told = {numbers.get(names[device], -1) for device in self._told_of(units)}
            dry = not any(map(self._flowing, units))
            if dry and own <= inside and seen.isdisjoint(told):
                made = (unit._replace(devices=tuple(numbers[names[each]] for each in unit.devices)) for unit in units)
                mine.groups.append(tuple(made))
                mine._reached.append(reached)
        mine._look_up()
        return mine

    def _look_up(self) -> None:
        """Notes which device and thing belongs to which unit."""
        self.slot_of = {
            device: (group, slot)
            for group, units in enumerate(self.groups)
            for slot, unit in enumerate(units)
            for device in unit.devices
        }
        self._of_thing = {
            home: (group, slot)
            for group, units in enumerate(self.groups)
            for slot, unit in enumerate(units)
            for home in unit.things
        }
        self._gauges = [device for device in self._program.devices if isinstance(device.part, Gauge)]
        self._always = self._always_on()
        self._locals = [{said for now in reached for said in self._local(now).values()} for reached in self._reached]

    # Which units there are

    def _candidates(self) -> Iterator[list[Unit]]:
        """Cells of one sensor that pistons hear, in groups of which each could be a shifted copy of the others."""
        found: dict[object, list[Unit]] = {}
        for cell, part in self._cells.items():
            unit = self._unit(cell)
            if unit is not None:
                base = unit.pistons[0]
                wet = (self._motion.flow.place_of[each] for each in self._heard_by_water(cell) if self._wet)
                shape = [away(base, at) for at in (self._motion.home_of[cell], *unit.things, *wet)]
                found.setdefault((part.row, tuple(shape)), []).append(unit)
        yield from (units for units in found.values() if len(units) > 1)

    def _unit(self, cell: int) -> Unit | None:
        motion, program = self._motion, self._program
        pistons = []
        for reader in program.wiring.readers[cell]:
            if program.devices[reader.device].flows:
                continue
            home = motion.home_of.get(reader.device)
            if home is None or not program.devices[reader.device].strokes:
                return None
            pistons.append(home)
        things = list(pistons)
        for piston in pistons:
            step = motion.strokes.start_out(AT_HOME, piston)
            if not isinstance(step, Step):
                return None
            things += [home for home, _ in step.after.moving if home not in things]
        if not pistons or any(motion.drawing.things[home].is_cell for home in things):
            return None
        devices = [cell, *(motion.device_at[home] for home in things if home in motion.device_at)]
        if self._wet:
            devices += self._heard_by_water(cell)
        return Unit(tuple(devices), tuple(things), tuple(pistons))

    def _heard_by_water(self, cell: int) -> list[int]:
        """The water that a cell updates as it changes."""
        readers = (reader.device for reader in self._program.wiring.readers[cell])
        return sorted({device for device in readers if self._program.devices[device].flows})

    def _told_of(self, units: Iterable[Unit]) -> set[int]:
        """The devices whose levels tell of some units: their own, and those that say where what they move is."""
        blocks = (device for unit in units for device in self._motion.block_devices(unit.things))
        return {*(device for unit in units for device in unit.devices), *blocks}

    def _flowing(self, unit: Unit) -> bool:
        return any(self._program.devices[device].flows for device in unit.devices)

    @property
    def tell_apart(self) -> frozenset[int]:
        """The cells of no unit that update water of one: as they change, units are no longer alike."""
        own = {device for water in self._waters for device in water.own}
        others = (cell for cell in self._cells if cell not in self.slot_of)
        return frozenset(cell for cell in others if not own.isdisjoint(self._heard_by_water(cell)))

    # States

    def turned(
        self, states: Sequence[State], besides: Mapping[int, int] = NOTHING
    ) -> tuple[list[State], tuple[Turn, ...], tuple[Classes, ...]]:
        """States that may all be so, with the units of all in one order that stands for all orders.

        `besides` is what else there is to know of devices, which a state does not say.
        """
        turns, classes = [], []
        said = [self._said(state, besides) for state in states]
        for group, units in enumerate(self.groups):
            keys = [tuple(each[group][slot] for each in said) for slot in range(len(units))]
            ranked = tuple(sorted(range(len(units)), key=keys.__getitem__))
            turns.append(ranked)
            first: dict[object, int] = {}
            classes.append(tuple(first.setdefault(keys[slot], place) for place, slot in enumerate(ranked)))
        if any(turn != tuple(range(len(turn))) for turn in turns):
            states = [self._moved(state, turns) for state in states]
        return list(states), tuple(turns), tuple(classes)

    def alike(self, state: State, besides: Mapping[int, int] = NOTHING) -> Iterator[tuple[int, ...]]:
        """The cells that are one as good as another in a state, class by class."""
        for units, said in zip(self.groups, self._said(state, besides), strict=True):
            found: dict[object, list[int]] = {}
            for unit, key in zip(units, said, strict=True):
                found.setdefault(key, []).append(unit.devices[0])
            yield from map(tuple, found.values())

    def _said(self, state: State, besides: Mapping[int, int]) -> list[list[object]]:
        """What a state says of each unit, group by group."""
        configuration = state.configuration
        assert configuration is not None
        self._check(configuration)
        for water in self._waters:
            water.check(state)
        waits: dict[int, list[tuple[int, ...]]] = {}
        for to_go, order_class, devices in state.waits:
            for place, device in enumerate(devices):
                if device in self.slot_of:
                    waits.setdefault(device, []).append((to_go, order_class, place))
        local = self._local(configuration)
        if any(said not in self._locals[group] for (group, _), said in local.items()):
            raise NotAlike
        return [
            [
                (
                    local.get((group, slot), ()),
                    *(
                        (
                            state.levels[device],
                            state.device_state[device],
                            tuple(waits.get(device, ())),
                            besides.get(device, 0),
                        )
                        for device in unit.devices
                    ),
                )
                for slot, unit in enumerate(units)
            ]
            for group, units in enumerate(self.groups)
        ]

    def _local(self, configuration: Configuration) -> dict[tuple[int, int], Local]:
        """What a configuration says of each unit of which anything is not as drawn. Raises NotAlike."""
        found: dict[tuple[int, int], list[tuple[object, ...]]] = {}
        for home, phase in configuration.phases:
            if home in self._of_thing:
                group, slot = self._of_thing[home]
                unit = self.groups[group][slot]
                found.setdefault((group, slot), []).append((0, unit.things.index(home), int(phase)))
        for home, place in configuration.places:
            if home in self._of_thing:
                group, slot = self._of_thing[home]
                unit = self.groups[group][slot]
                number = unit.things.index(home)
                found.setdefault((group, slot), []).append((1, number, *away(unit.pistons[0], place)))
        for home, stroke in configuration.moving:
            if home in self._of_thing:
                group, slot = self._of_thing[home]
                unit = self.groups[group][slot]
                if self._of_thing.get(stroke.piston) != (group, slot):
                    raise NotAlike
                number, by = unit.things.index(home), unit.things.index(stroke.piston)
                found.setdefault((group, slot), []).append((2, number, by, stroke.out))
            elif stroke.piston in self._of_thing:
                raise NotAlike
        return {key: tuple(sorted(said)) for key, said in found.items()}

    def _moved(self, state: State, turns: Sequence[Turn]) -> State:
        """A state with units exchanged: into each slot comes the unit of the slot that a turn names for it."""
        to_device: dict[int, int] = {}
        to_thing: dict[At, tuple[Unit, Unit, int]] = {}
        for units, turn in zip(self.groups, turns, strict=True):
            for slot, source in enumerate(turn):
                old, new = units[source], units[slot]
                to_device.update(zip(old.devices, new.devices, strict=True))
                to_thing.update({home: (old, new, place) for place, home in enumerate(old.things)})
        levels, kept = bytearray(state.levels), bytearray(state.device_state)
        for device, to in to_device.items():
            levels[to], kept[to] = state.levels[device], state.device_state[device]
        configuration = _configuration_moved(state.configuration, to_thing)
        self._check(configuration)
        standing = self._motion.standing(configuration)
        readings = bytearray(standing.wiring.readings(levels))
        for gauge in self._gauges:
            levels[gauge.index] = readings[gauge.ports[0]]
        waits = tuple(
            (to_go, order_class, tuple(to_device.get(device, device) for device in devices))
            for to_go, order_class, devices in state.waits
        )
        descents = tuple((to_device.get(device, device), descent) for device, descent in state.ties.descents)
        ties = state.ties._replace(descents=descents)
        return State(bytes(levels), bytes(kept), waits, state.offs, ties, bytes(readings), configuration)

    def _check(self, configuration: Configuration) -> None:
        """Checks that what is displaced changes the wiring as each unit, and all else, does alone. Raises NotAlike."""
        if configuration in self._together:
            return
        self._together.add(configuration)
        parts: dict[object, Configuration] = {}
        displaced = _displaced(configuration)
        for name in {self._of_thing.get(home) for home in displaced}:
            parts[name] = _only(configuration, {home for home in displaced if self._of_thing.get(home) == name})
        if len(parts) < 2:
            return
        whole = _changed(self._motion, configuration)
        alone = [_changed(self._motion, part) for part in parts.values()]
        home = self._motion.wirings.home.home
        changed_by_any = {*whole, *(each for changed in alone for each in changed)}
        for device in changed_by_any.intersection(self._program.number):
            mine = [changed[device] for changed in alone if device in changed]
            if device in self._always or not self._adds_up(home[device], mine, whole.get(device, home[device])):
                raise NotAlike

    def _always_on(self) -> frozenset[str]:
        """The torches that strokes of units bring into play and that nothing drives: they are always on."""
        home, program = self._motion.wirings.home.home, self._program
        brought = {program.names[device] for units in self.groups for unit in units for device in unit.devices}
        return frozenset(
            name
            for name in brought
            if program.devices[program.number[name]].part.burns_out and not any(each for _, each in home[name].ports)
        )

    def _adds_up(self, home: Inputs, alone: Sequence[Inputs], whole: Inputs) -> bool:
        """Whether what a device reads is what it reads at home, with what each part of what is displaced changes."""
        places = {each.place for each in alone if each.place != home.place} or {home.place}
        straight = {each.straight for each in alone if each.straight != home.straight} or {home.straight}
        if {whole.place} != places or {whole.straight} != straight:
            return False
        if whole.place is None:
            return True
        ports = dict(home.ports)
        standing = [each for each in alone if each.place is not None]
        for port, drivers in whole.ports:
            together = _summed(ports.get(port, ()), [dict(each.ports).get(port, ()) for each in standing])
            if self._that_count(together) != self._that_count(drivers):
                return False
        hears = _summed(home.hears, [each.hears for each in standing])
        return set(map(self._that_count, hears)) == set(map(self._that_count, whole.hears))

    def _that_count(self, drivers: Iterable[tuple[str, int]]) -> frozenset[tuple[str, int]]:
        """The drivers of a port but for those that can't show, as one that is always on gives no less there."""
        found = set(drivers)
        least = min((loss for name, loss in found if name in self._always), default=None)
        if least is None:
            return frozenset(found)
        return frozenset(each for each in found if each[1] < least or (each[1] == least and each[0] in self._always))


def _displaced(configuration: Configuration) -> set[At]:
    return {home for home, _ in (*configuration.phases, *configuration.places, *configuration.moving)}


def _only(configuration: Configuration, homes: set[At]) -> Configuration:
    """A configuration with all but some things as drawn."""
    return Configuration(
        tuple(each for each in configuration.phases if each[0] in homes),
        tuple(each for each in configuration.places if each[0] in homes),
        tuple(each for each in configuration.moving if each[0] in homes),
    )


def _changed(motion: Motion, configuration: Configuration) -> Mapping[str, Inputs]:
    wiring = motion.wirings.wiring(configuration)
    if isinstance(wiring, TooMany):
        raise NotAlike
    return wiring.changed


def _summed(home: Sequence[Held], alone: Sequence[Sequence[Held]]) -> set[Held]:
    """What some things change of a whole, each on its own, put together."""
    usual = set(home)
    gone = {each for one in alone for each in usual.difference(one)}
    return {each for one in (home, *alone) for each in one} - gone


Moved = Mapping[At, tuple[Unit, Unit, int]]


def _configuration_moved(configuration: Configuration | None, to: Moved) -> Configuration:
    """A configuration with units exchanged: each thing of a unit becomes that of another, shifted."""
    assert configuration is not None

    def home_of(home: At) -> At:
        return to[home][1].things[to[home][2]] if home in to else home

    def shifted(home: At, place: At) -> At:
        if home not in to:
            return place
        source, target, _ = to[home]
        by = away(source.pistons[0], target.pistons[0])
        return (place[0] + by[0], place[1] + by[1], place[2] + by[2])

    return Configuration(
        tuple(sorted((home_of(home), phase) for home, phase in configuration.phases)),
        tuple(sorted((home_of(home), shifted(home, place)) for home, place in configuration.places)),
        tuple(
            sorted((home_of(home), Stroke(home_of(stroke.piston), stroke.out)) for home, stroke in configuration.moving)
        ),
    )
