"""The analogue input: any level from 0 to 15, set from outside (rule P1)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.model.rules import RuleSet

from .base import Device, Moment, Part


@dataclass(frozen=True, slots=True, kw_only=True)
class Analogue(Part):
    word: ClassVar[str] = "analogue"
    verbs: ClassVar[frozenset[str]] = frozenset({"is"})

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return AnalogueDevice(self, index, ports)


class AnalogueDevice(Device):
    __slots__ = ()

    def work(self, moment: Moment, verb: str, level: int) -> None:
        if level != moment.levels[self.index]:
            moment.put(self.index, level)

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)
