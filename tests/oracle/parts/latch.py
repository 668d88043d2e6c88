"""The latches, each out of real parts: set–reset of two torches (L1), data of a locked repeater (R5)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from .base import (
    Part,
    Port,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Latch(Part):
    """The name and the two inputs of a set–reset latch; its two torches are parts of their own.

    The latch side is the torch of the latch's own name, the other is `NAME.inverse`.
    """

    set_by: tuple[str, ...]
    reset_by: tuple[str, ...]
    word: ClassVar[str] = "latch"

    def ports(self) -> tuple[Port, ...]:
        return (Port("set", self.set_by), Port("reset", self.reset_by))
