"""What a stuck piston of a drawing moves, where the light on cells goes by it: while it runs, a device with a level."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.engine.unwritten import Unwritten
from circuitcheck.model.parts.base import Device, Reason
from circuitcheck.model.rules import RuleSet


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowedBlock(Unwritten):
    """It is on while what its piston moves is away from its home. It has no ports: strokes give it its level."""

    word: ClassVar[str] = "pushed block"
    graded: ClassVar[bool] = False
    powerless: ClassVar[str] = "is a block that is moved and gives no power"

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return FollowedBlockDevice(self, index, ports)


class FollowedBlockDevice(Device):
    __slots__ = ()

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)  # where it stands at the start is worked out apart

    def reason(self, level: int) -> Reason:
        return Reason("M4", f"what the piston moved is {'away from' if level else 'at'} its home")
