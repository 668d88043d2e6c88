"""Parallel tempering of one box: layouts at several temperatures at once, which change places.

A cold layout that got stuck goes up to where more is allowed, and what is better there comes down. So a search of a box
may be gone on with for as long as is wanted, and no course of temperatures need be chosen beforehand.

Method: R. Swendsen and J. Wang, "Replica Monte Carlo Simulation of Spin-Glasses" (Physical Review Letters 57, 1986);
K. Hukushima and K. Nemoto, "Exchange Monte Carlo Method and Application to Spin Glass Simulations" (Journal of the
Physical Society of Japan 65, 1996).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from time import monotonic
from typing import NamedTuple

from circuitcheck.placing.annealing import weighed
from circuitcheck.placing.box import Box
from circuitcheck.placing.compiled import PLAIN, Fast, compiled
from circuitcheck.placing.grid import KIND, PARTS, PLACE, WAY, WHO, WHOLE, Row
from circuitcheck.placing.random_numbers import random

TEMPERATURES = 6
"""How many layouts there are in a box, each at a temperature of its own."""
COLDEST, HOTTEST = 1.2, 3.0
"""Temperatures, in what a dust costs."""
BETWEEN = 40
"""How many moves are made for each part, in each layout, before layouts may change places."""
SCALE = 1_000_000


class Kept(NamedTuple):
    """A layout without the memory to work on it: what stands at each place, and where each part is."""

    kinds: Row
    ways: Row
    who: Row
    places: Row


class Stint(NamedTuple):
    """So many moves to be made in one box: all that another process has to be told."""

    base: Row
    """The memory of a layout in the box."""
    layouts: list[Kept]
    moves: int
    seed: int
    by_hand: bool
    until: float | None
    """When it is to end at the latest, in seconds of a monotonic clock."""
    compiled: bool


class Climbed(NamedTuple):
    """What a stint came to."""

    layouts: list[Kept]
    moves: int
    """How many were made."""
    least: int
    best: Kept
    """The layout that costs least, of those looked at between moves; and what it costs."""
    found: Kept | None
    """The first in which nothing is wrong."""


def climb(stint: Stint) -> Climbed:
    """Makes the moves of a stint; fewer where a layout is found in which nothing is wrong, or the time is over."""
    return _Climb(stint).run()


def chances(warmth: float, fast: Fast) -> Row:
    """How many times in a million a layout is taken that costs so much more than the one before, at a temperature."""
    return fast.rows([int(SCALE * math.exp(-more / warmth)) for more in range(80)])


def is_over(until: float | None) -> bool:
    """Whether a time is over, in seconds of a monotonic clock."""
    return until is not None and monotonic() > until


class _Climb:
    """One stint at work."""

    def __init__(self, stint: Stint) -> None:
        self._stint, self._fast = stint, compiled() if stint.compiled else PLAIN
        self._rng = self._fast.rows([stint.seed])
        self._layouts = [at_work(kept, stint.base, self._fast) for kept in stint.layouts]
        self._warmth = [
            COLDEST * (HOTTEST / COLDEST) ** (number / (TEMPERATURES - 1)) for number in range(TEMPERATURES)
        ]
        self._made = 0
        self._least: tuple[int, Kept] | None = None

    def run(self) -> Climbed:
        """Makes the moves."""
        found = self._climbed()
        self._note()
        assert self._least is not None
        layouts = [self._kept(memory) for memory in self._layouts]
        return Climbed(layouts, self._made, *self._least, None if found is None else self._kept(found))

    def _climbed(self) -> Row | None:
        stint = self._stint
        spare = self._fast.rows(stint.base)
        accepted = [chances(warmth, self._fast) for warmth in self._warmth]
        each = BETWEEN * int(stint.base[PARTS])
        while self._made < stint.moves:
            for memory, taken in zip(self._layouts, accepted, strict=True):
                may = min(each, stint.moves - self._made)
                if may <= 0 or is_over(stint.until):
                    return None
                left = int(self._fast.anneal(memory, spare, self._rng, taken, may, int(stint.by_hand)))
                self._made += int(may) - max(left, 0)
                if left >= 0:
                    return memory
            self._exchange()
        return None

    def _kept(self, m: Row) -> Kept:
        return kept_of(m, self._fast)

    def _note(self) -> list[int]:
        """What each layout costs; the cheapest is kept if none was cheaper before."""
        costs = []
        for memory in self._layouts:
            self._fast.read(memory)
            costs.append(int(weighed(memory)))
        least = min(costs)
        if self._least is None or least < self._least[0]:
            self._least = least, self._kept(self._layouts[costs.index(least)])
        return costs

    def _exchange(self) -> None:
        """Neighbours change places by chance: surely where the warmer one costs less."""
        costs, layouts = self._note(), self._layouts
        for cold, warm in pairwise(range(len(layouts))):
            gain = (1 / self._warmth[cold] - 1 / self._warmth[warm]) * (costs[cold] - costs[warm])
            if gain >= 0 or random(self._rng, SCALE) < int(SCALE * math.exp(gain)):
                layouts[cold], layouts[warm] = layouts[warm], layouts[cold]
                costs[cold], costs[warm] = costs[warm], costs[cold]


class Ladder:
    """The layouts in one box, the coldest first. It begins with those that are given, in which the same stays."""

    def __init__(self, begun: Sequence[Box], fast: Fast) -> None:
        self._problem, self.size, self._fast = begun[0].problem, begun[0].size, fast
        self._base = fast.rows(begun[0].memory)
        self._layouts = [kept_of(begun[number % len(begun)].memory, fast) for number in range(TEMPERATURES)]
        self._best: Kept | None = None
        self.least = 0
        """What the layout costs that cost least so far; 0 before any was asked."""
        self.stints = 0
        """How often it was gone on with."""

    def stint(self, moves: int, seed: int, by_hand: bool, until: float | None) -> Stint:
        """The next moves in the box; `take` takes what comes of them."""
        self.stints += 1
        return Stint(self._base, self._layouts, moves, seed, by_hand, until, self._fast.compiled)

    def take(self, climbed: Climbed) -> Box | None:
        """Takes what a stint came to; the layout in which nothing is wrong, if there is one."""
        self._layouts = climbed.layouts
        if self._best is None or climbed.least < self.least:
            self.least, self._best = climbed.least, climbed.best
        return None if climbed.found is None else self._box(climbed.found)

    @property
    def best(self) -> Box | None:
        """The layout that cost least so far."""
        return None if self._best is None else self._box(self._best)

    def _box(self, kept: Kept) -> Box:
        m = at_work(kept, self._base, self._fast)
        self._fast.read(m)
        return Box(self._problem, self.size, m)


def kept_of(m: Row, fast: Fast) -> Kept:
    """What is kept of a layout."""
    whole, parts = m[WHOLE], m[PARTS]
    return Kept(
        fast.rows(m[KIND : KIND + whole]),
        fast.rows(m[WAY : WAY + whole]),
        fast.rows(m[WHO : WHO + whole]),
        fast.rows(m[PLACE : PLACE + parts]),
    )


def at_work(kept: Kept, base: Row, fast: Fast) -> Row:
    """A layout with memory to work on, made out of that of another in the same box."""
    m, whole, parts = fast.rows(base), len(kept.kinds), len(kept.places)
    m[KIND : KIND + whole], m[WAY : WAY + whole], m[WHO : WHO + whole] = kept.kinds, kept.ways, kept.who
    m[PLACE : PLACE + parts] = kept.places
    return m
