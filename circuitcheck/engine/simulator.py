"""One game tick, exactly: the theory of operation, and the code that carries it out.

Theory. A circuit changes only at moments at which a wait is over or somebody acts from outside. A wait stands in
the calendar under the gt in which it is over and its order class (rule C3), and within those in the order in which
it began. One gt runs so (rule C2): waits that are over, class by class; water that looks; pistons that were called;
what is in motion and lands (all three stand in the calendar as later classes of their gt); outside actions, last or,
under another setting, first.

When a device changes its level, every port it feeds is read afresh, and each device with a port whose level has
changed is updated; only then does the next device act. A stroke changes the wiring itself, and all ports are then read
afresh (`engine.stroking`). Devices updated by one change may begin waits that are over in one gt and class: their order
is unknown (rule C5). Where it can matter it is left open: one simulator stands for all orders
(`engine.ties`). Only when two devices come up to act and it matters to what they do which is first, the simulator is
split into copies, one for each order, and all go on (`engine.deciding`). `engine.orders` says which orders matter.

A simulator is working memory in absolute time. Between two gt a snapshot of it is a `State`: small, hashable, with
waits in gt to go, so that equal situations compare equal whenever and however they were reached.

Ownership: only this module changes a simulator's calendar; only devices decide what to put there.
"""

from __future__ import annotations

from collections.abc import MutableSequence
from heapq import heapify, heappop, heappush

from circuitcheck.engine import stroking, work
from circuitcheck.engine.deciding import come_up, split_changes, tie
from circuitcheck.engine.offs import LatestOffs
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.state import Log, Notes, Recorder, State, Trail, ignore
from circuitcheck.engine.ties import NO_TIES, Ties
from circuitcheck.engine.water_flow import Spread
from circuitcheck.model.parts.base import ALL_ELSE, CALLED, CLASS_BITS, LANDING, wait_of
from circuitcheck.space.configuration import Configuration

CLASS_MASK = (1 << CLASS_BITS) - 1
ACTING, OUTSIDE = -1, -2
OUTSIDE_LAST = LANDING + 1
"""The order class of outside actions; 0 where they come first."""
MOST_FORKS = 20_000
"""Into how many copies a simulator may split within a gt, before equal ones are merged."""


class Simulator:
    """Working memory of one circuit at one time. Implements what devices see (`model.parts.base.SimulatorView`).

    Levels, readings and the like are lists where a simulator is kept from gt to gt: reading a list is faster. Where it
    runs for one gt only (`restore`) they are byte arrays, which are copied from a state and back all but for nothing.
    """

    __slots__ = (
        "_acting",
        "_deferred",
        "_keys",
        "calendar",
        "configuration",
        "device_state",
        "levels",
        "log",
        "notes",
        "now",
        "offs",
        "order_class",
        "pending",
        "program",
        "readings",
        "recorder",
        "script",
        "spreads",
        "starting",
        "steps",
        "telling",
        "ties",
        "trail",
        "waiting",
        "wiring",
    )

    levels: MutableSequence[int]
    device_state: MutableSequence[int]
    waiting: MutableSequence[int]
    readings: MutableSequence[int]

    def __init__(self, program: Program, now: int, levels: bytes, notes: Notes = ignore) -> None:
        count = len(program.devices)
        self._set_up(program, now, notes)
        self.offs = LatestOffs(program.rules.burn_out_window)
        self.levels = list(levels)
        self.device_state = [0] * count
        self.waiting = [0] * count
        if program.motion is not None:
            stroking.set_up(self, program.motion)
        self.readings = self.wiring.readings(self.levels)

    def _set_up(self, program: Program, now: int, notes: Notes) -> None:
        """All but what has a value for each device or port."""
        self.program = program
        self.wiring = program.wiring
        """The wiring of the moment."""
        self.configuration: Configuration | None = None
        """What is not where it is drawn, where things move."""
        self.steps: dict[int, stroking.Step] = {}
        """Of a piston that has just started or landed, what that does; its wiring is not switched yet."""
        self.spreads: dict[int, Spread] = {}
        """Of water that has just looked, what it spreads to; those places are not wet yet."""
        self.now = now
        self.calendar: dict[int, list[int]] = {}
        """The devices whose waits are over, in acting order, under gt and order class packed into one number."""
        self.notes = notes
        self.log: Log | None = None
        self.script: list[tuple[int, ...]] = []
        """The choices to make next, in order, when a known way is run again; past its end all are explored."""
        self.recorder: Recorder | None = None
        """Writes down what happens, where somebody wants that."""
        self.trail: Trail | None = None
        self.ties: Ties | None = None
        """The orders that are open, if there are any."""
        self.order_class = 0
        """The order class whose turn it is; for outside actions 0 or OUTSIDE_LAST."""
        self.starting = False
        self.telling = ACTING
        """The device whose change is passed on; ACTING while a device acts of itself, OUTSIDE during an action."""
        self._keys: list[int] = []
        self._acting: list[int] = []
        self.pending: list[int] = []
        self._deferred: list[int] = []

    def copy(self) -> Simulator:
        """A simulator of its own with the same contents."""
        twin = object.__new__(type(self))
        twin.program, twin.wiring, twin.now = self.program, self.wiring, self.now
        twin.notes, twin.log = self.notes, self.log
        twin.configuration, twin.steps, twin.spreads = self.configuration, self.steps.copy(), self.spreads.copy()
        twin.levels, twin.device_state = self.levels[:], self.device_state[:]
        twin.waiting, twin.readings = self.waiting[:], self.readings[:]
        twin.offs = self.offs.copy()
        twin.calendar = {key: devices[:] for key, devices in self.calendar.items()}
        twin.script, twin.starting, twin.telling = self.script, self.starting, self.telling
        twin.recorder, twin.trail = self.recorder, self.trail
        twin.order_class = self.order_class
        twin.ties = None if self.ties is None else self.ties.copy()
        twin._keys, twin._acting, twin.pending = self._keys[:], self._acting[:], self.pending[:]
        twin._deferred = self._deferred[:]
        return twin

    # What devices see and do.

    @property
    def call(self) -> int:
        """The wait of a piston that is called now: once pistons have started in this gt, it starts in the next."""
        return wait_of(1 if self.order_class >= LANDING else 0, CALLED)

    def begin(self, device: int, wait: int) -> None:
        """Begins a wait; the caller has seen to it that the device holds none (rule C4)."""
        self.waiting[device] = 1
        key = (self.now << CLASS_BITS) + wait
        calendar = self.calendar
        if key in calendar:
            calendar[key].append(device)
        else:
            calendar[key] = [device]
            heappush(self._keys, key)
        if self.ties is not None and not self._in_turn(wait & CLASS_MASK):
            self.ties.begin(device)
        if self.recorder is not None:
            self.recorder.began(self, device)

    def set_level(self, device: int, level: int) -> None:
        """Changes what a device gives; those that read it are updated before the next device acts."""
        if self.recorder is not None:
            self.recorder.changed(self, device, level)
        self.levels[device] = level
        self.pending.append(device)

    def defer(self, device: int) -> None:
        """Has the device's `after` run once everyone has been updated."""
        self._deferred.append(device)

    def note(self, device: int, rule: str) -> None:
        """Records what a device noted of itself."""
        self.notes(self.now, device, rule)

    def holds(self, device: int, wait: int) -> bool:
        """Whether the device holds the wait that it would hold had it begun `wait` now."""
        key = (self.now << CLASS_BITS) + wait
        return device in self.calendar.get(key, ()) or (wait >> CLASS_BITS == 0 and device in self._acting)

    def show(self, device: int, level: int) -> None:
        """Changes a level that nobody reads but people."""
        if level != self.levels[device]:
            if self.recorder is not None:
                self.recorder.changed(self, device, level)
            self.levels[device] = level

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
        stroking.land(self, piston)

    def water_level(self, device: int) -> int:
        """The level that water takes at its look (rules Z5, Z6). Raises RunRefused."""
        motion, now = stroking.standing(self)
        return motion.flow.level_taken(now, self.levels, device)

    def spread(self, device: int) -> None:
        """Water spreads from a place (rules Z3, Z4), told as one change. Raises RunRefused."""
        motion, now = stroking.standing(self)
        spread = motion.flow.spread(now, self.levels, device)
        if spread is not None:
            self.spreads[device] = spread
            self.pending.append(device)

    def make(self, piston: int, step: stroking.Step) -> None:
        """Has a step of a stroke told as a change of its piston, before the next device acts."""
        self.steps[piston] = step
        self.pending.append(piston)

    def drop_waits(self, device: int) -> None:
        """A device loses every wait that it holds: it is moved off (rules M10, M11)."""
        for key in [key for key, devices in self.calendar.items() if device in devices]:
            self.calendar[key].remove(device)
            if not self.calendar[key]:
                del self.calendar[key]
                self._keys.remove(key)
                heapify(self._keys)
        if device in self._acting:
            self._acting.remove(device)
        if self.ties is not None:
            self.ties.descents.pop(device, None)
        self.waiting[device] = 0

    # How a gt runs.

    def next_due(self) -> int | None:
        """The gt in which the next wait is over, or None while nothing waits."""
        return self._keys[0] >> CLASS_BITS if self._keys else None

    def due(self, at: int) -> int:
        """How many waits are over by a gt."""
        limit = (at + 1) << CLASS_BITS
        return sum(len(devices) for key, devices in self.calendar.items() if key < limit)

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
        """Runs on until everything below a key is done, or until an order is open: then returns the copies.

        This is the loop that all time is spent in: it is one function, and says again what `begin` and `_tell` do for
        a single reader, because calls would cost more than what they do (measured on a ring of torches).
        """
        pending, keys, calendar, waiting = self.pending, self._keys, self.calendar, self.waiting
        wiring = self.wiring
        acts, single_fanout = wiring.acts, wiring.single_fanout
        levels, readings, acting, deferred = self.levels, self.readings, self._acting, self._deferred
        recorder, ties = self.recorder, self.ties
        while True:
            if pending:
                changed = pending.pop(0)
            elif deferred:
                self.program.devices[deferred.pop()].after(self)
                continue
            elif acting:
                changed = acting.pop()
                waiting[changed] = 0
                self.telling = ACTING
                if ties is not None:
                    ties.act(None if self._in_turn(self.order_class) else changed)
                level = acts[changed](self)
                if level == levels[changed]:
                    continue
                if recorder is not None:
                    recorder.changed(self, changed, level)
                levels[changed] = level
            elif keys and keys[0] < limit:
                self.now = keys[0] >> CLASS_BITS
                if ties is not None:
                    forks = come_up(self, keys[0])
                    if forks:
                        return forks
                    ties = self.ties
                key = heappop(keys)
                self.order_class = key & CLASS_MASK
                acting += calendar.pop(key)
                if len(acting) > 1:
                    acting.reverse()
                continue
            else:
                return []
            self.telling = changed
            sole = single_fanout[changed]
            if sole is None:
                forks = self._tell(changed)
                if forks:
                    return forks
                ties = self.ties
                if wiring is not self.wiring:
                    wiring, readings = self.wiring, self.readings
                    acts, single_fanout = wiring.acts, wiring.single_fanout
            else:
                port, loss, reader, on_input_change, waits = sole
                level = levels[changed] - loss
                if level < 0:
                    level = 0
                if readings[port] != level:
                    readings[port] = level
                    if waits is None:
                        wait = on_input_change(self)
                    else:  # a part that only reacts (`model.parts.base.Reaction`)
                        wait = waits[(2 if level else 0) + (1 if levels[reader] else 0)]
                        if waiting[reader]:
                            wait = 0 if wait else on_input_change(self)
                    if not wait:
                        continue
                    if ties is not None or recorder is not None:
                        self.begin(reader, wait)
                        continue
                    # As in `begin`, without a call: a ring of torches runs a tenth faster for it (measured).
                    waiting[reader] = 1
                    key = (self.now << CLASS_BITS) + wait
                    if key in calendar:
                        calendar[key].append(reader)
                    else:
                        calendar[key] = [reader]
                        heappush(keys, key)

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

    def act_outside(self, device: int, verb: str, level: int) -> list[Simulator]:
        """Carries out one outside action. Returns the simulators this can lead to, this one among them."""
        drawn = self.program.moving and self.program.devices[device].drawn
        if drawn and self.is_in_motion(device):
            return [self]  # it is drawn only while it stands (rule M11)
        self.telling = OUTSIDE
        if self.ties is not None:
            self.ties.act(None)
        self.order_class = ALL_ELSE if drawn else 0 if self.program.rules.outside_first else OUTSIDE_LAST
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
        readings, levels = self.readings, self.levels
        given = levels[changed]
        feeling = {}
        for entry in self.wiring.fanout[changed]:
            port, loss, feeds, felt, device, on_input_change, waits = entry
            level = (given - loss if given > loss else 0) if feeds is None else read(feeds, levels)
            if level != readings[port]:
                readings[port] = level
                if felt:
                    feeling[device] = entry
        if not feeling:
            return []
        # Everything has settled: now each device that felt something is updated once, however many ports it has.
        begun: list[tuple[int, int]] = []
        still_to_tell, waiting = len(self.pending), self.waiting
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

    # Where an order is unknown.

    def still_open(self) -> Ties | None:
        """The open orders that can matter still, if there are any."""
        if self.ties is not None:
            slots = self.slots_that_tie()
            work.count(sum(len(devices) ** 2 for devices in slots))
            self.ties.forget(slots, self.matter)
            if not self.ties.descents:
                self.ties = None
        return self.ties

    def slots_that_tie(self) -> list[list[int]]:
        """The slots of the calendar in which an order may be open."""
        return [devices for key, devices in self.calendar.items() if not self._in_turn(key & CLASS_MASK)]

    def _in_turn(self, order_class: int) -> bool:
        """Whether waits of a class are over in the order in which they began, whatever order is open.

        What is drawn lands in the order of the starts, and starts whose order can matter have been put in order.
        """
        return order_class == LANDING and self.program.moving

    def matter(self, one: int, other: int) -> bool:
        """Whether it can matter which of two devices that wait acts first."""
        return self.wiring.orders.matters(one, other, self.levels)

    @property
    def one_way(self) -> bool:
        """Whether one way only is followed, past the end of the script."""
        return self.recorder is not None and self.recorder.one_way

    # Snapshots.

    def snapshot(self) -> State:
        """The state after this gt, with waits in gt to go and in the least of all orders that come to the same."""
        now, calendar, ties = self.now, self.calendar, self.ties and self.still_open()
        waits = tuple(
            [
                (
                    (key >> CLASS_BITS) - now,
                    key & CLASS_MASK,
                    self._least(calendar[key], None if self._in_turn(key & CLASS_MASK) else ties),
                )
                for key in sorted(calendar)
            ]
        )
        offs = self.offs.frozen(now)
        frozen = NO_TIES if ties is None else ties.frozen(devices for _, _, devices in waits)
        levels, kept, readings = bytes(self.levels), bytes(self.device_state), bytes(self.readings)
        return State(levels, kept, waits, offs, frozen, readings, self.configuration)

    def _least(self, devices: list[int], ties: Ties | None) -> tuple[int, ...]:
        """The devices of a slot in the least of all orders that come to the same."""
        if len(devices) < 2:
            return tuple(devices)
        if ties is not None:
            return tuple(ties.arranged(devices, self.matter, devices))
        return self.wiring.orders.least(devices, self.levels)


def restore(program: Program, state: State, now: int = 0, notes: Notes = ignore, kept: bool = True) -> Simulator:
    """The simulator at gt `now` of which `state` is the snapshot; `kept`: whether it runs for more than one gt."""
    simulator = object.__new__(Simulator)
    simulator._set_up(program, now, notes)
    if state.configuration is not None:
        stroking.restore(simulator, state.configuration)
    packed = list if kept else bytearray
    simulator.levels, simulator.device_state = packed(state.levels), packed(state.device_state)
    waiting = simulator.waiting = packed(bytes(len(state.levels)))
    simulator.readings = packed(state.readings)
    calendar = simulator.calendar
    for to_go, order_class, devices in state.waits:
        calendar[(now + to_go) << CLASS_BITS | order_class] = list(devices)
        for device in devices:
            waiting[device] = 1
    simulator._keys = sorted(calendar)
    if state.ties.descents:
        simulator.ties = Ties(state.ties)
    simulator.offs = LatestOffs(program.rules.burn_out_window, now, state.offs)
    return simulator
