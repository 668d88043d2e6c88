"""What shows the power of dust or a block while things move: nothing else that is asked for follows their wiring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.model.parts.base import (
    Conducts,
    Device,
    Part,
    Port,
    Reason,
    SimulatorView,
    no_adjustments,
    no_changes,
)
from circuitcheck.model.rules import RuleSet


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge(Part):
    """It has the name of the dust or block whose power it shows. Nothing reads it but people and what they claim."""

    word: ClassVar[str] = "gauge"
    powered_by: ClassVar[tuple[str, ...]] = ()
    conducts: ClassVar[Conducts] = Conducts.NOTHING
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = True
    measures: ClassVar[bool] = True
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = True
    light: ClassVar[int] = 0
    powerless: ClassVar[str] = "shows power and gives none"

    def ports(self) -> tuple[Port, ...]:
        return (Port("power", (), boolean=False),)

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return GaugeDevice(self, index, ports)

    faults = mistakes = no_changes
    adjustments = no_adjustments


class GaugeDevice(Device):
    __slots__ = ()

    zero_delay = True

    def on_input_change(self, simulator: SimulatorView) -> int:
        simulator.show(self.index, simulator.readings[self.ports[0]])
        return 0

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (low[self.ports[0]], high[self.ports[0]])

    def reason(self, level: int) -> Reason:
        return Reason("P3", f"there is {'power' if level else 'no power'}")
