"""The solid block: strongly powered by parts, weakly by dust, never by a block (rule P4)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from .base import Part, Port


@dataclass(frozen=True, slots=True, kw_only=True)
class Block(Part):
    """A solid block. What feeds it decides its strength: dust powers it weakly, everything else strongly."""

    feeds: tuple[str, ...]
    word: ClassVar[str] = "block"

    def ports(self) -> tuple[Port, ...]:
        return (Port("power", self.feeds),)
