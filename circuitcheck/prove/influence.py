"""What can have a say in some parts of a circuit whose pistons move what it is wired through, and what can't.

What does not have a say is left out of a proof, as it is for circuits in which nothing moves. There a part depends on
what feeds it. Here it also depends

* on each piston whose strokes can change a place that is looked at when it is read what feeds the part;
* if it is a piston, a detector or water, on each piston whose strokes update it (rules M5, M10), or whose row meets its
  own (rules M7, M13);
* if it can be moved, on each piston that can move it; and water, on what can hold it back and on all other water.

Water that nobody feels (`space.unfelt`) has a say in other water alone: what else it updates takes no notice.

Which places strokes can change is taken from the drawing, whatever calls the pistons and whenever, so it is never less
than what can happen. What feeds a part, and which places that depends on, is read in each configuration that a proof
comes to: if what was left out has a say there, this is learned and the proof begins again (`Widened`). Strokes and
water that may break something (rules M8, Z7) are never left out, since nothing is known of what follows.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TypeVar

from circuitcheck.engine.motion import Motion
from circuitcheck.engine.program import Program
from circuitcheck.model.block_type import Pushed
from circuitcheck.model.drawing import BELOW, At, Thing
from circuitcheck.space import wirings as space
from circuitcheck.space.configuration import AT_HOME, Configuration
from circuitcheck.space.occupied import holder
from circuitcheck.space.room import MayStand, neighbours
from circuitcheck.space.scene import HEAD, displacement
from circuitcheck.space.water import beside_water, freed_by_each

Result = TypeVar("Result")


class Widened(Exception):
    """What was left out of a proof turned out to have a say; the proof begins again with more."""


def until_wide_enough(run: Callable[[], Result]) -> Result:
    """Runs a proof, again and again until nothing that was left out has a say in it."""
    while True:
        try:
            return run()
        except Widened:
            continue


class Influence:
    """Who has a say in whom, in one program in which things move."""

    def __init__(self, program: Program) -> None:
        assert program.motion is not None
        self._program = program
        self._motion: Motion = program.motion
        drawing, rules = self._motion.drawing, self._motion.flow.rules
        freed = freed_by_each(drawing, rules)
        pistons = {number: home for number, home in self._motion.home_of.items() if drawing.things[home].pushes}
        self._changes = {number: frozenset(freed[home].changes | freed[home].comes) for number, home in pistons.items()}
        """The places that the strokes of each piston can change."""
        self._updates = {
            number: _around(self._changes[number] | freed[home].stands) for number, home in pistons.items()
        }
        """The places that they can update."""
        self._may_stand = self._what_may_stand()
        water = self._motion.flow.water.places
        self._near_water = beside_water(water, rules) if water else frozenset()
        self._known: dict[int, set[int]] = {}
        self._at_home: dict[int, frozenset[At]] = {}
        self._level_matters: dict[int, bool] = {}
        self._alone: dict[tuple[int, ...], Program] = {}
        self._risky = frozenset(self._mishaps())
        for stroke in self._motion.strokes.one_at_a_time():
            for now in (stroke.under_way, stroke.landed):
                self._learn_to_read(self._motion.wirings.wiring(now))

    def cone(self, devices: Iterable[int]) -> tuple[int, ...]:
        """These devices and all that can have a say in them."""
        found = dict.fromkeys((*devices, *self._risky))
        queue = list(found)
        for device in queue:
            for source in self._say_in(device):
                if source not in found:
                    found[source] = None
                    queue.append(source)
        return tuple(sorted(found))

    def alone(self, devices: Sequence[int]) -> Program:
        """The program of some devices in which nothing else has a say. Raises Widened, as it runs, if that is wrong.

        It is kept, since what strokes come to in it is found out once, and claims of one side are about the same.
        """
        known = self._alone.get(tuple(devices))
        if known is not None:
            return known
        part = self._alone[tuple(devices)] = Program.cut(self._program, devices, ())
        inside, seen = frozenset(devices), set[int]()
        assert part.motion is not None

        def look(now: Configuration) -> None:
            wiring = self._motion.wirings.wiring(now)
            if isinstance(wiring, space.Wiring) and id(wiring) not in seen:
                seen.add(id(wiring))
                self._look(inside, now, wiring)

        part.motion.look = look
        return part

    def level_matters(self, cell: int) -> bool:
        """Whether anyone may have to do with more of a cell than that it changes, as far as is known."""
        known = self._level_matters.get(cell)
        if known is None:
            known = self._level_matters[cell] = not self._program.only_felt(cell)
        return known

    def _look(self, inside: frozenset[int], now: Configuration, wiring: space.Wiring) -> None:
        """Learns who else has a say in a configuration. Raises Widened if there is anyone."""
        names, number = self._program.names, self._program.number
        learned = False
        for name, inputs in wiring.changed.items():
            if number.get(name) in inside:
                learned |= self._learn(number[name], self._fed_by(number[name], inputs) - inside)
                learned |= self._learn_of_cells(wiring.home[name], inputs)
        outside = {piston: places for piston, places in self._changes.items() if piston not in inside}
        differs = {at for each in displacement(self._motion.drawing, now) for at in each.changes}
        for device in inside:
            if not self._depends(device).isdisjoint(differs):  # else it is read as it is at home
                seen = self._motion.wirings.depends_on(now, names[device], self._may_stand)
                others = {piston for piston, places in outside.items() if not places.isdisjoint(seen)}
                learned |= self._learn(device, others)
        if learned:
            raise Widened

    def _learn_to_read(self, wiring: space.Wiring | space.TooMany) -> None:
        """Learns who feeds whom in one wiring."""
        if isinstance(wiring, space.Wiring):
            for name, inputs in wiring.changed.items():
                device = self._program.number.get(name)
                if device is not None:
                    self._learn(device, self._fed_by(device, inputs))

    def _learn(self, device: int, sources: set[int]) -> bool:
        self._say_in(device).update(sources)
        return bool(sources)

    def _learn_of_cells(self, home: space.Inputs, inputs: space.Inputs) -> bool:
        """Who begins to hear a cell, or to read it as power, may have to do with the level that it has by then."""
        learned = False
        for name in space.read_anew(home, inputs):
            cell = self._program.number.get(name)
            is_cell = cell is not None and self._program.devices[cell].part.cell is not None
            if cell is not None and is_cell and not self.level_matters(cell):
                self._level_matters[cell] = learned = True
        return learned

    def _say_in(self, device: int) -> set[int]:
        """All that is known to have a say in a device directly."""
        known = self._known.get(device)
        if known is None:
            known = self._known[device] = set(self._at_first(device))
        return known

    def _at_first(self, device: int) -> Iterator[int]:
        """All that has a say in a device as everything is drawn, and by what strokes can change."""
        program, motion = self._program, self._motion
        for port, owner in enumerate(program.wiring.port_device):
            if owner == device:
                yield from (source for source, _ in program.feeds[port] if self._is_felt_by(device, source))
        if program.devices[device].beside:
            yield device + program.devices[device].beside
        seen = self._depends(device)
        stands = self._stands(device)
        updated = _updated(program, device)
        for piston, changes in self._changes.items():
            moves = not stands.isdisjoint(changes)
            tells = updated and not stands.isdisjoint(self._updates[piston])
            if moves or tells or not seen.isdisjoint(changes):
                yield piston
        if device in motion.flow.place_of:
            yield from motion.flow.place_of
            yield from (piston for piston, changes in self._changes.items() if not changes.isdisjoint(self._near_water))

    def _is_felt_by(self, device: int, source: int) -> bool:
        """Whether a device may take notice of a change of what feeds or updates it."""
        motion = self._motion
        return source not in motion.unfelt or device in motion.flow.place_of

    def _depends(self, device: int) -> frozenset[At]:
        """The places that what a device reads at home depends on, of those that strokes can change."""
        known = self._at_home.get(device)
        if known is None:
            motion, name = self._motion, self._program.names[device]
            placed = device in motion.home_of or device in motion.flow.place_of
            known = motion.wirings.depends_on(AT_HOME, name, self._may_stand) if placed else frozenset()
            self._at_home[device] = known
        return known

    def _stands(self, device: int) -> frozenset[At]:
        """The places of a device as drawn; of a piston also those that its strokes change."""
        home = self._motion.home_of.get(device, self._motion.flow.place_of.get(device))
        return self._changes.get(device, frozenset()) | ({home} if home is not None else frozenset())

    def _what_may_stand(self) -> MayStand:
        """What may come to stand at the places that strokes can change: heads, what they move, and nothing."""
        things = self._motion.drawing.things
        found: dict[At, set[Thing | None]] = {}
        for piston, changes in self._changes.items():
            facing = things[self._motion.home_of[piston]].facing
            comes = {None, replace(HEAD, facing=facing), *(things[at] for at in changes if at in things)}
            for at in changes:
                found.setdefault(at, set()).update(comes)
        return MayStand(found)

    def _fed_by(self, device: int, inputs: space.Inputs) -> set[int]:
        """All that feeds a device in a configuration, or updates it, and of which it may take notice."""
        drivers = [*(drivers for _, drivers in inputs.ports), *inputs.hears]
        number = self._program.number
        fed = {number[name] for each in drivers for name, _ in each if name in number}
        return {source for source in fed if self._is_felt_by(device, source)}

    # What may break something

    def _mishaps(self) -> Iterator[int]:
        """The pistons and the water that may break something."""
        motion = self._motion
        things, rules = motion.drawing.things, motion.flow.rules
        breaks = {at: thing for at, thing in things.items() if thing.block_type.pushed is Pushed.BREAKS}
        at_risk = {*breaks, *(found for at, thing in breaks.items() if (found := holder(thing, at)) is not None)}
        if not rules.detectors_move:
            at_risk |= {at for at, thing in things.items() if thing.watches}
        yield from (piston for piston, changes in self._changes.items() if not changes.isdisjoint(at_risk))
        places = motion.flow.place_of.values()
        halves = {at for at, thing in things.items() if thing.word == "half"}
        if any(at in breaks or BELOW.from_(at) in halves for at in places):
            yield from motion.flow.place_of


def _updated(program: Program, device: int) -> bool:
    """Whether strokes update a device where they tell of a change."""
    found = program.devices[device]
    home = program.motion.home_of.get(device) if program.motion is not None else None
    watches = home is not None and program.motion is not None and program.motion.drawing.things[home].watches
    return found.strokes or found.flows or watches


def _around(places: Iterable[At]) -> frozenset[At]:
    """Some places, and the six around each of them."""
    found = set(places)
    return frozenset(found | {beside for place in found for _, beside in neighbours(place)})


@lru_cache(maxsize=4)
def influence(program: Program) -> Influence:
    """Who has a say in whom, kept for the programs that were asked about last."""
    return Influence(program)
