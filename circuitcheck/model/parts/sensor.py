"""The sensor: cells that change at random with the light above them (rules X1 to X3), for detectors to watch.

A cell is on while it is grown, or is what its author has it become. It gives no power: detectors watch it. To hands and
to the prover it is an input that may change whenever it likes; how likely that is, is worked out in `chance`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import comb
from typing import ClassVar, NamedTuple

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.light import FULL_SUN
from circuitcheck.model.parts.base import (
    Conducts,
    Device,
    Kind,
    Option,
    Part,
    Reason,
    Request,
    Takes,
    no_adjustments,
    no_changes,
    start_option,
)
from circuitcheck.model.parts.lever import LeverDevice
from circuitcheck.model.rules import FULL_POWER, Chance, RuleSet

DARK_BELOW = 4
"""A cell fades in light below this, and a bare one is grown over from this on (rules X2, X3)."""
SPREADS_FROM = 9
"""A grown cell grows over others from this light on (rule X3)."""
TRIES = 4
PLACES = 45
"""A grown cell that is drawn makes so many tries, each at one of so many places, all alike likely (rule X3)."""


class Need(NamedTuple):
    """What a change takes: light from `least` to `most`, and a block above that holds light back, or that does not."""

    least: int = 0
    most: int = FULL_SUN
    held_back: bool | None = None
    """None where it makes no difference."""

    def met(self, light: int, held_back: bool) -> bool:
        """Whether a cell in such light, with such a block right above it, has what it takes."""
        return self.least <= light <= self.most and self.held_back in (None, held_back)


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell(Part):
    """One cell of a sensor. `grows` names the cells that can grow it over; `place` the light above it, if any."""

    row: str
    """The name that all cells of its sensor share."""
    place: str
    fades: bool
    grows: tuple[str, ...]
    becomes: tuple[Becoming, ...]
    word: ClassVar[str] = "sensor"
    verbs: ClassVar[frozenset[str]] = frozenset({"on", "off", "throw"})
    powered_by: ClassVar[tuple[str, ...]] = ()
    conducts: ClassVar[Conducts] = Conducts.NOTHING
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = False
    light: ClassVar[int] = 0
    powerless: ClassVar[str] = "is a cell of a sensor and gives no power"

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return CellDevice(self, index, ports)

    faults = mistakes = no_changes
    adjustments = no_adjustments


class CellDevice(LeverDevice):
    """Told to change it does as a lever does: it stays until it is told again."""

    __slots__ = ()

    drawn: ClassVar[bool] = True

    def reason(self, level: int) -> Reason:
        cell = self.part
        assert isinstance(cell, Cell)
        if bool(cell.grows) if level else cell.fades:
            return Reason("X3", "the cell is grown over") if level else Reason("X2", "the cell fades")
        named = (each.title for each in cell.becomes if each.on is bool(level) and each.title)
        return Reason("X1", f"the cell {next(named, 'changes')}")


def fading(rules: RuleSet) -> Need:
    """What a grown cell takes to fade when it is drawn (rule X2)."""
    return Need(most=DARK_BELOW - 1 if rules.change_needs_light else FULL_SUN, held_back=True)


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


def build(request: Request) -> tuple[Part, ...]:
    place = request.places.get("at", "")
    needs = [word for word in ("fades", "grows") if word in request.flags or request.feeds(word)]
    needs += [] if all(each.need == Need() for each in request.changes) else ["becomes"]
    if needs and not place:
        request.fail(
            "CKT303", f"what '{needs[0]}' depends on light: say at which place the cells are", "add 'at PLACE'"
        )
    base, _, number = request.name.rpartition(".")
    row = base if number.isdecimal() else request.name
    return (
        Cell(
            name=request.name,
            span=request.span,
            start=FULL_POWER if request.start is None else request.start,
            row=row,
            place=place,
            fades="fades" in request.flags,
            grows=request.feeds("grows"),
            becomes=tuple(request.changes),
        ),
    )


KIND = Kind(
    "sensor",
    "cells that change at random with the light, for detectors to watch",
    (
        Option("cells", Takes.COUNT, "how many cells it has", most=1_000),
        Option("at", Takes.PLACE, "the place whose light falls on its cells"),
        Option("fades", Takes.FLAG, "a grown cell fades in the dark, below what holds light back"),
        Option("grows", Takes.SOURCES, "the cells from which a bare one can be grown over"),
        Option("becomes", Takes.CHANGE, "a change of your own, with its chance in each gt"),
        start_option("whether its cells are grown at the start"),
    ),
    build,
    (Cell(name="x", span=NOWHERE, row="x", place="", fades=False, grows=(), becomes=()),),
    counted_by="cells",
)
