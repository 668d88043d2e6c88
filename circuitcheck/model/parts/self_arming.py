"""The stuck piston whose arming comes through its own block, in text: the rows of rule M12.

It is built out of four parts, as it stands: what its block does to a line through its out place, which is what the
detector gives (`NAME`); the piston, by whether its block is away from home (`NAME.block`); the line through the block's
home (`NAME.line`); and what powers the place above (`NAME.above`): a repeater, or dust where that notices at once. Its
strokes land late (rule M3).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.duration import GAME_TICKS_PER_TICK
from circuitcheck.model.parts.base import Conducts, Device, Part, Port, Reason, no_adjustments, no_changes
from circuitcheck.model.parts.dust import Dust
from circuitcheck.model.parts.kinds import Request
from circuitcheck.model.parts.own_block import HEAD_HEARS, HEARS_ITSELF, OWN_BLOCK
from circuitcheck.model.parts.repeater import Repeater
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.stuck_piston import TRAVEL, heard
from circuitcheck.model.parts.waits import CALLED, LANDING, wait_of
from circuitcheck.model.rules import FULL_POWER, RuleSet

LATE_ENOUGH = 2 * GAME_TICKS_PER_TICK
"""From this delay on, its power goes when its head has landed, so that the head can hear it go."""
LANDS = wait_of(TRAVEL - 1, LANDING)
CALLS = frozenset({wait_of(0, CALLED), wait_of(1, CALLED)})
STANDS, LET_GO, STARTING, GOING_OUT, GOING_HOME = range(5)
"""Where its stroke is: it stands, home or out as its block is; home, its block let go; in its own start; on its way."""
NOTHING, HEAD_LANDS, HEAD_CALLS = range(3)
"""What its head waits for."""


class _Piece(Part):
    """What all its parts answer alike."""

    __slots__ = ()

    word: ClassVar[str] = "detector"
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    light: ClassVar[int] = 0

    faults = mistakes = no_changes
    adjustments = no_adjustments


@dataclass(frozen=True, slots=True, kw_only=True)
class SelfArming(_Piece):
    """The head and what it gives: power while its block stands in its out place. `above` is what arms it."""

    piston: str
    above: str
    by_head: bool
    powered_by: ClassVar[tuple[str, ...]] = ()
    conducts: ClassVar[Conducts] = Conducts.LEVEL
    ends: ClassVar[bool] = False

    @property
    def lag(self) -> int:
        return TRAVEL - 1

    @property
    def arms_itself(self) -> bool:
        return True

    @property
    def stuck(self) -> bool:
        return True

    def ports(self) -> tuple[Port, ...]:
        return (
            Port("above", (self.above,), watches=True, silent=not self.by_head),
            Port("block", (self.piston,), watches=True, silent=True),
        )

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return SelfArmingDevice(self, index, ports)


@dataclass(frozen=True, slots=True, kw_only=True)
class ArmingBlock(_Piece):
    """The piston itself, seen by its block: 15 while that is away from home, or on its way."""

    head: str
    above: tuple[str, ...]
    hears: tuple[str, ...]
    powered_by: ClassVar[tuple[str, ...]] = ("above",)
    conducts: ClassVar[Conducts] = Conducts.NOTHING
    ends: ClassVar[bool] = True
    powerless: ClassVar[str] = "is a piston and carries no power"

    def ports(self) -> tuple[Port, ...]:
        return (
            Port("arming", self.above, silent=True),
            Port("head", (self.head,), watches=True, silent=True),
            *heard(self.hears),
        )

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return ArmingBlockDevice(self, index, ports)


@dataclass(frozen=True, slots=True, kw_only=True)
class LineThroughHome(_Piece):
    """The line through the home of a block: it carries its arming while the block is there (rule M9)."""

    feeds: tuple[str, ...]
    block: str
    powered_by: ClassVar[tuple[str, ...]] = ("feeds",)
    conducts: ClassVar[Conducts] = Conducts.LEVEL
    ends: ClassVar[bool] = True

    def ports(self) -> tuple[Port, ...]:
        return (Port("power", self.feeds), Port("block", (self.block,), watches=True))

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return LineThroughHomeDevice(self, index, ports)


class _StrokeDevice(Device):
    """What the piston and its head share: both can send the block home. Where the stroke is, is kept at the piston."""

    __slots__ = ()

    def waits_on_change(self, rising: bool | None) -> frozenset[int]:
        return CALLS | {LANDS}  # the other one may begin it for this one

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        return CALLS | {LANDS}

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)

    def _armed(self, simulator: SimulatorView) -> bool:
        return simulator.readings[self.ports[0]] > 0


class ArmingBlockDevice(_StrokeDevice):
    __slots__ = ()

    beside = -1

    def _is_out(self, simulator: SimulatorView) -> bool:
        """Whether it is out, or on its way there: then it hears, and can be called home (rule M4)."""
        phase = simulator.device_state[self.index]
        return phase == GOING_OUT or (phase == STANDS and simulator.levels[self.index] > 0)

    def on_input_change(self, simulator: SimulatorView) -> int:
        index = self.index
        phase = simulator.device_state[index]
        if simulator.starting or phase == STARTING:
            return 0  # the start is no update, and to its own one it does not react (rule M5)
        if phase == GOING_HOME:
            simulator.note(index, "D2")
        if simulator.waiting[index]:
            return 0
        return simulator.call if self._armed(simulator) is not self._is_out(simulator) else 0

    def act(self, simulator: SimulatorView) -> int:
        index = self.index
        if simulator.device_state[index] == GOING_HOME:
            return self._land(simulator)
        out = self._is_out(simulator)
        if out and not self._armed(simulator):
            self._start_home(simulator)
        elif not out and self._armed(simulator):
            simulator.device_state[index] = STARTING
            simulator.defer(index)
            simulator.device_state[index + self.beside] = HEAD_LANDS
            simulator.begin(index + self.beside, LANDS)
            return FULL_POWER
        return simulator.levels[index]

    def after(self, simulator: SimulatorView) -> None:
        simulator.device_state[self.index] = GOING_OUT

    def _start_home(self, simulator: SimulatorView) -> None:
        """Its block comes along, or lands where it is going to and is let go, where its head is still on its way."""
        index, head = self.index, self.index + self.beside
        let_go = simulator.device_state[index] == GOING_OUT
        simulator.device_state[index] = GOING_HOME
        simulator.begin(index, LANDS)
        if let_go:
            simulator.device_state[head] = NOTHING
        if (simulator.levels[head] > 0) is not let_go:
            simulator.set_level(head, FULL_POWER if let_go else 0)

    def reason(self, level: int) -> Reason:
        return Reason("M9", f"the block of the stuck piston {'leaves home' if level else 'is home again'}")

    def _land(self, simulator: SimulatorView) -> int:
        index = self.index
        without = simulator.levels[index + self.beside] > 0
        simulator.device_state[index] = LET_GO if without else STANDS
        if self._armed(simulator):
            simulator.begin(index, simulator.call)
        return FULL_POWER if without else 0


class SelfArmingDevice(_StrokeDevice):
    __slots__ = ()

    beside = 1

    def reason(self, level: int) -> Reason:
        return Reason("M9", f"the block of the stuck piston {'has come to' if level else 'leaves'} its out place")

    def _out_in_vain(self, simulator: SimulatorView) -> bool:
        """Whether the head has landed, the piston is not on its way home, and there is no power any more."""
        piston = self.index + self.beside
        out = simulator.device_state[piston] == STANDS and simulator.levels[piston] > 0
        return out and not self._armed(simulator)

    def on_input_change(self, simulator: SimulatorView) -> int:
        index = self.index
        if simulator.starting or simulator.waiting[index] or not self._out_in_vain(simulator):
            return 0
        simulator.device_state[index] = HEAD_CALLS
        return simulator.call

    def act(self, simulator: SimulatorView) -> int:
        index, piston = self.index, self.index + self.beside
        waited, simulator.device_state[index] = simulator.device_state[index], NOTHING
        if waited == HEAD_LANDS:
            simulator.device_state[piston] = STANDS
            if self._out_in_vain(simulator):
                simulator.device_state[index] = HEAD_CALLS
                simulator.begin(index, simulator.call)
            return FULL_POWER
        if waited == HEAD_CALLS and self._out_in_vain(simulator) and not simulator.waiting[piston]:
            # Where the piston is called itself it starts in this very moment, and there is nothing to do.
            simulator.device_state[piston] = GOING_HOME
            simulator.begin(piston, LANDS)
            return 0
        return simulator.levels[index]


class LineThroughHomeDevice(Device):
    __slots__ = ()

    zero_delay = True

    def on_input_change(self, simulator: SimulatorView) -> int:
        power, block = (simulator.readings[port] for port in self.ports)
        level = FULL_POWER if power and not block else 0
        if level != simulator.levels[self.index]:
            simulator.set_level(self.index, level)
        return 0

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        power, block = self.ports
        least, most = low[power] and not high[block], high[power] and not low[block]
        return (FULL_POWER if least else 0, FULL_POWER if most else 0)

    def reason(self, level: int) -> Reason:
        return Reason("M9", f"the line through the home of the block is {'powered' if level else 'cut'}")


SAMPLES: tuple[Part, ...] = (
    SelfArming(name="x", span=NOWHERE, piston="y", above="z", by_head=True),
    ArmingBlock(name="x", span=NOWHERE, head="y", above=("z",), hears=("w",)),
    LineThroughHome(name="x", span=NOWHERE, feeds=("y",), block="z"),
)


def _refused(request: Request) -> bool:
    """Refuses what means nothing, with one mistake."""
    delay, flags = request.numbers[OWN_BLOCK], request.flags
    if "travel" in request.spans:
        request.refuse(("travel",), "the rows of what its own block does are those of a travel of 1.5t")
    elif delay % GAME_TICKS_PER_TICK:
        request.fail("CKT305", f"'{OWN_BLOCK}' takes a whole number of ticks", "0gt, or 1t to 4t", OWN_BLOCK)
    elif {HEARS_ITSELF, HEAD_HEARS} <= flags:
        request.refuse((HEAD_HEARS,), "what is always heard is heard while the head is out, too")
    elif flags and not delay:
        request.refuse(tuple(sorted(flags)), "dust beside its own block, with no delay, is always heard")
    elif HEAD_HEARS in flags and delay < LATE_ENOUGH:
        request.refuse((HEAD_HEARS,), "its power goes before its head lands; from 2t on it goes later")
    elif not request.feeds("arming"):
        request.fail("CKT303", "a stuck piston that its own block arms needs 'arming'", EXAMPLE, OWN_BLOCK)
    elif not request.feeds("hears") and delay and HEARS_ITSELF not in flags:
        request.fail("CKT303", "nothing ever updates this stuck piston: it needs 'hears'", EXAMPLE, OWN_BLOCK)
    else:
        return False
    return True


EXAMPLE = "write for example: detector knock arming ready hears pond own_block 1t"


def build_self_arming(request: Request) -> tuple[Part, ...]:
    """The detector of a request that says how much later its own block arms it."""
    if _refused(request):
        return ()
    name, span, delay = request.name, request.span, request.numbers[OWN_BLOCK]
    block, line, above = f"{name}.block", f"{name}.line", f"{name}.above"
    own = (above,) if not delay or HEARS_ITSELF in request.flags else ()
    return (
        SelfArming(
            name=name, span=span, start=request.start, piston=block, above=above, by_head=HEAD_HEARS in request.flags
        ),
        ArmingBlock(
            name=block, span=span, start=request.start, head=name, above=(above,), hears=(*request.feeds("hears"), *own)
        ),
        LineThroughHome(name=line, span=span, feeds=request.feeds("arming"), block=block),
        Repeater(name=above, span=span, feeds=(line,), delay=delay)
        if delay
        else Dust(name=above, span=span, feeds=(line,), length=1),
    )
