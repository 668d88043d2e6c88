"""The sensor: cells that change at random with the light above them (rules X1 to X3), for detectors to watch.

A cell is on while it is grown, or is what its author has it become. It gives no power: detectors watch it. To hands and
to the prover it is an input that may change whenever it likes; how likely that is, is worked out in `chance`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.model.rules import RuleSet

from .base import (
    Device,
    Part,
)
from .lever import LeverDevice


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell(Part):
    """One cell of a sensor. What chance makes of it is nothing to the engine: it changes when it is told to."""

    word: ClassVar[str] = "sensor"
    verbs: ClassVar[frozenset[str]] = frozenset({"on", "off", "throw"})

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return CellDevice(self, index, ports)


class CellDevice(LeverDevice):
    """Told to change it does as a lever does: it stays until it is told again."""

    __slots__ = ()

    drawn: ClassVar[bool] = True
