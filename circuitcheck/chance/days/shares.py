"""How far a sampled figure can be trusted: intervals that hold the true one in 95 of 100 cases.

Of a share: the score interval of E. B. Wilson, "Probable inference, the law of succession, and statistical inference",
Journal of the American Statistical Association 22 (1927). Of a quantile: the sampled values whose ranks a binomial
count stays between (W. J. Conover, "Practical Nonparametric Statistics", section 3.2).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor, sqrt
from statistics import NormalDist
from typing import NamedTuple

CONFIDENCE = 0.95
DEVIATIONS = NormalDist().inv_cdf(0.5 + CONFIDENCE / 2)


class Interval(NamedTuple):
    """A figure with its bounds; None where a bound lies beyond all that was sampled."""

    value: float | None
    low: float | None
    high: float | None


def of_share(hits: int, of: int) -> Interval:
    """A share of all, with its score interval."""
    if not of:
        return Interval(None, None, None)
    share, square = hits / of, DEVIATIONS**2
    middle = (share + square / (2 * of)) / (1 + square / of)
    half = DEVIATIONS / (1 + square / of) * sqrt(share * (1 - share) / of + square / (4 * of**2))
    return Interval(share, max(middle - half, 0.0) if hits else 0.0, min(middle + half, 1.0) if hits < of else 1.0)


def half_width(of: int) -> float:
    """By how much any share of so many may be off, at most."""
    return DEVIATIONS * sqrt(0.25 / of)


def of_quantile(ordered: Sequence[int], of: int, share: float) -> Interval:
    """The least sampled value that at least a share of all come up to; `of` counts those that never came as well."""
    if not of:
        return Interval(None, None, None)
    half = DEVIATIONS * sqrt(of * share * (1 - share))
    ranks = (ceil(of * share), floor(of * share - half), ceil(of * share + half) + 1)
    value, low, high = (ordered[max(rank, 1) - 1] if max(rank, 1) <= len(ordered) else None for rank in ranks)
    return Interval(value, low if ranks[1] >= 1 else None, high)


def of_mean(values: Sequence[int]) -> Interval:
    """The mean of sampled values, with the normal interval around it."""
    count = len(values)
    if not count:
        return Interval(None, None, None)
    mean = sum(values) / count
    if count == 1:
        return Interval(mean, None, None)
    spread = sqrt(sum((value - mean) ** 2 for value in values) / (count - 1))
    half = DEVIATIONS * spread / sqrt(count)
    return Interval(mean, mean - half, mean + half)
