"""What stands for parts outside, where some devices of a circuit are looked at alone: it changes when it is set."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.engine.unwritten import Unwritten
from circuitcheck.model.parts.base import Conducts, Device, Reason
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.rules import FULL_POWER, RuleSet

LEVELS = FULL_POWER + 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Source(Unwritten):
    """Whoever runs the devices enters its changes in the calendar and the levels in its mark."""

    word: ClassVar[str] = "source"
    conducts: ClassVar[Conducts] = Conducts.LEVEL
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    ends: ClassVar[bool] = False

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return SourceDevice(self, index, ports)


class SourceDevice(Device):
    """Its mark is the levels still to come in this gt, packed by `packed`."""

    __slots__ = ()

    def act(self, simulator: SimulatorView) -> int:
        rest, level = divmod(simulator.device_state[self.index], LEVELS)
        simulator.device_state[self.index] = rest
        return level

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, FULL_POWER)

    def reason(self, level: int) -> Reason:
        return Reason("C2", "it changes")


def packed(levels: Sequence[int]) -> int:
    """The mark of a source that is to go to these levels in turn."""
    mark = 0
    for level in reversed(levels):
        mark = mark * LEVELS + level
    return mark
