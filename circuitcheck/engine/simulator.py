"""A simulator: the kernel with all that stands around it, as others drive it.

It lets the kernel run (`engine.kernel`), tells the changes that the kernel hands back, has open orders decided
(`engine.deciding`), and goes on with each copy that comes of that. Between two gt a snapshot of it is a `State`: small,
hashable, with waits in gt to go, so that equal situations compare equal whenever and however they were reached.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence

from circuitcheck.engine import kernel, stroking, work
from circuitcheck.engine.deciding import come_up, split_changes, tie
from circuitcheck.engine.memory import CLASS_MASK, OUTSIDE, OUTSIDE_LAST, Memory
from circuitcheck.engine.offs import LatestOffs
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.state import Notes, State, ignore
from circuitcheck.engine.ties import NO_TIES, WORKED, Ties
from circuitcheck.model.parts.waits import ALL_ELSE, CALLED, CLASS_BITS
from circuitcheck.model.unsure import reached, unheard

MOST_FORKS = 20_000
"""Into how many copies a simulator may split within a gt, before equal ones are merged."""
LARGE = 1_000
"""From how many devices on a simulator keeps levels and the like packed, so that copies and snapshots cost little."""


class Simulator(Memory):
    """A circuit that runs, from one time on."""

    __slots__ = ()

    def __init__(self, program: Program, now: int, levels: bytes, notes: Notes = ignore) -> None:
        count = len(program.devices)
        self._set_up(program, now, notes)
        self.offs = LatestOffs(program.rules.burn_out_window)
        packed = list if count < LARGE else bytearray
        self.levels = packed(levels)
        self.device_state = packed(bytes(count))
        self.waiting = packed(bytes(count))
        if program.motion is not None:
            stroking.set_up(self, program.motion)
        self.readings = packed(self.wiring.readings(self.levels))

    # What strokes and water do.

    def can_start(self, piston: int) -> bool:
        """Whether nothing stops a piston that is to go out (rule M7)."""
        return stroking.can_start(self, piston)

    def is_in_motion(self, device: int) -> bool:
        """Whether a stroke is moving a device."""
        motion, now = self.program.motion, self.configuration
        return motion is not None and now is not None and device in motion.standing(now).still

    def start_out(self, piston: int) -> bool:
        """A piston starts to go out; whether it does. Raises RunRefused."""
        return stroking.start_out(self, piston)

    def start_home(self, piston: int, started_now: bool) -> None:
        """A piston starts to go home; `started_now` if it started out in this very moment. Raises RunRefused."""
        stroking.start_home(self, piston, started_now)

    def land(self, piston: int) -> None:
        """What a piston has set in motion lands."""
        self._doubt("landings_in_turn", piston, stroking.landing_beside(self, piston))
        stroking.land(self, piston)

    def water_level(self, device: int) -> int:
        """The level that water takes at its look (rules Z5, Z6). Raises RunRefused."""
        self._doubt("looks_in_turn", device, stroking.looking_beside(self, device))
        if stroking.looks_before_others(self, device) and self._matters_that_it_looks_now(device):
            reached(self.program.rules, "class_4")
        motion, now = stroking.standing(self)
        return motion.flow.level_taken(now, self.levels, device)

    def spread(self, device: int) -> None:
        """Water spreads from a place (rules Z3, Z4), told as one change. Raises RunRefused."""
        motion, now = stroking.standing(self)
        spread = motion.flow.spread(now, self.levels, device)
        if spread is not None:
            self.spreads[device] = spread
            self.pending.append(device)

    def _doubt(self, key: str, acting: int, later: Iterable[int]) -> None:
        """Says that a run comes to a rule on order (`unsure`), if another order of this gt would end it otherwise."""
        if any(self._ends(acting, other) != self._ends(other, acting) for other in later):
            reached(self.program.rules, key)

    def _matters_that_it_looks_now(self, water: int) -> bool:
        """Whether what waits are over in this gt comes to otherwise if all else that is about to act acts before water
        looks (rule Z2); draws and strokes come after both."""
        turns = [water, *reversed(self.acting)]
        water_last = sorted(turns, key=lambda each: self.program.devices[each].flows)
        now, later = (self._comes_to(each, moment=CALLED) for each in (turns, water_last))
        return isinstance(now, str) or isinstance(later, str) or set(now) != set(later)

    def _ends(self, first: int, second: int) -> Hashable:
        """All that this gt can end in if two of the devices that are about to act came next, in this order.

        In which order pistons or water of one slot have begun does not count: it is asked about where those come up.
        """
        turns = [first, second, *(each for each in reversed(self.acting) if each not in (first, second))]
        states = self._comes_to(turns, moment=OUTSIDE_LAST)
        if isinstance(states, str):
            return states
        waits = [frozenset((*slot, *self._in_turn(devices)) for *slot, devices in each.waits) for each in states]
        return frozenset((each._replace(waits=(), ties=NO_TIES), its) for each, its in zip(states, waits, strict=True))

    def _in_turn(self, devices: Iterable[int]) -> list[int]:
        """The devices of a slot in their order, but for those of which that is asked about where they come up."""
        behaves = self.program.devices
        return sorted(devices, key=lambda each: each if behaves[each].strokes or behaves[each].flows else -1)

    def _comes_to(self, turns: Sequence[int], moment: int) -> list[State] | str:
        """The states that this gt can come to by the moment of an order class if those who are about to act do so in
        these turns; what ends it, if something does."""
        twin = self.copy()
        twin.recorder, twin.notes, twin.script = None, ignore, []
        twin.acting = list(reversed(turns))
        with unheard():
            try:
                return [each.snapshot() for each in twin._run((twin.now << CLASS_BITS) + moment)]
            except (work.Undecided, TooManyOrders) as undecided:
                return type(undecided).__name__

    # How a gt runs.

    def run(self, until: int) -> list[Simulator]:
        """Acts out every wait that is over by the gt `until`, and moves time along with them.

        Returns all the simulators that this can lead to, this one among them. Where an order is open it stops at the
        end of that gt, so that equal ones can be merged before they go on.
        """
        return self._run((until + 1) << CLASS_BITS)

    def run_waits(self) -> list[Simulator]:
        """Acts out only what is due of this gt before pistons start: moment 1 of rule C2."""
        return self._run((self.now << CLASS_BITS) + CALLED)

    def _run(self, limit: int) -> list[Simulator]:
        """Acts out what stands in the calendar below a key."""
        forks = self._go(limit)
        if not forks:
            return [self]
        ended: list[Simulator] = []
        running = [self, *forks]
        self._split_into(len(running), len(forks))
        while running:
            simulator = running.pop()
            more = simulator._go(min(limit, (simulator.now + 1) << CLASS_BITS))
            if more:
                running += [simulator, *more]
                self._split_into(len(running) + len(ended), len(more))
            else:
                ended.append(simulator)
        return ended

    def _split_into(self, simulators: int, more: int) -> None:
        """Counts the copies that this one has split into within a gt, `more` of them now. Raises TooManyStates."""
        work.count(more * (len(self.levels) + work.OVERHEAD))
        if simulators > MOST_FORKS:
            raise work.TooManyStates

    def _go(self, limit: int) -> list[Simulator]:
        """Runs on until everything below a key is done, or until an order is open: then returns the copies."""
        forks: list[Simulator] = []
        while not forks:
            stop = kernel.run(self, limit)
            if stop == kernel.NOTHING_DUE:
                break
            if stop == kernel.SLOT_COMES_UP:
                forks = come_up(self, self.keys[0])
                if not forks:
                    self.take_slot()
            else:
                self.telling = stop
                forks = self._tell(stop)
        return forks

    def tell_everyone(self) -> list[Simulator]:
        """Updates every part at the start, in unknown order (rule C6). Returns the simulators this can lead to."""
        self.starting = True
        begun: list[tuple[int, int]] = []
        for device in self.program.devices:
            wait = device.on_input_change(self)
            if wait:
                self.begin(device.index, wait)
                begun.append((wait, device.index))
        tie(self, begun)
        simulators = [self, *(split_changes(self, 0) if len(self.pending) > 1 else ())]
        for simulator in simulators:
            simulator.starting = False
        return [later for simulator in simulators for later in simulator.run(0)]

    def act_outside(self, device: int, verb: str, level: int, one_of_many: bool = False) -> list[Simulator]:
        """Carries out one outside action. Returns the simulators this can lead to, this one among them.

        `one_of_many`: its order among others of the same gt has been left open (`deciding.leave_open`).
        """
        cell, moving = self.program.devices[device].drawn, self.program.moving
        drawn = cell and moving
        if drawn and self.is_in_motion(device):
            return [self]  # it is drawn only while it stands (rule M11)
        self.telling = OUTSIDE
        if self.ties is not None:
            self.ties.act((device, WORKED) if one_of_many else None)
        # Where nothing moves, a cell changes when all that was due has acted (`step`), whoever comes first by hand.
        by_hand = 0 if self.program.rules.outside_first and not cell else OUTSIDE_LAST
        self.order_class = ALL_ELSE if drawn else by_hand
        self.program.devices[device].drive(self, verb, level)
        simulators: list[Simulator] = []
        running = [self]
        while running:
            simulator = running.pop()
            while simulator.pending:
                changed = simulator.pending.pop(0)
                simulator.telling = changed
                more = simulator._tell(changed)
                running += more
                self._split_into(len(running) + len(simulators), len(more))
            simulators.append(simulator)
        return simulators

    def _tell(self, changed: int) -> list[Simulator]:
        """Updates everyone who feels that a device has changed. Returns copies for the open orders not taken here."""
        if changed in self.steps:
            return stroking.tell(self, changed)
        if changed in self.spreads:
            return stroking.tell_of_water(self, self.spreads.pop(changed))
        readings, levels, waiting = self.readings, self.levels, self.waiting
        given, feeling = levels[changed], {}
        for entry in self.wiring.fanout[changed]:
            port, loss, feeds, felt, device, _, _ = entry
            level = (given - loss if given > loss else 0) if feeds is None else read(feeds, levels)
            if level != readings[port]:
                readings[port] = level
                if felt:
                    feeling[device] = entry
        if not feeling:
            return []
        # Everything has settled: now each device that felt something is updated once, however many ports it has.
        begun: list[tuple[int, int]] = []
        still_to_tell = len(self.pending)
        for port, _, _, _, device, on_input_change, waits in feeling.values():
            if waits is None:
                wait = on_input_change(self)
            else:
                wait = waits[(2 if readings[port] else 0) + (1 if levels[device] else 0)]
                if waiting[device]:
                    wait = 0 if wait else on_input_change(self)
            if wait:
                self.begin(device, wait)
                begun.append((wait, device))
        if len(begun) > 1 and not self.wiring.is_free(changed):
            tie(self, begun)
        return split_changes(self, still_to_tell) if len(self.pending) > still_to_tell + 1 else []

    # Snapshots.

    def snapshot(self) -> State:
        """The state after this gt, with waits in gt to go and in the least of all orders that come to the same."""
        now, calendar, ties = self.now, self.calendar, self.ties and self.still_open()
        slots = sorted(calendar)
        waits = tuple(
            [((key >> CLASS_BITS) - now, key & CLASS_MASK, self._least(key, calendar[key], ties)) for key in slots]
        )
        offs = self.offs.frozen(now)
        frozen = (
            NO_TIES if ties is None else ties.frozen((key, wait[2]) for key, wait in zip(slots, waits, strict=True))
        )
        levels, kept, readings = bytes(self.levels), bytes(self.device_state), bytes(self.readings)
        return State(levels, kept, waits, offs, frozen, readings, self.configuration)

    def _least(self, slot: int, devices: list[int], ties: Ties | None) -> tuple[int, ...]:
        """The devices of a slot in the least of all orders that come to the same."""
        if len(devices) < 2:
            return tuple(devices)
        if ties is not None:
            return tuple(ties.arranged(slot, devices, self.matter, devices))
        return self.wiring.orders.least(devices, self.levels)


def restore(program: Program, state: State, now: int = 0, notes: Notes = ignore, kept: bool = True) -> Simulator:
    """The simulator at gt `now` of which `state` is the snapshot; `kept`: whether it runs for more than one gt."""
    simulator = object.__new__(Simulator)
    simulator._set_up(program, now, notes)
    if state.configuration is not None:
        stroking.restore(simulator, state.configuration)
    packed = list if kept and len(state.levels) < LARGE else bytearray
    simulator.levels, simulator.device_state = packed(state.levels), packed(state.device_state)
    waiting = simulator.waiting = packed(bytes(len(state.levels)))
    simulator.readings = packed(state.readings)
    calendar = simulator.calendar
    for to_go, order_class, devices in state.waits:
        calendar[(now + to_go) << CLASS_BITS | order_class] = list(devices)
        for device in devices:
            waiting[device] = 1
    simulator.keys = sorted(calendar)
    if state.ties.descents:
        simulator.ties = Ties(state.ties, [(now + to_go) << CLASS_BITS | each for to_go, each, _ in state.waits])
    simulator.offs = LatestOffs(program.rules.burn_out_window, now, state.offs)
    return simulator
