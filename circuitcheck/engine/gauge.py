"""What shows the power of dust or a block while things move: nothing else that is asked for follows their wiring."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.engine.unwritten import Unwritten
from circuitcheck.model.parts.base import Device, Port, Reason
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.rules import RuleSet


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge(Unwritten):
    """It has the name of the dust or block whose power it shows. Nothing reads it but people and what they claim."""

    word: ClassVar[str] = "gauge"
    powerless: ClassVar[str] = "shows power and gives none"

    def ports(self) -> tuple[Port, ...]:
        return (Port("power", (), boolean=False),)

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return GaugeDevice(self, index, ports)


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
