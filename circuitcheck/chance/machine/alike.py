"""Whether units of a machine in which things move are shifted copies of each other: all that their strokes do alone.

From everything as drawn, every order of starts and landings of the pistons of one unit is followed, and the same steps
of every other unit beside it. What is compared is said in `machine.exchange`.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from circuitcheck.engine.gauge import Gauge
from circuitcheck.engine.motion import Motion
from circuitcheck.engine.program import Program
from circuitcheck.model.directions import At
from circuitcheck.model.parts.base import Part
from circuitcheck.space.configuration import AT_HOME, Configuration, Phase, Stroke
from circuitcheck.space.strokes import Step
from circuitcheck.space.wirings import Drivers, Inputs, TooMany, Wiring

MOST_LOCAL = 24
"""How many configurations the strokes of one unit alone may lead to."""


class NotAlike(Exception):
    """Units that seemed to be alike are not, or strokes together do what none of them does alone."""


class Unit(NamedTuple):
    """One cell with what belongs to it; all in an order that is the same in each unit of its group."""

    devices: tuple[int, ...]
    """The cell first."""
    things: tuple[At, ...]
    """The pistons, and what they move, by their homes."""
    pistons: tuple[At, ...]

    def thing(self, home: At) -> int | None:
        """The number of a thing in the unit; None if it is of no part of it."""
        return self.things.index(home) if home in self.things else None


class Shift:
    """One unit put in place of another: what becomes of names, things and places."""

    def __init__(self, program: Program, one: Unit, other: Unit) -> None:
        names = program.names
        self.one, self.other = one, other
        self.names = {names[mine]: names[its] for mine, its in zip(one.devices, other.devices, strict=True)}
        self.things = dict(zip(one.things, other.things, strict=True))
        self.by = away(one.pistons[0], other.pistons[0])

    def name(self, name: str) -> str:
        return self.names.get(name, name)

    def place(self, at: At) -> At:
        return (at[0] + self.by[0], at[1] + self.by[1], at[2] + self.by[2])

    def configuration(self, now: Configuration) -> Configuration:
        """A configuration in which only things of the one unit are not as drawn."""
        return Configuration(
            tuple(sorted((self.things[home], phase) for home, phase in now.phases)),
            tuple(sorted((self.things[home], self.place(place)) for home, place in now.places)),
            tuple(sorted((self.things[home], Stroke(self.things[by.piston], by.out)) for home, by in now.moving)),
        )


def away(base: At, at: At) -> At:
    """How far a place is from another."""
    return (at[0] - base[0], at[1] - base[1], at[2] - base[2])


class Comparison:
    """Compares the units of one would-be group. Raises NotAlike."""

    def __init__(self, program: Program, units: Sequence[Unit], wet: bool = True) -> None:
        """Without `wet`, of the machine without its water."""
        assert program.motion is not None
        self._program = program
        self._water = frozenset(device.part.name for device in program.devices if device.flows)
        """What is compared apart, or left out."""
        self._left_out = frozenset[str]() if wet else self._water
        self._motion: Motion = program.motion
        self._units = units
        self._shifts = [Shift(program, units[0], unit) for unit in units[1:]]

    def checked(self) -> tuple[tuple[Unit, ...], list[Configuration]]:
        """The units with the devices that their strokes bring into play, and all that the first one's lead to."""
        for shift in self._shifts:
            for one, other in zip(shift.one.devices[1:], shift.other.devices[1:], strict=True):
                self._require(self._parts_alike(one, other))
        reached = self._reached()
        brought = [[name for name in shift.names if name not in self._own_names()] for shift in self._shifts]
        self._require(all(each == brought[0] for each in brought))
        number = self._program.number
        first = self._units[0]._replace(devices=(*self._units[0].devices, *(number[name] for name in brought[0])))
        units = [first]
        for shift in self._shifts:
            more = (number[shift.names[name]] for name in brought[0])
            units.append(shift.other._replace(devices=(*shift.other.devices, *more)))
        devices = [device for unit in units for device in unit.devices]
        self._require(len(set(devices)) == len(devices))
        self._nobody_else_tells_them_apart()
        self._keep_apart(reached)
        return tuple(units), reached

    def _own_names(self) -> set[str]:
        return {self._program.names[device] for device in self._units[0].devices}

    @staticmethod
    def _require(so: bool) -> None:
        if not so:
            raise NotAlike

    def _parts_alike(self, one: int, other: int) -> bool:
        """Whether two devices are the same but for their names and what they are wired to."""
        first, second = self._program.devices[one].part, self._program.devices[other].part
        return type(first) is type(second) and first.said == second.said

    # Steps

    def _reached(self) -> list[Configuration]:
        """Follows every order of starts and landings, of all units side by side."""
        found = [AT_HOME]
        queue = deque([(AT_HOME, [AT_HOME] * len(self._shifts))])
        self._same_wiring(AT_HOME, [AT_HOME] * len(self._shifts))
        while queue:
            now, others = queue.popleft()
            for after, its in self._steps(now, others):
                if after not in found:
                    self._require(len(found) < MOST_LOCAL)
                    found.append(after)
                    queue.append((after, its))
                    self._same_wiring(after, its)
        return found

    def _steps(
        self, now: Configuration, others: Sequence[Configuration]
    ) -> Iterator[tuple[Configuration, list[Configuration]]]:
        strokes = self._motion.strokes
        for place, piston in enumerate(self._units[0].pistons):
            if now.phase(piston) is Phase.HOME:
                kinds = [strokes.start_out]
            elif now.phase(piston) in (Phase.GOING_OUT, Phase.OUT):
                kinds = [strokes.start_home]
            else:
                kinds = []
            for start in kinds:
                mine = start(now, piston)
                its = [
                    start(other, shift.other.pistons[place]) for other, shift in zip(others, self._shifts, strict=True)
                ]
                yield from self._same_step(mine, its)
        for stroke in now.under_way:
            mine = strokes.land(now, stroke)
            its = [
                strokes.land(other, Stroke(shift.things[stroke.piston], stroke.out))
                for other, shift in zip(others, self._shifts, strict=True)
            ]
            yield from self._same_step(mine, its)

    def _same_step(self, mine: object, others: Sequence[object]) -> Iterator[tuple[Configuration, list[Configuration]]]:
        if not isinstance(mine, Step):
            self._require(all(type(other) is type(mine) for other in others))
            return
        found = []
        for other, shift in zip(others, self._shifts, strict=True):
            self._require(isinstance(other, Step))
            assert isinstance(other, Step)
            self._require({home for home, _ in mine.after.moving} <= set(shift.things))
            self._require(other.after == shift.configuration(mine.after))
            self._require(other.tells == tuple(map(shift.place, mine.tells)))
            self._require(other.felt == tuple(map(shift.place, mine.felt)))
            self._require(other.landed == tuple(shift.things[home] for home in mine.landed))
            self._require(not mine.water and not other.water)
            self._require(self._told(other) == [{*map(shift.name, names)} for names in self._told(mine)])
            found.append(other.after)
        yield mine.after, found

    def _told(self, step: Step) -> list[set[str]]:
        """Whom a step tells: detectors that watch, and of those around its places all that can start or flow."""
        wirings, program = self._motion.wirings, self._program
        told = [{*wirings.watching(step.after, step.felt)}]
        for names in wirings.told(step.after, step.tells):
            devices = (program.devices[program.number[name]] for name in names)
            told.append({device.part.name for device in devices if device.strokes or device.flows} - self._left_out)
        return told

    # Wiring

    def _same_wiring(self, now: Configuration, others: Sequence[Configuration]) -> None:
        mine = self._wiring(now)
        for other, shift in zip(others, self._shifts, strict=True):
            its = self._wiring(other)
            back = {its_name: name for name, its_name in shift.names.items()}
            names = {*mine.changed, *shift.names, *(back.get(name, name) for name in its.changed)}
            for name in sorted(names - self._water):
                self._same_inputs(shift, name, mine.of(name), its.of(shift.name(name)))

    def _wiring(self, now: Configuration) -> Wiring:
        wiring = self._motion.wirings.wiring(now)
        if isinstance(wiring, TooMany):
            raise NotAlike
        return wiring

    def _same_inputs(self, shift: Shift, name: str, mine: Inputs, its: Inputs) -> None:
        place = mine.place if mine.place is None or name not in shift.names else shift.place(mine.place)
        self._require(place == its.place and mine.straight is its.straight)
        self._require([port for port, _ in mine.ports] == [port for port, _ in its.ports])
        for (port, drivers), (_, others) in zip(mine.ports, its.ports, strict=True):
            self._same_drivers(shift, drivers, others, self._feels_only_power(name, port))
        self._same_heard(shift, mine.hears, its.hears)

    def _same_heard(self, shift: Shift, mine: Sequence[Drivers], its: Sequence[Drivers]) -> None:
        """Hearing one source several times comes to the same as hearing it once."""
        for drivers in mine:
            self._require(
                any(self._are_same(shift, drivers, others, False) for others in its)
                or any(self._bring(shift, drivers, others) for others in its)
            )
        self._require(all(any(self._are_same(shift, drivers, others, False) for drivers in mine) for others in its))

    def _same_drivers(self, shift: Shift, mine: Drivers, its: Drivers, only_power: bool) -> None:
        if not self._are_same(shift, mine, its, only_power):
            self._require(self._bring(shift, mine, its) and self._are_same(shift, mine, its, only_power))

    def _are_same(self, shift: Shift, mine: Drivers, its: Drivers, only_power: bool) -> bool:
        """Whether two ports are fed alike; losses count but where they make no difference."""
        moved = sorted((shift.name(name), loss) for name, loss in mine)
        if moved == sorted(its):
            return True
        if [name for name, _ in moved] != sorted(name for name, _ in its):
            return False
        return only_power or (len(mine) == 1 and not self._part(mine[0][0]).graded)

    def _bring(self, shift: Shift, mine: Drivers, its: Drivers) -> bool:
        """Takes what drives a port of the one, and its shifted copy that drives that of the other, into the units."""
        theirs = {name for name, _ in its}
        unknown = [name for name, _ in mine if shift.name(name) not in theirs]
        for name in unknown:
            at = self._motion.home_of.get(self._program.number[name])
            copy = None if at is None or name in shift.names else self._motion.device_at.get(shift.place(at))
            if copy is None or self._program.names[copy] not in theirs:
                return False
            if not self._parts_alike(self._program.number[name], copy):
                return False
            shift.names[name] = self._program.names[copy]
            home = self._motion.wirings.home.home
            self._same_inputs(shift, name, home[name], home[shift.names[name]])
        return bool(unknown)

    def _part(self, name: str) -> Part:
        return self._program.devices[self._program.number[name]].part

    def _feels_only_power(self, name: str, port: str) -> bool:
        device = self._program.devices[self._program.number[name]]
        if isinstance(device.part, Gauge):
            return True
        ports = (self._program.wiring.ports[number] for number in device.ports)
        boolean = any(each.name == port and each.boolean and not each.watches for each in ports)
        return boolean and not device.strokes and not device.flows

    def _nobody_else_tells_them_apart(self) -> None:
        """Whether all that is of no unit reads at home one unit as it reads any other."""
        home = self._motion.wirings.home.home
        for shift in self._shifts:
            both = Shift(self._program, shift.one, shift.other)
            both.names = {**shift.names, **{its: name for name, its in shift.names.items()}}
            for name, inputs in home.items():
                if name in both.names or name in self._water:
                    continue
                for port, drivers in inputs.ports:
                    self._require(self._are_same(both, drivers, drivers, self._feels_only_power(name, port)))
                for drivers in inputs.hears:
                    self._require(any(self._are_same(both, drivers, others, False) for others in inputs.hears))

    def _keep_apart(self, reached: Sequence[Configuration]) -> None:
        """Whether no place that the strokes of one unit take is one of another's."""
        first, strokes = self._units[0], self._motion.strokes
        taken = {*first.things, *(place for now in reached for _, place in now.places)}
        taken |= {strokes.facing(piston).from_(piston) for piston in first.pistons}
        places = [taken, *({shift.place(at) for at in taken} for shift in self._shifts)]
        self._require(len(set().union(*places)) == len(taken) * len(places))
