"""Slices taken out of a right layout, and what that breaks mended by annealing: a step to a smaller box.

First the layout wanders: it is annealed as it is, with things in one slice dearer than elsewhere, so that they leave it
and what is changed is not the same each time. Then that slice is taken out, and what is broken is annealed for a while,
from warm to cold. Most slices can't be mended: many short attempts come further than few long ones. Where many were in
vain, another line of layouts is begun from a layout of long before.

Method: G. Schrimpf, J. Schneider, H. Stamm-Wilbrandt and G. Dueck, "Record Breaking Optimization Results Using the Ruin
and Recreate Principle" (Journal of Computational Physics 159, 2000). Ours takes what is recreated only where it is
right, and not by what it costs: a box is a slice smaller then.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

from circuitcheck.model.drawing import At
from circuitcheck.placing.annealing import PART_WEIGHS
from circuitcheck.placing.bounds import least_places, least_sides, places_of
from circuitcheck.placing.box import Box, cropped, slices, with_slice, without_slice
from circuitcheck.placing.compiled import PLAIN, Fast, compiled
from circuitcheck.placing.grid import AIR, KIND, PARTS, STAYS, WHO, Row
from circuitcheck.placing.tempering import BETWEEN, Kept, at_work, chances, is_over, kept_of

WANDERED, MENDED = 50, 75
"""How many moves a layout wanders, and is mended with, for each pair of parts."""
WARM, COLD, STEPS = 2.0, 0.7, 6
"""The temperatures at which both begin and end, in what a dust costs, and in how many steps."""
FULL = 3.0
"""A slice with so many things more in it is chosen less often by a factor of e."""
WIDER = 3
"""One time in so many an empty slice is put in elsewhere, where the box is smaller all the same; and perhaps more."""
PATIENCE = 30
"""After how many attempts in vain a new line begins; twice as many where it is the one of the smallest box."""


class Attempt(NamedTuple):
    """A layout to be annealed: all that another process has to be told."""

    base: Row
    """The memory of a layout in the box."""
    layout: Kept
    moves: int
    seed: int
    by_hand: bool
    until: float | None
    """When it is to end at the latest, in seconds of a monotonic clock."""
    compiled: bool
    leaves: Row
    """The places that things are to leave; empty where what is broken is mended."""


class Came(NamedTuple):
    """What an attempt came to."""

    layout: Kept | None
    """In which nothing is wrong; None where there was none."""
    moves: int


class Slice(NamedTuple):
    """A layer, a row or a column."""

    axis: int
    number: int


class Change(NamedTuple):
    """A slice to be taken out, and empty ones to be put in elsewhere, so that the box is smaller all the same."""

    gone: Slice
    new: tuple[Slice, ...]


def anneal_from_warm(attempt: Attempt) -> Came:
    """Lets a right layout wander, or mends a broken one."""
    fast = compiled() if attempt.compiled else PLAIN
    rng, m = fast.rows([attempt.seed]), at_work(attempt.layout, attempt.base, fast)
    spare, best = fast.rows(attempt.base), fast.rows(m)
    moves, made, least = attempt.moves, 0, -1
    each = BETWEEN * int(m[PARTS])
    while made < moves and not is_over(attempt.until):
        step = made * STEPS // moves
        accepted = chances(WARM * (COLD / WARM) ** (step / (STEPS - 1)), fast)
        may = min(each, -(-moves * (step + 1) // STEPS) - made)
        if len(attempt.leaves):
            least = int(fast.wander(m, spare, rng, accepted, may, int(attempt.by_hand), best, attempt.leaves, least))
            made += may
            continue
        left = int(fast.anneal(m, spare, rng, accepted, may, int(attempt.by_hand)))
        made += may - max(left, 0)
        if left >= 0:
            return Came(kept_of(m, fast), made)
    return Came(kept_of(best, fast) if least >= 0 else None, made)


class Line:
    """Layouts, each of which is the one before in a smaller box, or wandered; where that is in vain, begun again."""

    def __init__(self, fast: Fast, by_hand: bool, at_random: Callable[[int], int], fits: Callable[[At], bool]) -> None:
        """`fits` says whether a box of a size is allowed."""
        self._fast, self._by_hand, self._random, self._fits = fast, by_hand, at_random, fits
        self._begun: list[Box] = []
        self._now: Box | None = None
        self._in_vain, self._chosen = 0, 0

    def begin(self, box: Box) -> None:
        """Goes on from a right layout, from which other lines may begin as well."""
        self._begun.append(box)
        self.go_on(box)

    def go_on(self, box: Box) -> None:
        """Goes on from a layout that is right."""
        self._now, self._in_vain = box, 0

    def __str__(self) -> str:
        """The size of the layout, in words of the search."""
        return f"{' x '.join(map(str, self._box.size))} = {places_of(self._box.size)} places"

    @property
    def can_go_on(self) -> bool:
        """Whether any slice may be taken out of the layouts with which lines begin."""
        return any(slices_of(box) for box in self._begun)

    @property
    def is_stuck(self) -> bool:
        """Whether slices were taken out in vain, before those chosen last: then the layout has to wander first."""
        return self._in_vain > self._chosen

    def chosen(self, count: int, best: int) -> list[Change]:
        """Changes that may be made, slices with little in them out more often. `best` is the size of the least box."""
        assert self._now is not None
        patience = PATIENCE * (2 if places_of(self._now.size) <= best else 1)
        among = slices_of(self._now)
        if not among or self._in_vain >= patience:
            able = [box for box in self._begun if slices_of(box)]
            self.go_on(able[self._random(len(able))])
            among = slices_of(self._now)
        self._in_vain, self._chosen = self._in_vain + count, count
        weights = [max(1, int(1_000_000 * math.exp(-filled / FULL))) for filled in among.values()]
        return [self._change(self._weighted(list(among), weights)) for _ in range(count)]

    def _change(self, gone: Slice) -> Change:
        """The change that takes a slice out; often empty ones are put in, if nothing stays."""
        size, new = list(self._box.size), list[Slice]()
        size[gone.axis] -= 1
        while self._random(WIDER) == 0 and not self._box.problem.staying:
            axis = (gone.axis + 1 + self._random(2)) % 3
            size[axis] += 1
            made = size[0], size[1], size[2]
            if places_of(made) >= places_of(self._box.size) or not self._fits(made):
                break
            new.append(Slice(axis, 1 + self._random(size[axis])))
        return Change(gone, tuple(new))

    def _weighted(self, among: list[Slice], weights: list[int]) -> Slice:
        ticket = self._random(sum(weights))
        for each, weight in zip(among, weights, strict=True):
            ticket -= weight
            if ticket < 0:
                return each
        raise AssertionError("the ticket is below the sum")

    def wander(self, change: Change, moves: int, seed: int, until: float | None) -> Attempt:
        """The attempt to empty a slice, as far as that goes."""
        box, gone = self._box, change.gone
        leaves = [box.number(at) for at in box.places() if at[gone.axis] == gone.number]
        return self._attempt(box, moves, seed, until, leaves)

    def cut(self, change: Change, came: Came) -> Box:
        """The layout that has wandered, which is gone on with, without a slice: something may be broken in it."""
        box = self._box
        if came.layout is not None:
            memory = at_work(came.layout, box.memory, self._fast)
            self._fast.read(memory)
            box = self._now = Box(box.problem, box.size, memory)
        gone, put_in = change
        for new in put_in:
            box = with_slice(box, *new, self._fast.rows)
        return without_slice(box, gone.axis, gone.number, self._by_hand, self._fast.rows)

    def mend(self, box: Box, moves: int, seed: int, until: float | None) -> Attempt:
        """The attempt to mend what is broken."""
        return self._attempt(box, moves, seed, until, [])

    def mended(self, box: Box, came: Came) -> Box | None:
        """What was mended, cropped; None if it was not."""
        if came.layout is None:
            return None
        made = cropped(Box(box.problem, box.size, at_work(came.layout, box.memory, self._fast)), self._fast.rows)
        self._fast.read(made.memory)
        return made

    @property
    def _box(self) -> Box:
        assert self._now is not None
        return self._now

    def _attempt(self, box: Box, moves: int, seed: int, until: float | None, leaves: list[int]) -> Attempt:
        fast = self._fast
        base = fast.rows(box.memory)
        return Attempt(base, kept_of(base, fast), moves, seed, self._by_hand, until, fast.compiled, fast.rows(leaves))


def slices_of(box: Box) -> dict[Slice, int]:
    """The slices that may be taken out, each with how much stands in it."""
    m, problem, sides = box.memory, box.problem, least_sides(box.problem)
    found: dict[Slice, int] = {}
    for axis in range(3):
        smaller = places_of(box.size) // box.size[axis] * (box.size[axis] - 1)
        if box.size[axis] <= max(sides[axis], 2 if axis == 0 else 1) or smaller < least_places(problem):
            continue
        for number in (each for group in slices(box, axis) for each in group):
            found[Slice(axis, number)] = 0
    for at in box.places():
        index = box.number(at)
        if m[KIND + index] != AIR and not m[STAYS + index]:
            for axis in range(3):
                gone = Slice(axis, at[axis])
                if gone in found:
                    found[gone] += PART_WEIGHS if m[WHO + index] >= 0 else 1
    return found
