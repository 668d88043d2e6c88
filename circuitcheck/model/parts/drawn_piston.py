"""The piston of a drawing: its strokes move what stands before it, and with that the wiring (rules M1 to M7)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.model.parts.base import Conducts, Device, Part, Port, Reason, no_adjustments, no_changes
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import (
    ALL_ELSE,
    CALLED,
    GOING_HOME,
    GOING_OUT,
    HOME,
    IS_CALLED,
    IS_CUT_SHORT,
    LANDING,
    OUT,
    wait_of,
)
from circuitcheck.model.rules import RuleSet

STARTS_NEXT = wait_of(1, CALLED)
"""The wait of a piston that is called after pistons have started in this gt (rule M2)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPiston(Part):
    """A piston that moves things. `above` is what powers the place above it, which it reads at each update.

    A piston of a drawing is read as a `Piston` or as a `StuckPiston`, by what feeds it at home; while it runs it is
    either, as its wiring changes.
    """

    feeds: tuple[str, ...]
    above: tuple[str, ...]
    travel: int
    word: ClassVar[str] = "piston"
    powered_by: ClassVar[tuple[str, ...]] = ("feeds", "above")
    conducts: ClassVar[Conducts] = Conducts.NOTHING
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = True
    light: ClassVar[int] = 0
    powerless: ClassVar[str] = "is a piston and carries no power"

    @property
    def lag(self) -> int:
        return self.travel - 1

    def ports(self) -> tuple[Port, ...]:
        return (Port("power", self.feeds), Port("above", self.above, silent=True))

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return DrawnPistonDevice(self, index, ports, self.travel, rules)

    faults = mistakes = no_changes
    adjustments = no_adjustments


class DrawnPistonDevice(Device):
    """Its state says where it is in its stroke, and whether it is called. Its level is whether its head has landed."""

    __slots__ = ("arrives", "lands")

    strokes = True

    def __init__(self, part: Part, index: int, ports: Sequence[int], travel: int, rules: RuleSet) -> None:
        super().__init__(part, index, ports)
        self.arrives = 0 if rules.piston_lands == "late" else wait_of(0, ALL_ELSE)
        """The wait of one that lands in this gt, where a call home waits for the landing (rule M3); else 0."""
        self.lands = wait_of(travel, ALL_ELSE) if self.arrives else wait_of(travel - 1, LANDING)

    def _powered(self, simulator: SimulatorView) -> bool:
        return any(simulator.readings[port] for port in self.ports)

    def on_input_change(self, simulator: SimulatorView) -> int:
        index = self.index
        state = simulator.device_state[index]
        phase, powered = state % IS_CALLED, self._powered(simulator)
        if phase == GOING_HOME or (simulator.starting and not simulator.readings[self.ports[0]]):
            return 0  # deaf, or stuck at the start, which is no update
        if self.arrives and phase in (GOING_OUT, OUT):
            state = simulator.device_state[index] = self._cut_short(simulator, state, powered)
            if phase == GOING_OUT:
                return 0
        if state & IS_CALLED or powered is not (phase == HOME):
            return 0
        if phase == HOME and not simulator.can_start(index):
            return 0
        simulator.device_state[index] = state | IS_CALLED
        return simulator.call

    def _cut_short(self, simulator: SimulatorView, state: int, powered: bool) -> int:
        """The state with whether its power went before it landed, and has not come back: then it lets go (rule O3)."""
        if powered:
            return state & ~IS_CUT_SHORT
        on_its_way = state % IS_CALLED == GOING_OUT and not simulator.holds(self.index, self.arrives)
        return state | IS_CUT_SHORT if on_its_way else state

    def act(self, simulator: SimulatorView) -> int:
        index = self.index
        if simulator.order_class != CALLED:
            simulator.land(index)
            return simulator.levels[index]
        simulator.device_state[index] &= ~IS_CALLED
        phase = simulator.device_state[index] % IS_CALLED
        powered = self._powered(simulator)
        if phase == HOME and powered and simulator.start_out(index):
            simulator.begin(index, self.lands)
        elif phase in (GOING_OUT, OUT) and not powered:
            simulator.start_home(index, phase == GOING_OUT and simulator.holds(index, self.lands))
            simulator.begin(index, self.lands)
        return simulator.levels[index]

    def moved_off(self, simulator: SimulatorView) -> None:
        simulator.device_state[self.index] = HOME

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)  # it starts where it is drawn, at home

    def waits_on_change(self, rising: bool | None) -> frozenset[int]:
        return frozenset({wait_of(0, CALLED), STARTS_NEXT})

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        return frozenset({self.lands})

    def reason(self, level: int) -> Reason:
        return Reason("M3", f"the piston's {'head has landed' if level else 'stroke home has ended'}")
