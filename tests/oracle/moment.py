"""One game tick, exactly: the theory of operation, and the code that carries it out.

Theory. A circuit changes only at moments at which a wait is over or somebody acts from outside. A wait stands in
the calendar under the gt in which it is over and its order class (rule C3), and within those in the order in which
it began. One gt runs so (rule C2): waits that are over, class by class; pistons that were called (they stand in the
calendar as the last class of their gt); outside actions, last or, under another setting, first.

When a device changes its level, every port it feeds is read afresh, and each device with a port whose level has
changed is told; only then does the next device act. Devices told by one change may begin waits that are over in one
gt and class: their order is unknown (rule C5). Where it can matter it is left open: one moment stands for all orders
(`engine.ties`). Only when two devices come up to act and it matters to what they do which is first, the moment is
split into copies, one for each order, and all go on (`engine.deciding`). `engine.orders` says which orders matter.

A moment is working memory in absolute time. Between two gt it can be frozen into a `State`: small, hashable, with
waits in gt to go, so that equal situations compare equal whenever and however they were reached.

Ownership: only this module changes a moment's calendar; only devices decide what to put there.
"""

from __future__ import annotations

from heapq import heapify, heappop, heappush

from . import work
from .deciding import come_up
from .machine import Machine, read
from .parts.base import CALLED, CLASS_BITS, wait_of
from .state import Log, Notes, Order, Recorder, State, Trail, ignore
from .ties import NO_TIES, Known, Ties

CLASS_MASK = (1 << CLASS_BITS) - 1
ACTING, OUTSIDE = -1, -2
OUTSIDE_LAST = CALLED + 1
"""The order class of outside actions; 0 where they come first."""
MOST_FORKS = 20_000
"""Into how many moments one may split within a gt, before equal ones are merged."""


class Moment:
    """Working memory of one circuit at one time. Implements what devices see (`model.parts.base.Moment`).

    Levels, readings and the like are lists, not byte arrays: reading a list is faster, and a ring of torches runs half
    as fast again for it (measured).
    """

    __slots__ = (
        "_acting",
        "_afterwards",
        "_keys",
        "_pending",
        "calendar",
        "call",
        "levels",
        "log",
        "machine",
        "marks",
        "notes",
        "now",
        "offs",
        "order_class",
        "readings",
        "recorder",
        "script",
        "starting",
        "telling",
        "ties",
        "trail",
        "waiting",
    )

    def __init__(self, machine: Machine, now: int, levels: bytes, notes: Notes = ignore) -> None:
        count = len(machine.devices)
        self.machine = machine
        self.now = now
        self.levels = list(levels)
        self.marks = [0] * count
        self.waiting = [0] * count
        self.readings = [read(feeds, self.levels) for feeds in machine.feeds]
        self.offs: dict[int, list[int]] = {}
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
        """The device whose change is being told; ACTING while a device acts of itself, OUTSIDE while a hand does."""
        self.call = wait_of(0, CALLED)
        self._keys: list[int] = []
        self._acting: list[int] = []
        self._pending: list[int] = []
        self._afterwards: list[int] = []

    def copy(self) -> Moment:
        """A moment of its own with the same contents."""
        twin = object.__new__(type(self))
        twin.machine, twin.now, twin.notes, twin.log = self.machine, self.now, self.notes, self.log
        twin.levels, twin.marks = self.levels[:], self.marks[:]
        twin.waiting, twin.readings = self.waiting[:], self.readings[:]
        twin.offs = {torch: offs[:] for torch, offs in self.offs.items()}
        twin.calendar = {key: devices[:] for key, devices in self.calendar.items()}
        twin.script, twin.starting, twin.telling = self.script, self.starting, self.telling
        twin.recorder, twin.call, twin.trail = self.recorder, self.call, self.trail
        twin.order_class = self.order_class
        twin.ties = None if self.ties is None else self.ties.copy()
        twin._keys, twin._acting, twin._pending = self._keys[:], self._acting[:], self._pending[:]
        twin._afterwards = self._afterwards[:]
        return twin

    # What devices do.

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
        if self.ties is not None:
            self.ties.begin(device)
        if self.recorder is not None:
            self.recorder.began(self, device)

    def put(self, device: int, level: int) -> None:
        """Changes what a device gives; those that read it are told before the next device acts."""
        if self.recorder is not None:
            self.recorder.changed(self, device, level)
        self.levels[device] = level
        self._pending.append(device)

    def afterwards(self, device: int) -> None:
        """Has the device's `after` run once everyone has been told of its change."""
        self._afterwards.append(device)

    def note(self, device: int, rule: str) -> None:
        """Records what a device noted of itself."""
        self.notes(self.now, device, rule)

    def holds(self, device: int, wait: int) -> bool:
        """Whether the device holds the wait that it would hold had it begun `wait` now."""
        key = (self.now << CLASS_BITS) + wait
        return device in self.calendar.get(key, ()) or (wait >> CLASS_BITS == 0 and device in self._acting)

    # How a gt runs.

    def next_due(self) -> int | None:
        """The gt in which the next wait is over, or None while nothing waits."""
        return self._keys[0] >> CLASS_BITS if self._keys else None

    def due(self, at: int) -> int:
        """How many waits are over by a gt."""
        limit = (at + 1) << CLASS_BITS
        return sum(len(devices) for key, devices in self.calendar.items() if key < limit)

    def run(self, until: int) -> list[Moment]:
        """Acts out every wait that is over by the gt `until`, and moves time along with them.

        Returns all the moments that this can lead to, this one among them. Where an order is open it stops at the end
        of that gt, so that equal moments can be merged before they go on.
        """
        forks = self._go(until)
        if not forks:
            return [self]
        ended: list[Moment] = []
        running = [self, *forks]
        self._split_into(len(running), len(forks))
        while running:
            moment = running.pop()
            more = moment._go(moment.now)
            if more:
                running += [moment, *more]
                self._split_into(len(running) + len(ended), len(more))
            else:
                ended.append(moment)
        return ended

    def _split_into(self, moments: int, more: int) -> None:
        """Counts the moments that this one has split into within a gt, `more` of them now. Raises TooManyStates."""
        work.count(more * (len(self.levels) + work.OVERHEAD))
        if moments > MOST_FORKS:
            raise work.TooManyStates

    def _go(self, until: int) -> list[Moment]:
        """Runs on until everything due by `until` is done, or until an order is open: then returns the copies."""
        machine, pending, keys, calendar = self.machine, self._pending, self._keys, self.calendar
        acts, sole_readers, waiting = machine.acts, machine.sole_readers, self.waiting
        levels, readings, acting, afterwards = self.levels, self.readings, self._acting, self._afterwards
        recorder, ties = self.recorder, self.ties
        limit = (until + 1) << CLASS_BITS
        while True:
            if pending:
                changed = pending.pop(0)
            elif afterwards:
                machine.devices[afterwards.pop()].after(self)
                continue
            elif acting:
                changed = acting.pop()
                waiting[changed] = 0
                self.telling = ACTING
                if ties is not None:
                    ties.act(changed)
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
                acting.reverse()
                continue
            else:
                return []
            self.telling = changed
            sole = sole_readers[changed]
            if sole is None:
                forks = self._tell(changed)
                if forks:
                    return forks
                ties = self.ties
            else:
                port, loss, reader, told = sole
                level = levels[changed] - loss
                if level < 0:
                    level = 0
                if readings[port] != level:
                    readings[port] = level
                    wait = told(self)
                    if wait:
                        self.begin(reader, wait)

    def tell_everyone(self) -> list[Moment]:
        """Tells every part at the start, in unknown order (rule C6). Returns the moments this can lead to."""
        self.starting = True
        begun: list[tuple[int, int]] = []
        for device in self.machine.devices:
            wait = device.told(self)
            if wait:
                self.begin(device.index, wait)
                begun.append((wait, device.index))
        self._tie(begun)
        moments = [self, *(self._split_changes(0) if len(self._pending) > 1 else ())]
        for moment in moments:
            moment.starting = False
        return [later for moment in moments for later in moment.run(0)]

    def act_outside(self, device: int, verb: str, level: int) -> list[Moment]:
        """Carries out one outside action. Returns the moments this can lead to, this one among them."""
        # What chance does to a cell comes behind all that acts, and so behind the moment of pistons, either way (C2).
        first = self.machine.rules.outside_first and not self.machine.devices[device].drawn
        self.call = wait_of(0 if first else 1, CALLED)
        self.telling = OUTSIDE
        if self.ties is not None:
            self.ties.act(None)
        self.order_class = 0 if first else OUTSIDE_LAST
        self.machine.devices[device].work(self, verb, level)
        moments: list[Moment] = []
        running = [self]
        while running:
            moment = running.pop()
            while moment._pending:
                changed = moment._pending.pop(0)
                moment.telling = changed
                more = moment._tell(changed)
                running += more
                self._split_into(len(running) + len(moments), len(more))
            moment.call = wait_of(0, CALLED)
            moments.append(moment)
        return moments

    def _tell(self, changed: int) -> list[Moment]:
        """Tells everyone who feels that a device has changed. Returns copies for the open orders not taken here."""
        readings, levels = self.readings, self.levels
        begun: list[tuple[int, int]] = []
        still_to_tell = len(self._pending)
        feeling = {}
        for reader in self.machine.readers[changed]:
            level = read(reader.feeds, levels)
            if level != readings[reader.port]:
                readings[reader.port] = level
                if reader.felt:
                    feeling[reader.device] = reader.told
        # Everything has settled: now each device that felt something is told, once, whatever the number of its ports.
        for device, told in feeling.items():
            wait = told(self)
            if wait:
                self.begin(device, wait)
                begun.append((wait, device))
        self._tie(begun)
        return self._split_changes(still_to_tell) if len(self._pending) > still_to_tell + 1 else []

    # Where an order is unknown.

    def _tie(self, begun: list[tuple[int, int]]) -> None:
        """Leaves the order open among the waits begun by one change, where it can matter (rule C5b)."""
        if len(begun) < 2:
            return
        slots: dict[int, list[int]] = {}
        for wait, device in begun:
            slots.setdefault(wait, []).append(device)
        for devices in slots.values():
            if len(devices) > 1:
                for tied in self.machine.orders.that_tie(tuple(devices), self.levels):
                    if self.ties is None:
                        self.ties = Ties()
                    self.ties.tie(tied, self.now)

    def learn(self, known: dict[int, Known]) -> None:
        """Puts all waits into an order that what is known of ties now allows."""
        assert self.ties is not None
        self.ties.known = known
        for devices in self.calendar.values():
            devices[:] = self.ties.arranged(devices, self._matter, range(len(devices)))

    def still_open(self) -> Ties | None:
        """The open orders that can matter still, if there are any."""
        if self.ties is not None:
            work.count(sum(len(devices) ** 2 for devices in self.calendar.values()))
            self.ties.forget(self.calendar.values(), self._matter)
            if not self.ties.descents:
                self.ties = None
        return self.ties

    def _matter(self, one: int, other: int) -> bool:
        return self.machine.orders.matters(one, other, self.levels)

    def _chosen(self, orders: tuple[tuple[int, ...], ...]) -> tuple[tuple[int, ...], ...]:
        """The order that a script asks for, the first where somebody writes down one way, or all."""
        if self.script:
            return (self.script.pop(0),)
        return orders[:1] if self.one_way else orders

    def _split_changes(self, first: int) -> list[Moment]:
        """Splits for the orders in which devices that changed at once, told by one change, tell of it in turn."""
        devices = tuple(self._pending[first:])
        orders = self.machine.orders.that_matter(devices, self.levels)
        if len(orders) == 1:
            return []
        orders = self._chosen(orders)
        twins, before = [self, *(self.copy() for _ in orders[1:])], self.log
        for twin, order in zip(twins, orders, strict=True):
            twin._pending[first:] = order
            twin.log = Log(Order(self.now, order), before)
        return twins[1:]

    @property
    def one_way(self) -> bool:
        """Whether one way only is followed, past the end of the script."""
        return self.recorder is not None and self.recorder.one_way

    # Frozen and thawed.

    def freeze(self) -> State:
        """The state after this gt, with waits in gt to go and in the least of all orders that come to the same."""
        now, orders, levels, ties = self.now, self.machine.orders, self.levels, self.still_open()
        waits = tuple(
            (
                (key >> CLASS_BITS) - now,
                key & CLASS_MASK,
                tuple(ties.arranged(self.calendar[key], self._matter, self.calendar[key]))
                if ties is not None
                else orders.least(self.calendar[key], levels),
            )
            for key in sorted(self._keys)
        )
        window = self.machine.rules.burn_out_window
        offs = []
        for torch in sorted(self.offs):
            ages = tuple(now - off for off in self.offs[torch] if now - off <= window)
            if ages:
                offs.append((torch, ages))
        frozen = NO_TIES if ties is None else ties.frozen(devices for _, _, devices in waits)
        return State(bytes(self.levels), bytes(self.marks), waits, tuple(offs), frozen)


def thaw(machine: Machine, state: State, now: int = 0, notes: Notes = ignore) -> Moment:
    """The moment at gt `now` that freezes into `state`."""
    moment = Moment(machine, now, state.levels, notes)
    moment.marks[:] = state.marks
    for to_go, order_class, devices in state.waits:
        key = (now + to_go) << CLASS_BITS | order_class
        moment.calendar[key] = list(devices)
        moment._keys.append(key)
        for device in devices:
            moment.waiting[device] = 1
    heapify(moment._keys)
    if state.ties.descents:
        moment.ties = Ties(state.ties)
    moment.offs = {torch: [now - age for age in ages] for torch, ages in state.offs}
    return moment
