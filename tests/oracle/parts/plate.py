"""The plate: on while somebody stands on it, looked at every 10t from the first step (rule O1)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.model.duration import GAME_TICKS_PER_TICK
from circuitcheck.model.rules import FULL_POWER, RuleSet

from .base import (
    ALL_ELSE,
    Device,
    Moment,
    Part,
    wait_of,
)

LOOK_EVERY = 10 * GAME_TICKS_PER_TICK
NEXT_LOOK = wait_of(LOOK_EVERY, ALL_ELSE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate(Part):
    word: ClassVar[str] = "plate"
    verbs: ClassVar[frozenset[str]] = frozenset({"on", "off"})

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return PlateDevice(self, index, ports)


class PlateDevice(Device):
    """Its mark is 1 while somebody stands on it."""

    __slots__ = ()

    def work(self, moment: Moment, verb: str, level: int) -> None:
        moment.marks[self.index] = int(verb == "on")
        if verb == "on" and not moment.waiting[self.index]:
            moment.begin(self.index, NEXT_LOOK)
            moment.put(self.index, FULL_POWER)

    def act(self, moment: Moment) -> int:
        if not moment.marks[self.index]:
            return 0
        moment.begin(self.index, NEXT_LOOK)
        return FULL_POWER

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        return frozenset({NEXT_LOOK})
