"""Cells that change at random: what a change takes, and how likely it is (rules X1 to X5).

A kind whose parts are drawn by chance answers `Part.cell` with what is said here of a cell; what is computed of it is
in `chance`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import IntEnum
from math import comb
from typing import TYPE_CHECKING, NamedTuple, Protocol

from circuitcheck.diagnostics import Span
from circuitcheck.model.light import FULL_SUN
from circuitcheck.model.rules import Chance, RuleSet

if TYPE_CHECKING:
    from circuitcheck.model.parts.base import Part

DARK_BELOW = 4
"""A cell fades in light below this, and a bare one is grown over from this on (rules X2, X3)."""
SPREADS_FROM = 9
"""A grown cell grows over others from this light on (rule X3)."""
TRIES = 4
PLACES = 45
"""A grown cell that is drawn makes so many tries, each at one of so many places, all alike likely (rule X3)."""


class HeldBack(IntEnum):
    """Whether the block right above a cell holds light back: not, as shallow water does, or as all else does (Z9)."""

    NOT = 0
    SHALLOW = 1
    FULLY = 2


class Need(NamedTuple):
    """What a change takes: light from `least` to `most`, and a block above that holds light back, or that does not."""

    least: int = 0
    most: int = FULL_SUN
    held_back: bool | None = None
    """None where it makes no difference."""
    fully: bool = False
    """Whether shallow water, of a level below 8, does not hold enough back for it (setting `flow_fades`)."""

    def fits(self, held_back: HeldBack) -> bool:
        """Whether what is right above a cell is as it takes."""
        if not self.held_back:
            return self.held_back is None or held_back is HeldBack.NOT
        return held_back >= (HeldBack.FULLY if self.fully else HeldBack.SHALLOW)

    def met(self, light: int, held_back: HeldBack) -> bool:
        """Whether a cell in such light, with such a block right above it, has what it takes."""
        return self.least <= light <= self.most and self.fits(held_back)


@dataclass(frozen=True, slots=True)
class Becoming:
    """A change that the author names: to on or off, with a chance in each gt."""

    on: bool
    chance: Chance
    need: Need
    title: str

    @property
    def to_compare(self) -> tuple[object, ...]:
        """All of it but what its author calls it."""
        return (self.on, self.chance, self.need)


class Cell(Protocol):
    """What a part that changes at random says of that. `grows` names the cells that can grow it over."""

    @property
    def name(self) -> str: ...
    @property
    def span(self) -> Span: ...
    @property
    def start(self) -> int | None: ...
    @property
    def row(self) -> str:
        """The name that all cells of its sensor share."""

    @property
    def place(self) -> str:
        """The place whose light falls on it; empty for none."""

    @property
    def fades(self) -> bool: ...
    @property
    def grows(self) -> tuple[str, ...]: ...
    @property
    def becomes(self) -> tuple[Becoming, ...]: ...
    def at_place(self, place: str) -> Part:
        """The part with the light of another place."""

    def grown_from(self, cells: tuple[str, ...]) -> Part:
        """The part with other cells that can grow it over."""

    def unchanging(self) -> Part:
        """The part as one that never changes; it can grow over others as before."""


def cells_of(parts: Iterable[Part]) -> Iterator[Cell]:
    """Those of some parts that change at random."""
    return (cell for part in parts if (cell := part.cell) is not None)


def fading(rules: RuleSet) -> Need:
    """What a grown cell takes to fade when it is drawn (rule X2)."""
    darkest = DARK_BELOW - 1 if rules.change_needs_light else FULL_SUN
    return Need(most=darkest, held_back=True, fully=rules.flow_fades == "full")


SPREADING = Need(least=SPREADS_FROM)
"""What a grown cell takes to grow over others when it is drawn (rule X3)."""


def taking(rules: RuleSet) -> Need:
    """What a bare cell takes to be grown over (rule X3)."""
    return Need(least=DARK_BELOW if rules.change_needs_light else 0, held_back=False)


def chance_of_exactly(hit: int, of: int) -> float:
    """The chance that the tries of one draw hit all of `hit` named places and none of the other `of` − `hit` (rule X5).

    By inclusion and exclusion over the named places.
    """
    turns = (1 if (hit - each) % 2 == 0 else -1 for each in range(hit + 1))
    ways = sum(sign * comb(hit, each) * (PLACES - of + each) ** TRIES for each, sign in enumerate(turns))
    return float(ways) / float(PLACES**TRIES)
