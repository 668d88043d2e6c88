"""The analogue input: any level from 0 to 15, set from outside (rule P1)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.parts.base import Conducts, Device, Part, Reason, no_adjustments, no_changes
from circuitcheck.model.parts.kinds import Kind, Request, start_option
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.rules import RuleSet


@dataclass(frozen=True, slots=True, kw_only=True)
class Analogue(Part):
    word: ClassVar[str] = "analogue"
    verbs: ClassVar[frozenset[str]] = frozenset({"is"})
    powered_by: ClassVar[tuple[str, ...]] = ()
    conducts: ClassVar[Conducts] = Conducts.LEVEL
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = True
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = False
    light: ClassVar[int] = 0

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return AnalogueDevice(self, index, ports)

    faults = mistakes = no_changes
    adjustments = no_adjustments


class AnalogueDevice(Device):
    __slots__ = ()

    def drive(self, simulator: SimulatorView, verb: str, level: int) -> None:
        if level != simulator.levels[self.index]:
            simulator.set_level(self.index, level)

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)

    def reason(self, level: int) -> Reason:
        return Reason("P1", f"the input is set to {level}")


def build(request: Request) -> tuple[Part, ...]:
    return (Analogue(name=request.name, span=request.span, start=request.start),)


KIND = Kind(
    "analogue",
    "an input of any level from 0 to 15",
    (start_option("its level at the start, from 0 to 15", **{str(level): level for level in range(16)}),),
    build,
    (Analogue(name="x", span=NOWHERE),),
    block_type=None,
)
