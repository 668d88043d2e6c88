"""Days in a row: when which phase is, what the sky gives then, and when something is due, missed, or a false alarm.

Times are in gt from the beginning of the first day.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from typing import NamedTuple

from circuitcheck.model.light import DUE_UNTIL, OPPOSITE, PHASES, WEATHER, Cycle

CASES = {
    "fair": "no rain, and somebody is always near",
    "wet": "it rains all the time",
    "stormy": "a storm all the time",
    "slept": "every night is slept through: day comes when dusk ends",
    "away": "nobody is near on every second day: nothing is drawn then",
    "faded": "all cells that can fade do so at once, as the first day begins",
}
"""What days can be like, by the name it is asked for with."""
ONCE = {"clear": "fair", "rain": "wet", "storm": "stormy", "withered": "faded"}
"""Names that cases had once, with those of today."""


class Phase(NamedTuple):
    """A stretch of one day: its phase, and the level of the sky, or None while nobody is near."""

    begin: int
    end: int
    day: int
    """Counts from 0."""
    name: str
    sky: int | None


class Window(NamedTuple):
    """When something is due on one day: from `begin` up to, but not at, `end`."""

    day: int
    begin: int
    end: int


class Calendar:
    """So many consecutive days, each of them as a case says."""

    def __init__(self, cycle: Cycle, days: int, case: str = "fair") -> None:
        self.days = days
        self.phases: list[Phase] = []
        self._begins: dict[tuple[int, str], int] = {}
        takes = WEATHER.get(case, 0)
        now = 0
        # What is due at dawn is due until the next day has ended.
        for day in range(days + 1):
            away = case == "away" and day % 2 == 1
            for name in PHASES:
                self._begins[day, name] = now
                if case == "slept" and name in ("night", "dawn"):
                    continue
                for stretch in cycle.stretches():
                    if stretch.phase == name:
                        later = now + stretch.end - stretch.begin
                        sky = None if away else max(stretch.sky - takes, 0)
                        self.phases.append(Phase(now, later, day, name, sky))
                        now = later
        self._begins[days + 1, PHASES[0]] = now
        self._first = [self._begins[day, PHASES[0]] for day in range(days + 2)]

    def windows(self, phase: str) -> Iterator[Window]:
        """When it is due, day by day. The day that everything begins with is no answer to a night."""
        first = 1 if phase == PHASES[0] else 0
        for day in range(first, self.days + first):
            until = day + 1 if PHASES.index(DUE_UNTIL[phase]) < PHASES.index(phase) else day
            yield Window(day, self._begins[day, phase], self._ends(until, DUE_UNTIL[phase]))

    def wrong(self, phase: str) -> Iterator[Window]:
        """When it would be a false alarm, by the day on which it is due afterwards."""
        wrong = OPPOSITE[phase]
        first = 1 if phase == PHASES[0] else 0
        for day in range(self.days):
            yield Window(day + first, self._begins[day, wrong], self._ends(day, wrong))

    def skies(self, window: Window) -> list[int]:
        """The levels of the sky in a window, while somebody is near."""
        found = (each.sky for each in self.phases if each.begin < window.end and each.end > window.begin)
        return sorted({sky for sky in found if sky is not None})

    def _ends(self, day: int, phase: str) -> int:
        place = PHASES.index(phase) + 1
        return self._begins[day, PHASES[place]] if place < len(PHASES) else self._begins[day + 1, PHASES[0]]

    def day_at(self, time: int) -> int:
        """The day that a time falls on, from 0."""
        return max(bisect_right(self._first, time) - 1, 0)

    def begins(self, day: int) -> int:
        """When a day begins."""
        return self._begins[day, PHASES[0]]
