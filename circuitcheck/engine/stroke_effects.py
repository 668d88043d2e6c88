"""What the strokes of one moment bring about: who moves, reads otherwise, or is updated by which of them.

Who reads otherwise is found by reading, not by distance: a device is read as things stand, noting the places at which
a stroke would change an answer that was given on the way. A stroke that changes none can't matter to it; with one that
does, it is read once more, and so on until no further stroke comes in. So what is found holds whichever of the strokes
have been made.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from circuitcheck.engine import work
from circuitcheck.engine.gauge import GaugeDevice
from circuitcheck.engine.motion import Motion
from circuitcheck.model.drawing import At, Thing
from circuitcheck.space.configuration import Configuration, Phase
from circuitcheck.space.occupied import head_of
from circuitcheck.space.room import MayStand, neighbours
from circuitcheck.space.scene import displacement
from circuitcheck.space.strokes import Step
from circuitcheck.space.wirings import Inputs

MOST_TOGETHER = 7
"""How many strokes may change what one device reads before all are taken to collide."""


class Act(NamedTuple):
    """What a piston is to do at its turn."""

    piston: int
    step: Step | None
    """None if nothing: it is blocked, or not called for any more."""


@dataclass(frozen=True)
class Effects:
    """What the acts of one moment bring about, each by its piston."""

    affected: Mapping[int, frozenset[int]]
    """Whom each may change or update."""
    changed: frozenset[int]
    """Those of them who are not only updated: what they read, or depend on, may be otherwise."""
    read: Mapping[int, Mapping[frozenset[int], Inputs]]
    """Of each that may come to read otherwise, what it reads when some of the acts have been done."""
    shifting: frozenset[int]
    """The devices whose own levels the acts may change."""
    ears: frozenset[int]
    """The pistons and the places of water near by, which may be updated by what they hear (rules W10, Z8)."""
    heard: Callable[[int], frozenset[int]]
    """The acts by which one of them may be updated so."""
    context: Callable[[frozenset[int]], Configuration]
    """The configuration in which some of the acts have been done."""

    def behind(self, made: frozenset[int]) -> Effects:
        """What the other acts may bring about where these have been done: no less than they do."""
        return Effects(
            affected={act: devices for act, devices in self.affected.items() if act not in made},
            changed=self.changed,
            read={device: _behind(made, reads) for device, reads in self.read.items()},
            shifting=self.shifting,
            ears=self.ears,
            heard=lambda device: self.heard(device) - made,
            context=lambda more: self.context(made | more),
        )


class Bringing:
    """What some acts bring about in a configuration."""

    def __init__(self, motion: Motion, now: Configuration, acts: tuple[Act, ...]) -> None:
        self._motion, self._now = motion, now
        self._steps = {act.piston: act.step for act in acts}
        self._number = motion.numbers
        self._footprints = {each: motion.strokes.footprint(now, motion.home_of[each]) for each in self._steps}
        self._moves = {each: self._moved(each) for each in self._steps}
        """The places that stand otherwise in a drawing after each."""
        may_stand: dict[At, tuple[Thing | None, ...]] = {}
        for piston, step in self._steps.items():
            if step is not None:
                may_stand |= self._things(self._moves[piston], step.after)
        self._may_stand = MayStand(may_stand)
        """What may stand at those places: what does now, and what will."""
        self._contexts: dict[frozenset[int], Configuration] = {frozenset(): now}
        self._tables: dict[int, Mapping[frozenset[int], Inputs]] = {}
        self._shifting: dict[int, set[int]] = {}
        """The devices whose own levels the acts may change, each with these acts."""
        self._heard: dict[int, frozenset[int]] = {}
        self._readers: dict[int, set[int]] = {}
        """Who may read a device, in any context that was read."""

    def effects(self) -> Effects | None:
        """What they bring about; None where one may change what another one does."""
        if any(not a.isdisjoint(b) for a, b in itertools.combinations(self._footprints.values(), 2)):
            return None
        reading = self._reading_otherwise()
        if reading is None or any(reading.get(piston, frozenset()) - {piston} for piston in self._steps):
            return None
        for device, footprint in self._could_start():
            others = frozenset(each for each in self._steps if not self._footprints[each].isdisjoint(footprint))
            reading[device] = reading.get(device, frozenset()) | others
        affected = {piston: {device for device, by in reading.items() if piston in by} for piston in self._steps}
        changed = set(reading)
        for piston in self._steps:
            fed = self._fed(piston, affected[piston])
            carried = set(self._carried(piston))
            changed |= fed | carried
            affected[piston] |= fed | carried | set(self._told(piston))
        for piston, devices in affected.items():
            for shifted in self._shifted(piston, devices):
                self._shifting.setdefault(shifted, set()).add(piston)
        found = {each: frozenset(devices) for each, devices in affected.items()}
        heard, ears = self._hearing, self._ears()
        return Effects(found, frozenset(changed), self._tables, frozenset(self._shifting), ears, heard, self._context)

    # What stands otherwise

    def _moved(self, piston: int) -> frozenset[At]:
        step, drawing = self._steps[piston], self._motion.drawing
        if step is None:
            return frozenset()
        before, after = displacement(drawing, self._now), displacement(drawing, step.after)
        return frozenset(place for each in before ^ after for place in each.changes)

    def _context(self, made: frozenset[int]) -> Configuration:
        """The configuration in which some of the acts have been done."""
        known = self._contexts.get(made)
        if known is None:
            known = self._now
            for piston in sorted(made):
                step = self._steps[piston]
                assert step is not None
                known = _with(known, self._now, step.after)
            self._contexts[made] = known
        return known

    def _reading_otherwise(self) -> dict[int, frozenset[int]] | None:
        """Of each device that may come to read otherwise, the acts that can bring that about; None past the bound."""
        found: dict[int, frozenset[int]] = {}
        for device, place in self._near.items():
            if not self._motion.device(device).flows:
                known, by = self._changing(device, place, hearing=False)
                if by is None:
                    return None
                if by:
                    found[device], self._tables[device] = by, known
        return found

    @cached_property
    def _near(self) -> dict[int, At]:
        """The devices that may come to read otherwise, and where they stand now."""
        moved = frozenset().union(*self._moves.values())
        near = self._motion.wirings.near(self._now, moved) if moved else frozenset()
        places = {device: self._now.place(home) for device, home in self._motion.home_of.items()}
        everywhere = {**places, **self._motion.flow.place_of}
        return {device: at for device, at in everywhere.items() if at in near and not self._is_no_matter(device)}

    def _ears(self) -> frozenset[int]:
        devices = ((device, self._motion.device(device)) for device in self._near)
        return frozenset(device for device, behaves in devices if behaves.strokes or behaves.flows)

    def _hearing(self, device: int) -> frozenset[int]:
        """The acts by which what a piston or a place of water hears is otherwise; all past the bound."""
        known = self._heard.get(device)
        if known is None:
            tables, by = self._changing(device, self._near[device], hearing=True)
            heard = {self._number.get(name, -1) for each in tables.values() for on in each.hears for name, _ in on}
            shifts = frozenset().union(*(self._shifting.get(number, ()) for number in heard))
            known = self._heard[device] = frozenset(self._steps) if by is None else by | shifts
        return known

    def _shifted(self, piston: int, affected: Iterable[int]) -> Iterator[int]:
        """The devices whose own levels an act may change, those that change at once with others among them."""
        yield piston
        yield from self._motion.block_devices(self._carried_homes(piston))
        yield from (self._motion.flow.device_at[at] for at in self._taken(piston))
        yield from (each for each in affected if self._motion.device(each).zero_delay)

    def _things(self, moved: frozenset[At], after: Configuration) -> Iterator[tuple[At, tuple[Thing | None, ...]]]:
        """What stands at some places, now or later."""
        standings = [self._motion.wirings.standing(each).things for each in (self._now, after)]
        return ((place, tuple(things.get(place) for things in standings)) for place in moved)

    def _is_no_matter(self, device: int) -> bool:
        """Whether nothing comes of what a device does: it shows power to people, or is water that nobody feels."""
        return device in self._motion.unfelt or isinstance(self._motion.device(device), GaugeDevice)

    def _changing(
        self, device: int, place: At, hearing: bool
    ) -> tuple[Mapping[frozenset[int], Inputs], frozenset[int] | None]:
        """What a device reads when some of the acts have been done, with what it hears if that is asked for; and the
        acts that change it, in whatever order they are done, None past the bound."""
        name = self._motion.names[device]
        known, group, noted = dict[frozenset[int], Inputs](), frozenset[int](), frozenset[At]()
        while True:
            for made in _parts_of(group):
                if made not in known:
                    known[made], seen = self._read(made, name, place, hearing)
                    noted |= seen
            grown = group | {each for each in self._steps if not self._moves[each].isdisjoint(noted)}
            if grown == group:
                break
            if len(grown) > MOST_TOGETHER:
                return known, None
            group = grown
        for inputs in known.values():
            for driver, _ in itertools.chain(*(drivers for _, drivers in inputs.ports)):
                if driver in self._number:
                    self._readers.setdefault(self._number[driver], set()).add(device)
        return known, frozenset(
            each for each in group if any(known[made] != known[made - {each}] for made in known if each in made)
        )

    def _read(self, made: frozenset[int], name: str, place: At, hearing: bool) -> tuple[Inputs, frozenset[At]]:
        """What a device reads where some acts have been done; in motion or elsewhere, nothing."""
        work.count(work.WIRING)
        wirings, now = self._motion.wirings, self._context(made)
        for found, inputs, seen in wirings.looked_at(now, place, self._may_stand, hearing):
            if found == name:
                return inputs, seen
        return Inputs(None), frozenset({place})

    # Who else is concerned

    def _could_start(self) -> Iterator[tuple[int, frozenset[At]]]:
        """The other pistons that are home, each with the places that decide whether it can start (rule M7)."""
        for number, home in self._motion.home_of.items():
            at_home = self._now.phase(home) is Phase.HOME and self._now.stroke_of(home) is None
            if self._motion.device(number).strokes and number not in self._steps and at_home:
                yield number, self._motion.strokes.footprint(self._now, home)

    def _fed(self, piston: int, affected: Iterable[int]) -> set[int]:
        """Who reads what a stroke changes the level of: its piston, what stands for its blocks, what it lights."""
        changing = {piston, *self._motion.block_devices(self._carried_homes(piston))}
        changing |= {each for each in affected if self._motion.device(each).zero_delay}
        readers = self._motion.standing(self._now).wiring.readers
        taken = (self._motion.flow.device_at[at] for at in self._taken(piston))
        found = {each.device for water in taken for each in readers[water] if self._motion.watches(each.device)}
        queue = list(changing)
        while queue:
            device = queue.pop()
            for reader in {each.device for each in readers[device]} | self._readers.get(device, set()):
                if reader not in found and not self._is_no_matter(reader):
                    found.add(reader)
                    if self._motion.device(reader).zero_delay:
                        queue.append(reader)
        return found

    def _carried_homes(self, piston: int) -> list[At]:
        """The things that a stroke sets in motion, or that land by it."""
        step = self._steps[piston]
        if step is None:
            return []
        lifted = {home for home, _ in step.after.moving} - {home for home, _ in self._now.moving}
        return sorted(lifted | set(step.landed))

    def _carried(self, piston: int) -> Iterator[int]:
        at = self._motion.device_at
        return (at[home] for home in self._carried_homes(piston) if home in at)

    def _told(self, piston: int) -> Iterator[int]:
        """Who gets an update from a stroke itself: pistons, water, and detectors that watch (rules M5, M10, Z8)."""
        step, motion = self._steps[piston], self._motion
        if step is None:
            return
        taken = self._taken(piston)
        near = {beside for place in (*step.tells, *step.felt, *taken) for _, beside in neighbours(place)}
        near |= {*step.tells, *step.felt, *taken}
        yield from (
            device for at, device in motion.flow.device_at.items() if at in near and device not in motion.unfelt
        )
        for number, home in motion.home_of.items():
            device = motion.device(number)
            if device.strokes or motion.watches(number):
                stands = {self._now.place(home), *(self._moves_to(home))}
                if device.strokes:
                    stands |= {head_of(motion.drawing, self._now, home)}
                if not stands.isdisjoint(near):
                    yield number

    def _taken(self, piston: int) -> frozenset[At]:
        """Where a stroke may take water away."""
        return self._footprints[piston] & self._motion.flow.device_at.keys()

    def _moves_to(self, home: At) -> Iterator[At]:
        return (step.after.place(home) for step in self._steps.values() if step is not None)


def _with(known: Configuration, before: Configuration, after: Configuration) -> Configuration:
    """A configuration with what one act does to it, told by what that does to another one."""
    phases = {home for home, _ in (*before.phases, *after.phases)}
    places = {home for home, _ in (*before.places, *after.places)}
    moving = {home for home, _ in (*before.moving, *after.moving)}
    return known.but(
        {home: after.phase(home) for home in phases if after.phase(home) != before.phase(home)},
        {home: after.place(home) for home in places if after.place(home) != before.place(home)},
        {home: after.stroke_of(home) for home in moving if after.stroke_of(home) != before.stroke_of(home)},
    )


def _behind(made: frozenset[int], reads: Mapping[frozenset[int], Inputs]) -> Mapping[frozenset[int], Inputs]:
    """What a device reads when some of the other acts have been done as well."""
    said = made.intersection(frozenset().union(*reads))
    return {part - said: inputs for part, inputs in reads.items() if said <= part}


def _parts_of(group: frozenset[int]) -> list[frozenset[int]]:
    """All parts of a set, the smallest first."""
    found = (itertools.combinations(sorted(group), size) for size in range(len(group) + 1))
    return [frozenset(each) for each in itertools.chain.from_iterable(found)]
