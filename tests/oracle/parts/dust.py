"""Dust: a line that loses one level a dust, joined both ways to every line it names (rules P2, P3, P5)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from .base import Part, Port

CARRIES = 15
"""How many dust a full signal carries (rule P2)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dust(Part):
    """A line of `length` dust. It is fed at its first dust and read at its last.

    A source that is itself dust touches the first dust with its own last one: the two are one wire.
    """

    feeds: tuple[str, ...]
    length: int
    word: ClassVar[str] = "dust"

    def ports(self) -> tuple[Port, ...]:
        return (Port("start", self.feeds),)


@dataclass(frozen=True, slots=True, kw_only=True)
class Run(Part):
    """Dust as it is read at one place of a drawing: what reaches it, and how many levels are lost on the way.

    Which ways power takes in space is worked out once (`circuitcheck.space`), so that a run needs no length.
    """

    feeds: tuple[str, ...]
    lost: tuple[int, ...]
    """For each of `feeds`, the levels lost before it comes here."""
    word: ClassVar[str] = "dust"

    def ports(self) -> tuple[Port, ...]:
        return (Port("start", self.feeds),)
