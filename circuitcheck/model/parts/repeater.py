"""The repeater: a one-way delay of 1t to 4t that can be locked from the side (rules R1 to R6)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.block_type import (
    BlockType,
    Form,
    Gives,
    Ground,
    Joins,
    Placed,
    Pushed,
    Read,
    Reads,
    Tells,
    Wiring,
)
from circuitcheck.model.directions import Facing
from circuitcheck.model.duration import GAME_TICKS_PER_TICK, show
from circuitcheck.model.parts.base import Adjustment, Change, Conducts, Device, Part, Port, Reacting, Reaction, Reason
from circuitcheck.model.parts.kinds import Kind, Option, Request, Takes, from_option, start_option
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import GOING_OFF, GOING_ON, STRAIGHT, wait_of
from circuitcheck.model.rules import FULL_POWER, RuleSet

LONGEST_DELAY = 4 * GAME_TICKS_PER_TICK
DELAYS = tuple(range(GAME_TICKS_PER_TICK, LONGEST_DELAY + 1, GAME_TICKS_PER_TICK))
"""The delays that it can be set to."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeater(Part):
    feeds: tuple[str, ...]
    delay: int
    """In gt: 2, 4, 6 or 8."""
    locks: tuple[str, ...] = ()
    word: ClassVar[str] = "repeater"
    powered_by: ClassVar[tuple[str, ...]] = ("feeds", "locks")
    conducts: ClassVar[Conducts] = Conducts.LEVEL
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = True
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = False
    light: ClassVar[int] = 0

    @property
    def lag(self) -> int:
        return self.delay

    def ports(self) -> tuple[Port, ...]:
        return self.all_ports() if self.locks else self.all_ports()[:1]

    def all_ports(self) -> tuple[Port, ...]:
        return (Port("back", self.feeds), Port("side", self.locks, from_directed=True, carries=False))

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        kind = LockableRepeater if self.locks else RepeaterDevice
        return kind(self, index, ports, self.delay, straight)

    def faults(self) -> tuple[Change, ...]:
        return tuple(
            Change(f"the repeater '{self.name}' is set to {show(delay)}", replace(self, delay=delay))
            for delay in (self.delay - GAME_TICKS_PER_TICK, self.delay + GAME_TICKS_PER_TICK)
            if delay in DELAYS
        )

    def mistakes(self) -> tuple[Change, ...]:
        words = f"repeater '{self.name}' stands at"
        return tuple(
            Change(f"{words} {show(delay)} instead of {show(self.delay)}", replace(self, delay=delay), likely=8)
            for delay in DELAYS
            if delay != self.delay
        )

    def adjustments(self) -> tuple[Adjustment, ...]:
        return (Adjustment("delay", self.delay, DELAYS, timed=True, slows=True),)


class RepeaterDevice(Reacting):
    __slots__ = ("back", "going_off", "going_on", "second")

    def __init__(self, part: Part, index: int, ports: Sequence[int], delay: int, straight: bool) -> None:
        self.back = ports[0]
        self.going_on = wait_of(delay, STRAIGHT if straight else GOING_ON)
        self.going_off = wait_of(delay, STRAIGHT if straight else GOING_OFF)
        self.second = wait_of(delay, GOING_OFF)
        super().__init__(part, index, ports, Reaction(False, self.going_on, self.going_off))

    def act(self, simulator: SimulatorView) -> int:
        index = self.index
        if simulator.readings[self.back]:
            if simulator.levels[index]:
                simulator.note(index, "R4")
            return FULL_POWER
        if simulator.levels[index]:
            return 0
        simulator.begin(index, self.second)
        return FULL_POWER

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (FULL_POWER if low[self.back] else 0, FULL_POWER if high[self.back] else 0)

    def waits_on_change(self, rising: bool | None) -> frozenset[int]:
        either = {self.going_on, self.going_off}
        return frozenset(either if rising is None else {self.going_on if rising else self.going_off})

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        return frozenset() if rising is False else frozenset({self.second})

    def reason(self, level: int) -> Reason:
        return Reason("R2", f"the repeater's delay is over, so it goes {'on' if level else 'off'}")


class LockableRepeater(RepeaterDevice):
    """One with something at its side, which locks it (rule R5)."""

    __slots__ = ("side",)

    def __init__(self, part: Part, index: int, ports: Sequence[int], delay: int, straight: bool) -> None:
        super().__init__(part, index, ports, delay, straight)
        self.side = ports[1]
        self.reaction = None  # what it does depends on its side as well

    def on_input_change(self, simulator: SimulatorView) -> int:
        if simulator.readings[self.side] and (simulator.readings[self.back] > 0) is not (
            simulator.levels[self.index] > 0
        ):
            simulator.note(self.index, "R5")
            return 0
        return super().on_input_change(simulator)

    def act(self, simulator: SimulatorView) -> int:
        if simulator.readings[self.side]:
            return simulator.levels[self.index]  # a wait that ends under the lock is spent (rule R5)
        return super().act(simulator)

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        # It may be locked, and then it keeps what it had.
        return (0, FULL_POWER) if high[self.side] else super().settled(low, high)

    def waits_on_change(self, rising: bool | None) -> frozenset[int]:
        # What feeds it comes on: it is called to go on, or locked. What locks it goes off: it may be called either way.
        return super().waits_on_change(rising or None)


def build(request: Request) -> tuple[Part, ...]:
    delay = request.numbers["delay"]
    if delay % GAME_TICKS_PER_TICK:
        request.fail("CKT305", "a repeater's delay is a whole number of ticks", "1t, 2t, 3t or 4t", word="delay")
    return (
        Repeater(
            name=request.name,
            span=request.span,
            start=request.start,
            feeds=request.feeds("from"),
            delay=delay,
            locks=request.feeds("locked"),
        ),
    )


BLOCK_TYPE = BlockType(
    "repeater",
    "a repeater, giving the way it faces",
    solid=False,
    facing=Facing.AROUND,
    held=(),
    lies=True,
    light="air",
    wiring=Wiring.PART,
    directed=True,
    gives=Gives.FRONT,
    joins=Joins.ENDS,
    tells=Tells.FRONT,
    pushed=Pushed.BREAKS,
    placed=Placed.HELD,
    ground=Ground.OPEN,
    shows=False,
    reads=(Read("from", Reads.BEHIND, "back"), Read("locked", Reads.LOCKS, "side")),
    form=Form.ONE_ARROW,
)
KIND = Kind(
    "repeater",
    "takes any level from behind, waits its delay, gives 15 in front; one way",
    (
        from_option("what stands behind it"),
        Option(
            "delay",
            Takes.DURATION,
            "1t, 2t, 3t or 4t",
            default=GAME_TICKS_PER_TICK,
            least=GAME_TICKS_PER_TICK,
            most=LONGEST_DELAY,
        ),
        Option("locked", Takes.SOURCES, "the repeaters or comparators that point into its side and lock it"),
        start_option(),
    ),
    build,
    (Repeater(name="x", span=NOWHERE, feeds=("y",), delay=GAME_TICKS_PER_TICK, locks=("z",)),),
    block_type=BLOCK_TYPE,
)
