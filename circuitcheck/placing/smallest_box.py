"""The search for a small drawing of a circuit: a roomy box first, then smaller and smaller ones.

Each box is annealed (`annealing`): begun from the best layout so far with a slice taken out, or from nothing. What is
found is pruned, cropped, and asked of the true reading before it counts.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from itertools import islice
from time import monotonic

from circuitcheck.model.drawing import At, Drawing
from circuitcheck.placing import grid
from circuitcheck.placing.annealing import wrong
from circuitcheck.placing.bounds import (
    Bounds,
    first_sizes,
    least_places,
    places_of,
    refuse_too_small,
    smaller_sizes,
    takes_room,
)
from circuitcheck.placing.box import Box, box_of, cropped, drawing_of, fill, without_slice
from circuitcheck.placing.compiled import Fast
from circuitcheck.placing.grid import AIR, BLOCK, COST, DUST, KIND, MISSING, PLACE
from circuitcheck.placing.problem import CantPlace, Problem
from circuitcheck.placing.putting import supports
from circuitcheck.placing.random_numbers import MODULUS, random
from circuitcheck.placing.true_reading import wrong_with

STEPS = 40
"""How many temperatures one box is annealed at."""
HOT, WARM, COLD = 8.0, 2.0, 1.0
"""Temperatures, in what a dust costs: to begin from nothing, from another layout, and to end with."""
SCALE = 1_000_000
TRIED = 4
"""What a box that was tried before counts for each time, beside what was wrong in it."""
FIRST_MOVES = 250
"""How many moves are made for each pair of parts in the first box that is tried; later more."""
SIZES = 3
"""How many larger and larger boxes are tried at first, before the same are tried with more moves."""
ROOMY = 6
"""How many times the places that are needed at all make a box roomy: then much smaller ones are tried as well."""
LATER = 4
"""How many times as many in the smaller ones, to begin with."""


class Ended(Enum):
    """Why a search ended."""

    MOVES = "the moves ran out"
    SECONDS = "the time ran out"
    STOPPED = "it was stopped"
    LEAST = "nothing smaller that is allowed has room for the parts"
    EXACT = "boxes were asked in turn, the smallest first"


@dataclass
class Found:
    """What a search came to."""

    drawing: Drawing | None = None
    moves: int = 0
    boxes: int = 0
    """How many boxes were annealed."""
    ended: Ended = Ended.MOVES
    partial: Drawing | None = None
    """Where nothing was found: the best layout, in which something is wrong still."""
    left: list[str] = field(default_factory=list)
    """What is wrong in it, in words."""
    refused: int = 0
    """How many layouts the true reading refused that the fast one took: none, if both are the same rules."""


class _Over(Exception):
    """The budget is spent."""


class Search:
    """One search, with a budget of moves; `until` is a second bound, in seconds of a monotonic clock."""

    def __init__(
        self,
        problem: Problem,
        bounds: Bounds,
        fast: Fast,
        moves: int,
        seed: int = 1,
        until: float | None = None,
        by_hand: bool = True,
        tells: Callable[[str], None] = lambda what: None,
    ) -> None:
        refuse_too_small(problem, bounds)
        self._problem, self._bounds, self._fast = problem, bounds, fast
        self._left, self._until, self._by_hand, self._tells = moves, until, by_hand, tells
        self._rng = fast.rows([seed * 7919 % (MODULUS - 1) + 1])
        self._best: Box | None = None
        self._least_wrong = -1
        self._wrong_in: dict[At, int] = {}
        self._tried: dict[At, int] = {}
        self.found = Found()

    def run(self) -> Found:
        """Searches until the budget is spent, or until nothing smaller can be. Ctrl-C ends it as a budget does."""
        try:
            if self._best is None:
                self._first()
            self._smaller()
            self.found.ended = Ended.LEAST
        except _Over:
            pass
        except KeyboardInterrupt:
            self.found.ended = Ended.STOPPED
        return self.found

    def begin_with(self, drawing: Drawing, where: Mapping[str, At]) -> None:
        """Begins with a drawing, with each part at its place. Raises CantPlace if it is not the circuit."""
        if takes_room(drawing.size) > grid.MOST_PLACES:
            raise CantPlace(f"its box has more than {grid.MOST_PLACES} places", "make it smaller in pieces")
        box = box_of(self._problem, drawing.size, self._fast.rows)
        fill(box, drawing.things, {number: where[name] for number, name in enumerate(self._problem.names)})
        self._fast.read(box.memory)
        if wrong(box.memory):
            raise CantPlace("the drawing is not the circuit", "'verify' says what differs")
        self._take(box)

    @property
    def best_places(self) -> int:
        """How many places the best box so far has; 0 while there is none."""
        return 0 if self.found.drawing is None else places_of(self.found.drawing.size)

    def _first(self) -> None:
        """Looks for any layout, in larger and larger boxes, with more and more moves."""
        factor = 1
        while True:
            for size in islice(first_sizes(self._problem, self._bounds), SIZES):
                if self._try(box_of(self._problem, size, self._fast.rows), HOT, factor):
                    return
            factor *= 2

    def _smaller(self) -> None:
        factor, failed = LATER, 0
        while self._best is not None and self.best_places > least_places(self._problem):
            before = self.best_places
            roomy = before > ROOMY * least_places(self._problem)
            least = before // 2 if roomy else before * 3 // 4
            sizes = smaller_sizes(self._problem, self._bounds, before, least)
            sizes = sizes or smaller_sizes(self._problem, self._bounds, before, 0)
            if not sizes:
                return
            if self._random(4) and self._squeezed(max(factor // LATER, 1)):
                failed = 0
                continue
            size = self._promising(sizes)
            if self._try(box_of(self._problem, size, self._fast.rows), HOT, factor):
                failed = 0
                continue
            failed += 1
            if failed % len(sizes) == 0:
                factor *= 2

    def _promising(self, sizes: list[At]) -> At:
        """The box in which least was wrong before, or that was tried least: more and more of the first."""
        first = self._random(len(sizes))
        inorder = (*sizes[first:], *sizes[:first])
        return min(inorder, key=lambda size: self._wrong_in.get(size, 0) + TRIED * self._tried.get(size, 0))

    def _squeezed(self, factor: int) -> bool:
        """Takes a slice out of the best layout, and mends what that breaks."""
        assert self._best is not None
        axes = [axis for axis in range(3) if self._best.size[axis] > (2 if axis == 0 else 1)]
        axis = axes[self._random(len(axes))] if axes else -1
        if axis < 0:
            return False
        slice_ = 1 + self._random(self._best.size[axis])
        box = without_slice(self._best, axis, slice_, self._by_hand, self._fast.rows)
        return self._try(box, WARM, factor)

    def _random(self, below: int) -> int:
        return int(random(self._rng, below))

    def _try(self, box: Box, hot: float, factor: int) -> bool:
        """Anneals one box; whether a layout came of it that is the circuit."""
        self.found.boxes += 1
        size = " x ".join(map(str, box.size))
        best = f", best so far {self.best_places}" if self.best_places else ""
        self._tells(f"box {self.found.boxes} of {size} = {places_of(box.size)} places{best}")
        kept = self._fast.rows(box.memory)
        moves = FIRST_MOVES * len(self._problem.codes) ** 2 * factor // STEPS
        for step in range(STEPS):
            if self._left <= 0:
                raise _Over
            if self._until is not None and monotonic() > self._until:
                self.found.ended = Ended.SECONDS
                raise _Over
            warmth = hot * (COLD / hot) ** (step / (STEPS - 1))
            chances = self._fast.rows([int(SCALE * math.exp(-more / warmth)) for more in range(80)])
            left = self._fast.anneal(box.memory, kept, self._rng, chances, min(moves, self._left), int(self._by_hand))
            made = min(moves, self._left) - max(int(left), 0)
            self._left -= made
            self.found.moves += made
            self._keep_partial(box)
            if left >= 0:
                return self._take(box)
        bad = int(wrong(box.memory))
        self._wrong_in[box.size] = min(bad, self._wrong_in.get(box.size, bad))
        self._tried[box.size] = self._tried.get(box.size, 0) + 1
        return False

    def _keep_partial(self, box: Box) -> None:
        """Keeps the layout with the least wrong in it, as long as there is none with nothing wrong."""
        if self._best is not None:
            return
        self._fast.read(box.memory)
        bad = int(wrong(box.memory))
        if self._least_wrong < 0 or bad < self._least_wrong:
            self._least_wrong = bad
            self.found.partial = drawing_of(box)
            self.found.left = self._words(box)

    def _words(self, box: Box) -> list[str]:
        """What is wrong with a layout, in words."""
        m, names = box.memory, self._problem.names
        found = [f"'{name}' has no place" for part, name in enumerate(names) if m[PLACE + part] < 0]
        counts = [int(each) for each in m[COST : COST + 5]]
        missing = counts[MISSING]
        found += [f"{missing} {'input lacks' if missing == 1 else 'inputs lack'} a source"] if missing else []
        if counts[grid.UNWANTED]:
            found.append(f"{counts[grid.UNWANTED]} times power comes where it is not wanted")
        if counts[grid.LOST]:
            found.append(f"{counts[grid.LOST]} times other levels are lost on the way")
        if counts[grid.STRAIGHT]:
            found.append(f"{counts[grid.STRAIGHT]} times a repeater or comparator points straight where it must not")
        return found

    def _take(self, box: Box) -> bool:
        """Prunes and crops what was found, and asks the true reading."""
        self._prune(box)
        box = cropped(box, self._fast.rows)
        drawing = drawing_of(box)
        if wrong_with(self._problem.circuit, drawing):
            self.found.refused += 1
            return False
        if self._best is None or places_of(drawing.size) < self.best_places:
            self._best, self.found.drawing = box, drawing
            self.found.partial, self.found.left = None, []
        return True

    def _prune(self, box: Box) -> None:
        """Takes out dust and blocks that nothing depends on."""
        m = box.memory
        for at in sorted((box.number(place) for place in box.places()), reverse=True):
            kind = m[KIND + at]
            if kind == DUST or (kind == BLOCK and not supports(m, at)):
                m[KIND + at] = AIR
                self._fast.read(m)
                if wrong(m):
                    m[KIND + at] = kind
        self._fast.read(m)
