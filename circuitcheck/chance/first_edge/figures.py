"""The figures of a waiting time: its distribution in whole gt, and what is read off it."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping
from functools import cached_property
from itertools import accumulate

QUANTILES = (0.5, 0.9, 0.99, 0.999)


class Distribution:
    """How long it takes, in gt from 1 on; what is missing to 1 never comes within `until` gt."""

    def __init__(self, chances: Mapping[int, float], until: int) -> None:
        self.until = until
        self.chances = [chances.get(gt, 0.0) for gt in range(until + 1)]

    @cached_property
    def reached(self) -> list[float]:
        """For each number of gt, the chance that it takes no longer; adding up may go past all by a rounding."""
        return [min(chance, 1.0) for chance in accumulate(self.chances)]

    @property
    def earliest(self) -> int | None:
        """The least number of gt that it can take; None if it never comes."""
        return next((gt for gt, chance in enumerate(self.chances) if chance > 0.0), None)

    @property
    def comes(self) -> float:
        """The chance that it comes at all within the time."""
        return self.reached[-1]

    @property
    def missed(self) -> float:
        """The chance that it does not."""
        return max(1.0 - self.comes, 0.0)

    def within(self, time: int) -> float:
        """The chance that it takes no longer than some gt."""
        return self.reached[min(max(time, 0), self.until)]

    def quantile(self, share: float) -> int | None:
        """The least number of gt within which it comes with at least this chance; None if it does not."""
        place = bisect_left(self.reached, share)
        return place if place <= self.until else None

    @property
    def mean(self) -> float | None:
        """The mean in gt, of the times at which it comes; None if it never does."""
        if not self.comes:
            return None
        return sum(gt * chance for gt, chance in enumerate(self.chances)) / self.comes
