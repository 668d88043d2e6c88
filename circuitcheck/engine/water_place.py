"""A place of a drawing that water can reach (rules Z1, Z2): while it runs, each is a device with a level of its own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.engine.unwritten import Unwritten
from circuitcheck.model.parts.base import Device, Part, Reason
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import ALL_ELSE, LOOKS, wait_of
from circuitcheck.model.rules import RuleSet


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterPlace(Unwritten):
    """A place that water can reach. Its level is 0 while it is dry, 1 to 7, 8 as a source, 9 where it falls."""

    word: ClassVar[str] = "water"
    powerless: ClassVar[str] = "is water and gives no power"

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return WaterDevice(self, index, ports, rules)


class WaterDevice(Device):
    """Updated while there is water, it looks later, one look at a time; a look takes its level and spreads."""

    __slots__ = ("looks",)

    flows = True

    def __init__(self, part: Part, index: int, ports: Sequence[int], rules: RuleSet) -> None:
        super().__init__(part, index, ports)
        self.looks = wait_of(rules.water_step, LOOKS if rules.water_looks == "after_waits" else ALL_ELSE)

    def on_input_change(self, simulator: SimulatorView) -> int:
        # It is at rest at the start, and its look may outlast the water: a stroke can take that meanwhile.
        if simulator.starting or simulator.waiting[self.index] or not simulator.levels[self.index]:
            return 0
        return self.looks

    def act(self, simulator: SimulatorView) -> int:
        if not simulator.levels[self.index]:
            return 0
        level = simulator.water_level(self.index)
        if level:
            simulator.defer(self.index)
        return level

    def after(self, simulator: SimulatorView) -> None:
        simulator.spread(self.index)

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)  # what stands there at the start is worked out apart

    def waits_on_change(self, rising: bool | None) -> frozenset[int]:
        return frozenset({self.looks})

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        return frozenset({self.looks})

    def reason(self, level: int) -> Reason:
        if not level:
            return Reason("Z6", "nothing feeds the water there any more")
        if level == 8:
            return Reason("Z5", "two sources beside the water make it a source")
        return Reason("Z3", "water falls there") if level > 8 else Reason("Z1", f"water flows there at level {level}")
