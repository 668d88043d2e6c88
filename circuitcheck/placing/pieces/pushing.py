"""A drawing made smaller from its faces: what stands in an outer slice is pushed inward, window by window.

In each window annealing finds how all in it can stand without the places of that slice. So it works on drawings that
are too large to be annealed as one.

Method: P. Shaw, "Using Constraint Programming and Local Search Methods to Solve Vehicle Routing Problems" (CP 1998):
large neighbourhoods of a solution are freed and solved again, the larger the longer smaller ones were in vain.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from circuitcheck.model.drawing import At, Drawing
from circuitcheck.placing.bounds import places_of
from circuitcheck.placing.box import Box, prune
from circuitcheck.placing.compiled import Fast
from circuitcheck.placing.grid import LEVER
from circuitcheck.placing.pieces.negotiating import Spend
from circuitcheck.placing.pieces.whole import Whole
from circuitcheck.placing.pieces.windows import Window
from circuitcheck.placing.problem import Problem
from circuitcheck.placing.random_numbers import MODULUS
from circuitcheck.placing.tempering import SCALE
from circuitcheck.placing.true_reading import wrong_with

MOVES, MOST_MOVES = 2500, 40_000
"""How many moves are made in a window at first, and at most."""
PATIENCE = 12
"""After how many windows of a face in vain those that follow get as many moves again, and may be a place larger."""
LEAST_SIDE, SIDES = 3, 4
"""The least side of a window, and how many lengths there are at first."""
WARMTH = (1.2, 1.6, 2.0, 2.5)
"""The temperatures of windows, in what a dust costs."""
WITHIN = 3
"""Once all faces resist, each so many-th window is within the box by chance."""
STINT = 500
"""After how many moves the time is looked at."""
BUILT, EACH = 1000, 4
"""As how many moves a window counts that is made, and each move in it."""


@dataclass(frozen=True)
class Face:
    """An outer slice: all places that are at a number along an axis."""

    axis: int
    last: bool

    def slice_of(self, size: At) -> int:
        """The number of the slice."""
        return size[self.axis] if self.last else 1


FACES = tuple(Face(axis, last) for axis in range(3) for last in (False, True))


class Pushing:
    """Pushes what stands in outer slices of a drawing inward; kept is only that after which it is the circuit."""

    def __init__(
        self, problem: Problem, drawing: Drawing, fast: Fast, draws: Callable[[int], int], spend: Spend, by_hand: bool
    ) -> None:
        self._problem, self._fast, self._random, self._spend, self._by_hand = problem, fast, draws, spend, by_hand
        self._whole = Whole(problem, drawing, by_hand)
        self._vain = dict.fromkeys(FACES, 0)
        self._chances = [fast.rows([int(SCALE * math.exp(-more / warmth)) for more in range(80)]) for warmth in WARMTH]

    @property
    def drawing(self) -> Drawing:
        """The drawing as it is now."""
        return self._whole.drawing

    def step(self) -> bool:
        """Tries one window; whether the box is smaller now."""
        before = places_of(self.drawing.size)
        if min(self._vain.values()) >= PATIENCE and self._random(WITHIN) == 0:
            self._push_within()
            return False
        face = self._face()
        if self._push(face, face.slice_of(self._whole.size), self._moves(face)):
            self._vain[face] //= 2
        else:
            self._vain[face] += 1
        return places_of(self.drawing.size) < before

    def _moves(self, face: Face) -> int:
        """How many moves are made in a window of a face."""
        return min(MOVES * (1 + self._vain[face] // PATIENCE), MOST_MOVES)

    def _push_within(self) -> None:
        """Pushes on from a slice behind some face, if no more stands there afterwards: that makes room."""
        face, before = FACES[self._random(len(FACES))], self._whole
        behind = self._random(max(1, before.size[face.axis] // 2))
        number = before.size[face.axis] - behind if face.last else 1 + behind
        if self._push(face, number, MOVES) and len(self._whole.things) > len(before.things):
            self._whole = before

    def _face(self) -> Face:
        """The face of which a place that gets free promises most, the fewer were tried in vain."""
        size = self._whole.size
        counts = dict.fromkeys(FACES, 0)
        for at in self._whole.things:
            for axis in range(3):
                if at[axis] == 1:
                    counts[FACES[2 * axis]] += 1
                if at[axis] == size[axis]:
                    counts[FACES[2 * axis + 1]] += 1

        def promise(face: Face) -> int:
            each = 1000 * places_of(size) // (size[face.axis] * max(1, counts[face]))
            return each * PATIENCE // (PATIENCE + self._vain[face])

        return max(FACES, key=promise)

    def _push(self, face: Face, number: int, moves: int) -> bool:
        """Frees the places of a slice in one window; whether that is done."""
        cells = sorted(at for at in self._whole.things if at[face.axis] == number)
        if not cells:
            return False
        window = self._window(face, number, cells[self._random(len(cells))])
        self._spend(BUILT)
        box = window.box(lambda at: at[face.axis] == number, self._fast.read, self._fast.rows)
        if box is None or not self._anneal(box, moves):
            return False
        prune(box, self._fast.read)
        return self._take(window.with_box(box))

    def _anneal(self, box: Box, moves: int) -> bool:
        """Anneals until nothing in a box is wrong; whether that is so after so many moves at most."""
        kept, rng = self._fast.rows(box.memory), self._fast.rows([1 + self._random(MODULUS - 2)])
        chances = self._chances[self._random(len(self._chances))]
        for _ in range(0, moves, STINT):
            left = int(self._fast.anneal(box.memory, kept, rng, chances, STINT, int(self._by_hand)))
            self._spend((STINT - max(left, 0)) * EACH)
            if left >= 0:
                return True
        return False

    def _window(self, face: Face, number: int, at: At) -> Window:
        """A window around a place of a face, as deep as wide by chance."""
        size, low, high = self._whole.size, [0, 0, 0], [0, 0, 0]
        for axis in range(3):
            side = LEAST_SIDE + self._random(SIDES + self._vain[face] // PATIENCE)
            first = at[axis] - self._random(side)
            if axis == face.axis:
                first = number - side + 1 if face.last else number
            low[axis], high[axis] = max(1, first), min(size[axis], first + side - 1)
        return Window(self._whole, (low[0], low[1], low[2]), (high[0], high[1], high[2]))

    def _take(self, drawing: Drawing) -> bool:
        """Takes a drawing that is the circuit, with all levers within reach; whether it is."""
        if wrong_with(self._problem.circuit, drawing):
            return False
        whole = Whole(self._problem, drawing.cropped, self._by_hand)
        levers = (at for at, part in whole.parts.items() if whole.code(part) == LEVER)
        if self._by_hand and not all(map(whole.in_reach, levers)):
            return False
        self._whole = whole
        return True
