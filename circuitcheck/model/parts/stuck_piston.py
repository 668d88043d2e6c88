"""The stuck-piston detector: it takes on its arming only when it gets an update (rules D2, D3)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.model.parts.base import Conducts, Device, Part, Port, Reason, no_adjustments, no_changes
from circuitcheck.model.parts.drawn_piston import DrawnPiston
from circuitcheck.model.parts.kinds import Option, Request, Takes
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import ALL_ELSE, CALLED, wait_of
from circuitcheck.model.rules import FULL_POWER, RuleSet

TRAVEL = 3
"""How long a piston travels, in gt: 1.5t (rule O3)."""

STILL, CALLED_TO_MOVE, MOVING = range(3)


def travel_option() -> Option:
    """The `travel` option that all pistons share."""
    return Option("travel", Takes.DURATION, "how long it travels, 1.5t as a rule", default=TRAVEL)


def heard(names: Iterable[str]) -> tuple[Port, ...]:
    """The ports of a piston that hears of changes: of each a port of its own, since each is an update (rule D3)."""
    return tuple(Port("heard", (name,), watches=True, boolean=False) for name in names)


@dataclass(frozen=True, slots=True, kw_only=True)
class StuckPiston(Part):
    arming: tuple[str, ...]
    hears: tuple[str, ...]
    travel: int
    word: ClassVar[str] = "detector"
    powered_by: ClassVar[tuple[str, ...]] = ("arming",)
    conducts: ClassVar[Conducts] = Conducts.LEVEL
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = False
    light: ClassVar[int] = 0

    @property
    def lag(self) -> int:
        return self.travel

    def ports(self) -> tuple[Port, ...]:
        # It can read its arming but can't feel it change (rule D2).
        return (Port("arming", self.arming, silent=True), *heard(self.hears))

    def in_a_drawing(self) -> Part:
        return DrawnPiston(
            name=self.name, span=self.span, start=self.start, feeds=(), above=self.arming, travel=self.travel
        )

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return StuckPistonDevice(self, index, ports, self.travel)

    faults = mistakes = no_changes
    adjustments = no_adjustments


class StuckPistonDevice(Device):
    """Its mark says whether it stands still, is called to move, or moves."""

    __slots__ = ("travel",)

    def __init__(self, part: Part, index: int, ports: Sequence[int], travel: int) -> None:
        super().__init__(part, index, ports)
        self.travel = travel

    def _disagrees(self, simulator: SimulatorView) -> bool:
        return (simulator.readings[self.ports[0]] > 0) is not (simulator.levels[self.index] > 0)

    def on_input_change(self, simulator: SimulatorView) -> int:
        index = self.index
        if simulator.starting:
            return 0  # the start is no update
        if simulator.device_state[index] == STILL and self._disagrees(simulator):
            simulator.device_state[index] = CALLED_TO_MOVE
            return simulator.call
        if simulator.device_state[index] == MOVING:
            simulator.note(index, "D2")
        return 0

    def act(self, simulator: SimulatorView) -> int:
        index = self.index
        if simulator.device_state[index] == MOVING:
            simulator.device_state[index] = STILL
            return FULL_POWER - simulator.levels[index]
        still_called = self._disagrees(simulator)
        simulator.device_state[index] = MOVING if still_called else STILL
        if still_called:
            simulator.begin(index, wait_of(self.travel, ALL_ELSE))
        return simulator.levels[index]

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)

    def waits_on_change(self, rising: bool | None) -> frozenset[int]:
        return frozenset({wait_of(0, CALLED), wait_of(1, CALLED)})

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        return frozenset({wait_of(self.travel, ALL_ELSE)})

    def reason(self, level: int) -> Reason:
        return Reason("D2", f"it got an update while its arming was {'on' if level else 'off'}")


def build_stuck_piston(request: Request) -> tuple[Part, ...]:
    """The detector of a request that names arming and hearing."""
    if not (request.feeds("hears") and request.feeds("arming")) or request.feeds("watches"):
        request.fail(
            "CKT303",
            "a stuck-piston detector needs both 'arming' and 'hears', and no 'watches'",
            "write for example: detector knock arming ready hears pond",
        )
    return (
        StuckPiston(
            name=request.name,
            span=request.span,
            start=request.start,
            arming=request.feeds("arming"),
            hears=request.feeds("hears"),
            travel=request.numbers["travel"],
        ),
    )
