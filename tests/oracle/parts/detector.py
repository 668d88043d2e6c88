"""The pulse detector: one pulse for each change of the one thing it watches (rule D1)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.model.rules import FULL_POWER, RuleSet

from .base import (
    ALL_ELSE,
    Device,
    Moment,
    Part,
    Port,
    wait_of,
)

IDLE, CALLED_UP, PULSING, REARMING = range(4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Detector(Part):
    """Durations in gt. `rearm` is how long after its pulse it misses changes (rule D3's one-pulse builds)."""

    watches: tuple[str, ...]
    delay: int
    pulse: int
    rearm: int
    word: ClassVar[str] = "detector"

    def ports(self) -> tuple[Port, ...]:
        return (Port("watched", self.watches, watches=True, boolean=False),)

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return DetectorDevice(self, index, ports, self)


class DetectorDevice(Device):
    """Its mark says which of its four phases it is in."""

    __slots__ = ("called_up", "pulsing", "rearming")

    def __init__(self, part: Part, index: int, ports: Sequence[int], settings: Detector) -> None:
        super().__init__(part, index, ports)
        self.called_up = wait_of(settings.delay, ALL_ELSE)
        self.pulsing = wait_of(settings.pulse, ALL_ELSE)
        self.rearming = wait_of(settings.rearm, ALL_ELSE) if settings.rearm else 0

    def told(self, moment: Moment) -> int:
        if moment.starting:
            return 0  # being told at the start is no change of what it watches
        if moment.marks[self.index] != IDLE:
            moment.note(self.index, "D1")
            return 0
        moment.marks[self.index] = CALLED_UP
        return self.called_up

    def act(self, moment: Moment) -> int:
        index = self.index
        phase = moment.marks[index]
        if phase == CALLED_UP:
            moment.marks[index] = PULSING
            # Its going off is fixed now, before those it feeds are told (rule D1).
            moment.begin(index, self.pulsing)
            return FULL_POWER
        rearms = phase == PULSING and self.rearming
        moment.marks[index] = REARMING if rearms else IDLE
        if rearms:
            moment.begin(index, self.rearming)
        return 0

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)

    def told_waits(self, rising: bool | None) -> frozenset[int]:
        return frozenset({self.called_up})

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        waits = {self.pulsing} if rising else {self.rearming} if rising is False else {self.pulsing, self.rearming}
        return frozenset(waits - {0})
