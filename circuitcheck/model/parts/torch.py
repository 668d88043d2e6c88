"""The torch: an inverter with a delay of 1t that burns out when it is toggled too fast (rules T1 to T6)."""

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
from circuitcheck.model.directions import AROUND, BELOW, Facing
from circuitcheck.model.parts.base import (
    Change,
    Conducts,
    Device,
    Part,
    Port,
    Reacting,
    Reaction,
    Reason,
    no_adjustments,
    no_changes,
)
from circuitcheck.model.parts.kinds import Kind, Request, from_option, start_option
from circuitcheck.model.parts.lever import Lever
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import ALL_ELSE, wait_of
from circuitcheck.model.rules import BURN_OUT_COUNT, FULL_POWER, TORCH_DELAY, RuleSet

WAIT = wait_of(TORCH_DELAY, ALL_ELSE)
TOLD = frozenset({WAIT})


@dataclass(frozen=True, slots=True, kw_only=True)
class Torch(Part):
    feeds: tuple[str, ...]
    word: ClassVar[str] = "torch"
    powered_by: ClassVar[tuple[str, ...]] = ("feeds",)
    conducts: ClassVar[Conducts] = Conducts.LEVEL
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = True
    ends: ClassVar[bool] = False
    light: ClassVar[int] = 7

    @property
    def lag(self) -> int:
        return TORCH_DELAY

    def ports(self) -> tuple[Port, ...]:
        return (Port("block", self.feeds, inverts=True),)

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return TorchDevice(self, index, ports, rules)

    def faults(self) -> tuple[Change, ...]:
        """Stuck on, since nothing powers it; or stuck off, since something holds it down that nobody can throw."""
        held = HeldDown(name=f"{self.name}.stuck", span=NOWHERE, start=FULL_POWER)
        lit = replace(self, feeds=(), start=None)
        dark = replace(self, feeds=(held.name,), start=None)
        return (
            Change(f"the torch '{self.name}' is stuck on", lit),
            Change(f"the torch '{self.name}' is stuck off", dark, added=(held,)),
        )

    mistakes = no_changes
    adjustments = no_adjustments


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldDown(Lever):
    """What keeps a faulty torch dark: a lever that nobody can throw."""

    word: ClassVar[str] = "fault"
    verbs: ClassVar[frozenset[str]] = frozenset()


class TorchDevice(Reacting):
    """Its latest offs stand in the moment: at most eight, and only those can burn it out."""

    __slots__ = ("block", "rest", "window")

    def __init__(self, part: Part, index: int, ports: Sequence[int], rules: RuleSet) -> None:
        super().__init__(part, index, ports, Reaction(inverts=True, going_on=WAIT, going_off=WAIT))
        self.block = ports[0]
        self.window = rules.burn_out_window
        self.rest = rules.burn_out_rest

    def act(self, simulator: SimulatorView) -> int:
        index, now = self.index, simulator.now
        if simulator.levels[index]:
            if not simulator.readings[self.block]:
                simulator.note(index, "T3")
                return FULL_POWER
            if self.window:
                offs = simulator.offs.add(index, now)
                if len(offs) > BURN_OUT_COUNT:
                    del offs[0]
                if len(offs) == BURN_OUT_COUNT and now - offs[0] <= self.window:
                    simulator.note(index, "T4")
                    simulator.defer(index)
            return 0
        offs = simulator.offs.of(index)
        if simulator.readings[self.block]:
            if not offs or now - offs[-1] != self.rest:  # the look after a burn-out is at no pulse
                simulator.note(index, "T3")
            return 0
        # Eight offs within the window burn it out; one exactly a window old still counts.
        return 0 if len(offs) == BURN_OUT_COUNT and now - offs[0] <= self.window else FULL_POWER

    def after(self, simulator: SimulatorView) -> None:
        if self.rest and not simulator.waiting[self.index]:
            simulator.begin(self.index, wait_of(self.rest, ALL_ELSE))

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        if low[self.block]:
            return (0, 0)
        return (0 if high[self.block] else FULL_POWER, FULL_POWER)

    def waits_on_change(self, rising: bool | None) -> frozenset[int]:
        return TOLD

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        burns_out = self.rest and rising is not True
        return frozenset({wait_of(self.rest, ALL_ELSE)}) if burns_out else frozenset()

    def reason(self, level: int) -> Reason:
        words = "its block is unpowered, so it comes on" if level else "its block is powered, so it goes off"
        return Reason("T1", words)


def build(request: Request) -> tuple[Part, ...]:
    return (Torch(name=request.name, span=request.span, start=request.start, feeds=request.feeds("from")),)


BLOCK_TYPE = BlockType(
    "torch",
    "a torch on the block below it, or on one beside it",
    solid=False,
    facing=Facing.NONE,
    held=(BELOW, *AROUND),
    lies=False,
    light="air",
    wiring=Wiring.PART,
    directed=False,
    gives=Gives.AROUND_AND_ABOVE,
    joins=Joins.ALL,
    tells=Tells.TWO_STEPS,
    pushed=Pushed.BREAKS,
    placed=Placed.HELD,
    ground=Ground.OPEN,
    shows=True,
    reads=(Read("from", Reads.HOLDER, "block"),),
    form=Form.POLE,
)
KIND = Kind(
    "torch",
    "on while its block is unpowered: an inverter, or a NOR of several feeds, 1t late",
    (from_option("what powers the block it is attached to", required=False), start_option()),
    build,
    (Torch(name="x", span=NOWHERE, feeds=("y",)),),
    block_type=BLOCK_TYPE,
)
