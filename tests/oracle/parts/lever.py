"""The lever: on or off until it is thrown back (rule O1)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.model.rules import FULL_POWER, RuleSet

from .base import (
    Device,
    Moment,
    Part,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lever(Part):
    word: ClassVar[str] = "lever"
    verbs: ClassVar[frozenset[str]] = frozenset({"on", "off", "throw"})

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return LeverDevice(self, index, ports)


class LeverDevice(Device):
    __slots__ = ()

    def work(self, moment: Moment, verb: str, level: int) -> None:
        before = moment.levels[self.index]
        after = {"on": FULL_POWER, "off": 0, "throw": FULL_POWER - before}[verb]
        if after != before:
            moment.put(self.index, after)

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)
