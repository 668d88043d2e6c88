"""The working memory of a simulator: what a circuit holds at one time, and what devices see of it and do to it.

A memory is in absolute time. Between two gt a snapshot of it is a `State`, in which waits are in gt to go.

Ownership: devices begin waits and say what level they give; only the kernel and what stands around it (`engine.kernel`,
`engine.simulator`) lets waits be over.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import MutableSequence, Sequence
from heapq import heapify, heappop, heappush
from typing import TYPE_CHECKING, Protocol, Self

from circuitcheck.engine import work
from circuitcheck.engine.offs import LatestOffs
from circuitcheck.engine.program import Program
from circuitcheck.engine.state import Log, Notes, Trail
from circuitcheck.engine.ties import Ties
from circuitcheck.model.parts.waits import CALLED, CLASS_BITS, LANDING, wait_of

if TYPE_CHECKING:
    from circuitcheck.engine.water_flow import Spread
    from circuitcheck.model.drawing import At
    from circuitcheck.space.configuration import Configuration
    from circuitcheck.space.strokes import Step

CLASS_MASK = (1 << CLASS_BITS) - 1
ACTING, OUTSIDE = -1, -2
OUTSIDE_LAST = LANDING + 1
"""The order class of outside actions; 0 where they come first."""


class Recorder(Protocol):
    """Writes down what happens while a simulator runs."""

    one_way: bool
    """Whether one way only is to be written down: then the first of each open choice is taken."""

    def began(self, memory: Memory, device: int) -> None:
        """A device has begun a wait."""

    def changed(self, memory: Memory, device: int, level: int) -> None:
        """A device is about to change its level."""

    def stroked(self, memory: Memory, piston: int, rule: str, words: str, left: Sequence[At]) -> None:
        """A piston starts to move: by which rule, what it does, and the places that what it moves leaves."""


class Memory(ABC):
    """The working memory of one circuit at one time. Implements what devices see (`model.parts.base.SimulatorView`).

    Levels, readings and the like are lists where a simulator of a small circuit is kept from gt to gt: reading a list
    is faster. In a large one, and where it runs for one gt only, they are byte arrays, which are copied, and put into a
    state and taken from there, all but for nothing.
    """

    __slots__ = (
        "acting",
        "calendar",
        "configuration",
        "deferred",
        "device_state",
        "keys",
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
    offs: LatestOffs

    def _set_up(self, program: Program, now: int, notes: Notes) -> None:
        """All but what has a value for each device or port."""
        self.program = program
        self.wiring = program.wiring
        """The wiring of the moment."""
        self.configuration: Configuration | None = None
        """What is not where it is drawn, where things move."""
        self.steps: dict[int, Step] = {}
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
        self.keys: list[int] = []
        self.acting: list[int] = []
        self.pending: list[int] = []
        self.deferred: list[int] = []

    def copy(self) -> Self:
        """A simulator of its own with the same contents."""
        twin = object.__new__(type(self))
        twin.program, twin.wiring, twin.now = self.program, self.wiring, self.now
        twin.notes, twin.log = self.notes, self.log
        twin.configuration, twin.steps, twin.spreads = self.configuration, self.steps.copy(), self.spreads.copy()
        twin.levels, twin.device_state = self.levels[:], self.device_state[:]
        twin.waiting, twin.readings = self.waiting[:], self.readings[:]
        twin.offs = self.offs.copy(self.now)
        twin.calendar = {key: devices[:] for key, devices in self.calendar.items()}
        twin.script, twin.starting, twin.telling = self.script, self.starting, self.telling
        twin.recorder, twin.trail = self.recorder, self.trail
        twin.order_class = self.order_class
        twin.ties = None if self.ties is None else self.ties.copy()
        twin.keys, twin.acting, twin.pending = self.keys[:], self.acting[:], self.pending[:]
        twin.deferred = self.deferred[:]
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
            heappush(self.keys, key)
        if self.ties is not None:
            self.ties.begin((device, key))
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
        self.deferred.append(device)

    def note(self, device: int, rule: str) -> None:
        """Records what a device noted of itself."""
        self.notes(self.now, device, rule)

    def holds(self, device: int, wait: int) -> bool:
        """Whether the device holds the wait that it would hold had it begun `wait` now."""
        key = (self.now << CLASS_BITS) + wait
        return device in self.calendar.get(key, ()) or (wait >> CLASS_BITS == 0 and device in self.acting)

    def show(self, device: int, level: int) -> None:
        """Changes a level that nobody reads but people."""
        if level != self.levels[device]:
            if self.recorder is not None:
                self.recorder.changed(self, device, level)
            self.levels[device] = level

    def make(self, piston: int, step: Step) -> None:
        """Has a step of a stroke told as a change of its piston, before the next device acts."""
        self.steps[piston] = step
        self.pending.append(piston)

    def drop_waits(self, device: int) -> None:
        """A device loses every wait that it holds: it is moved off (rules M10, M11)."""
        for key in [key for key, devices in self.calendar.items() if device in devices]:
            self.calendar[key].remove(device)
            if not self.calendar[key]:
                del self.calendar[key]
                self.keys.remove(key)
                heapify(self.keys)
        if device in self.acting:
            self.acting.remove(device)
        if self.ties is not None:
            self.ties.drop(device)
        self.waiting[device] = 0

    # What strokes and water do: see `engine.simulator`, which has the wiring to say it.

    @abstractmethod
    def can_start(self, piston: int) -> bool: ...
    @abstractmethod
    def start_out(self, piston: int) -> bool: ...
    @abstractmethod
    def start_home(self, piston: int, started_now: bool) -> None: ...
    @abstractmethod
    def land(self, piston: int) -> None: ...
    @abstractmethod
    def water_level(self, device: int) -> int: ...
    @abstractmethod
    def spread(self, device: int) -> None: ...

    # What the kernel does.

    def take_slot(self) -> None:
        """The devices of the next slot act now, in their order."""
        key = heappop(self.keys)
        self.order_class = key & CLASS_MASK
        self.acting += reversed(self.calendar.pop(key))

    def take_turn(self, device: int) -> None:
        """A device is about to act, where an order is open or somebody writes down what happens."""
        self.telling = ACTING
        if self.ties is not None:
            self.ties.act((device, self.now << CLASS_BITS | self.order_class))

    def is_changing(self, device: int, level: int) -> None:
        """A device that has acted is about to change its level, where somebody may write it down."""
        if self.recorder is not None:
            self.recorder.changed(self, device, level)

    def next_due(self) -> int | None:
        """The gt in which the next wait is over, or None while nothing waits."""
        return self.keys[0] >> CLASS_BITS if self.keys else None

    def due(self, at: int) -> int:
        """How many waits are over by a gt."""
        limit = (at + 1) << CLASS_BITS
        return sum(len(devices) for key, devices in self.calendar.items() if key < limit)

    # Where an order is unknown.

    def still_open(self) -> Ties | None:
        """The open orders that can matter still, if there are any."""
        if self.ties is not None:
            slots = self.slots_that_tie()
            work.count(sum(len(devices) ** 2 for _, devices in slots))
            self.ties.forget(slots, self.matter)
            if not self.ties.descents:
                self.ties = None
        return self.ties

    def slots_that_tie(self) -> list[tuple[int, list[int]]]:
        """The slots of the calendar in which an order may be open, each with its devices."""
        return list(self.calendar.items())

    def matter(self, one: int, other: int) -> bool:
        """Whether it can matter which of two devices that wait acts first."""
        return self.wiring.orders.matters(one, other, self.levels)

    @property
    def one_way(self) -> bool:
        """Whether one way only is followed, past the end of the script."""
        return self.recorder is not None and self.recorder.one_way
