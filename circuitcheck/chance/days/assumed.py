"""How often the world that chance makes breaks what the proofs of a file assume of it."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from circuitcheck.chance.days.calendar import Calendar
from circuitcheck.chance.machine.chain import Chain
from circuitcheck.chance.machine.joint import Changed
from circuitcheck.model.claims import Assumption, Holding, RateLimit


class Break(NamedTuple):
    """One gt in which an assumption was broken: its time, and the assumption's number."""

    time: int
    assumption: int


class Daily(NamedTuple):
    """How often an assumption was broken on one day of one run, and in which gt of the day first."""

    assumption: int
    run: int
    day: int
    first: int
    times: int


class Broken(NamedTuple):
    """What became of one assumption over many days."""

    words: str
    times: int
    """In how many gt a change broke it."""
    days: int
    """On how many days one did."""
    first: tuple[int, int, int] | None
    """The run, the day in it from 0, and the gt of that day in which it was broken first; None if it never was."""


class Breaks:
    """Watches the changes of one run. Levers and the like stay as they are there, so that only cells change."""

    def __init__(self, chain: Chain, assumptions: Sequence[Assumption]) -> None:
        self.found: list[Break] = []
        self._names = chain.program.names
        self._assumptions = assumptions
        self._latest: dict[int, int] = {}
        """For each cell, when it changed last."""
        most = (each.most if isinstance(each, RateLimit) else 0 for each in assumptions)
        self._recent: list[deque[int]] = [deque(maxlen=each) for each in most]
        """For each bound on all inputs together, when the last changes were, as many as are allowed."""

    def changed(self, now: int, own: Changed) -> None:
        """Takes the changes of a gt; where stillness is assumed, of cells by their own numbers (`machine.identity`)."""
        for number, each in enumerate(self._assumptions):
            if (
                self._are_too_many(number, each, now, own)
                if isinstance(each, RateLimit)
                else self._moves(each, now, own)
            ):
                self.found.append(Break(now, number))
        self._latest |= dict.fromkeys(own, now)

    def _moves(self, each: Holding, now: int, own: Iterable[int]) -> bool:
        """Whether an input changes that should keep still."""
        latest = self._latest
        return any(
            self._names[cell] in each.names and cell in latest and now - latest[cell] < each.at_least for cell in own
        )

    def _are_too_many(self, number: int, each: RateLimit, now: int, own: Iterable[int]) -> bool:
        """Whether a change comes while as many as are allowed lie within the time already."""
        recent, broken = self._recent[number], False
        for _ in own:
            broken |= len(recent) == each.most and (not each.most or now - recent[0] < each.within)
            recent.append(now)
        return broken


def together(assumptions: Sequence[Assumption], parts: Iterable[Iterable[Daily]]) -> tuple[Broken, ...]:
    """What became of each assumption, from the days on which it was broken."""
    found: list[list[Daily]] = [[] for _ in assumptions]
    for part in parts:
        for day in part:
            found[day.assumption].append(day)
    return tuple(
        Broken(
            each.words,
            sum(day.times for day in days),
            len(days),
            min(((day.run, day.day, day.first) for day in days), default=None),
        )
        for each, days in zip(assumptions, found, strict=True)
    )


def daily(run: int, breaks: Iterable[Break], calendar: Calendar) -> list[Daily]:
    """The breaks of one run, day by day."""
    found: dict[tuple[int, int], Daily] = {}
    for each in breaks:
        day = calendar.day_at(each.time)
        known = found.get((each.assumption, day))
        first = each.time - calendar.begins(day) if known is None else known.first
        times = 1 if known is None else known.times + 1
        found[each.assumption, day] = Daily(each.assumption, run, day, first, times)
    return list(found.values())
