"""The button: gives a pulse of fixed length when pressed (rule O1)."""

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

SHORT_HOLD = 10 * GAME_TICKS_PER_TICK
LONG_HOLD = 15 * GAME_TICKS_PER_TICK


@dataclass(frozen=True, slots=True, kw_only=True)
class Button(Part):
    hold: int
    """How long it stays pressed, in gt."""
    word: ClassVar[str] = "button"
    verbs: ClassVar[frozenset[str]] = frozenset({"press"})

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return ButtonDevice(self, index, self.hold)


class ButtonDevice(Device):
    __slots__ = ("hold",)

    def __init__(self, part: Part, index: int, hold: int) -> None:
        super().__init__(part, index, ())
        self.hold = hold

    def work(self, moment: Moment, verb: str, level: int) -> None:
        if moment.waiting[self.index]:
            return  # a press while it is held is ignored
        moment.begin(self.index, wait_of(self.hold, ALL_ELSE))
        moment.put(self.index, FULL_POWER)

    def act(self, moment: Moment) -> int:
        return 0

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        return frozenset({wait_of(self.hold, ALL_ELSE)})
