"""The plate: on while somebody stands on it, looks every 10t from the first step (rule O1)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.duration import GAME_TICKS_PER_TICK
from circuitcheck.model.parts.base import Conducts, Device, Part, Reason, no_adjustments, no_changes
from circuitcheck.model.parts.kinds import Kind, Request
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import ALL_ELSE, wait_of
from circuitcheck.model.rules import FULL_POWER, RuleSet

LOOK_EVERY = 10 * GAME_TICKS_PER_TICK
NEXT_LOOK = wait_of(LOOK_EVERY, ALL_ELSE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate(Part):
    word: ClassVar[str] = "plate"
    verbs: ClassVar[frozenset[str]] = frozenset({"on", "off"})
    powered_by: ClassVar[tuple[str, ...]] = ()
    conducts: ClassVar[Conducts] = Conducts.LEVEL
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = False
    light: ClassVar[int] = 0

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return PlateDevice(self, index, ports)

    faults = mistakes = no_changes
    adjustments = no_adjustments


class PlateDevice(Device):
    """Its mark is 1 while somebody stands on it."""

    __slots__ = ()

    def drive(self, simulator: SimulatorView, verb: str, level: int) -> None:
        simulator.device_state[self.index] = int(verb == "on")
        if verb == "on" and not simulator.waiting[self.index]:
            simulator.begin(self.index, NEXT_LOOK)
            simulator.set_level(self.index, FULL_POWER)

    def act(self, simulator: SimulatorView) -> int:
        if not simulator.device_state[self.index]:
            return 0
        simulator.begin(self.index, NEXT_LOOK)
        return FULL_POWER

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        return frozenset({NEXT_LOOK})

    def reason(self, level: int) -> Reason:
        return Reason("O1", "somebody steps on the plate" if level else "a look finds nobody on the plate")


def build(request: Request) -> tuple[Part, ...]:
    return (Plate(name=request.name, span=request.span),)


KIND = Kind(
    "plate",
    "gives 15 while somebody stands on it, looks every 10t",
    (),
    build,
    (Plate(name="x", span=NOWHERE),),
    block_type=None,
)
