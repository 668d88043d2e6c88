"""Parallel tempering of one box: layouts at several temperatures at once, which change places.

A cold layout that got stuck goes up to where more is allowed, and what is better there comes down. So a search of a box
may be gone on with for as long as is wanted, and no course of temperatures need be chosen beforehand.

Method: R. Swendsen and J. Wang, "Replica Monte Carlo Simulation of Spin-Glasses" (Physical Review Letters 57, 1986);
K. Hukushima and K. Nemoto, "Exchange Monte Carlo Method and Application to Spin Glass Simulations" (Journal of the
Physical Society of Japan 65, 1996).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import NamedTuple

from circuitcheck.placing.annealing import weighed
from circuitcheck.placing.box import Box
from circuitcheck.placing.compiled import Fast
from circuitcheck.placing.grid import KIND, PARTS, PLACE, WAY, WHO, WHOLE, Row
from circuitcheck.placing.random_numbers import random

TEMPERATURES = 6
"""How many layouts there are in a box, each at a temperature of its own."""
COLDEST, HOTTEST = 1.2, 3.0
"""Temperatures, in what a dust costs."""
BETWEEN = 40
"""How many moves are made for each part, in each layout, before layouts may change places."""
SCALE = 1_000_000


class _Kept(NamedTuple):
    """A layout without the memory to work on it: what stands at each place, and where each part is."""

    kinds: Row
    ways: Row
    who: Row
    places: Row


class Ladder:
    """The layouts in one box, the coldest first. It begins with those that are given, in which the same stays."""

    def __init__(self, begun: Sequence[Box], fast: Fast) -> None:
        self._problem, self.size, self._fast = begun[0].problem, begun[0].size, fast
        self._base = fast.rows(begun[0].memory)
        self._layouts = [_kept(begun[number % len(begun)].memory, fast) for number in range(TEMPERATURES)]
        self._warmth = [
            COLDEST * (HOTTEST / COLDEST) ** (number / (TEMPERATURES - 1)) for number in range(TEMPERATURES)
        ]
        self.least = 0
        """What the layout costs that cost least so far; 0 before any was asked."""
        self.best: Box | None = None
        """That layout."""
        self.stints = 0
        """How often it was gone on with."""

    def climb(self, moves: int, rng: Row, by_hand: bool, spend: Callable[[int], int]) -> Box | None:
        """Makes so many moves in all; the first layout in which nothing is wrong, if there is one.

        `spend` is asked for moves and says how many may be made; a negative number gives back those left over. An
        exception of it ends the search.
        """
        self.stints += 1
        boxes = self._at_work()
        spare = self._fast.rows(boxes[0].memory)
        accepted = [self._chances(warmth) for warmth in self._warmth]
        each = BETWEEN * len(self._problem.codes)
        try:
            for _ in range(max(1, moves // (each * TEMPERATURES))):
                for number in range(TEMPERATURES):
                    memory, may = boxes[number].memory, spend(each)
                    left = int(self._fast.anneal(memory, spare, rng, accepted[number], may, int(by_hand)))
                    if left >= 0:
                        spend(-left)
                        return boxes[number]
                self._exchange(boxes, rng)
        finally:
            self._note(boxes)
        self._layouts = [_kept(box.memory, self._fast) for box in boxes]
        return None

    def _at_work(self) -> list[Box]:
        """The layouts, each with memory to work on."""
        boxes = [Box(self._problem, self.size, self._fast.rows(self._base)) for _ in self._layouts]
        for box, kept in zip(boxes, self._layouts, strict=True):
            m, whole, parts = box.memory, len(kept.kinds), len(kept.places)
            m[KIND : KIND + whole], m[WAY : WAY + whole], m[WHO : WHO + whole] = kept.kinds, kept.ways, kept.who
            m[PLACE : PLACE + parts] = kept.places
        return boxes

    def _chances(self, warmth: float) -> Row:
        """How many times in a million a layout is taken that costs so much more than the one before."""
        return self._fast.rows([int(SCALE * math.exp(-more / warmth)) for more in range(80)])

    def _note(self, boxes: list[Box]) -> list[int]:
        """What each layout costs; the cheapest is kept if none was cheaper before."""
        costs = []
        for box in boxes:
            self._fast.read(box.memory)
            costs.append(int(weighed(box.memory)))
        least = min(costs)
        if self.best is None or least < self.least:
            self.least = least
            self.best = Box(self._problem, self.size, self._fast.rows(boxes[costs.index(least)].memory))
        return costs

    def _exchange(self, boxes: list[Box], rng: Row) -> None:
        """Neighbours change places by chance: surely where the warmer one costs less."""
        costs = self._note(boxes)
        for cold, warm in pairwise(range(len(boxes))):
            gain = (1 / self._warmth[cold] - 1 / self._warmth[warm]) * (costs[cold] - costs[warm])
            if gain >= 0 or random(rng, SCALE) < int(SCALE * math.exp(gain)):
                boxes[cold], boxes[warm] = boxes[warm], boxes[cold]
                costs[cold], costs[warm] = costs[warm], costs[cold]


def _kept(m: Row, fast: Fast) -> _Kept:
    whole, parts = m[WHOLE], m[PARTS]
    return _Kept(
        fast.rows(m[KIND : KIND + whole]),
        fast.rows(m[WAY : WAY + whole]),
        fast.rows(m[WHO : WHO + whole]),
        fast.rows(m[PLACE : PLACE + parts]),
    )
