"""The search for a small drawing of a circuit: a roomy box first, then smaller and smaller ones.

Boxes of several sizes are annealed by turns (`tempering`), the more often the less is wrong in them. Once a layout is
found, slices are taken out of it as well (`thinning`). What is found is pruned, cropped, and asked of the true reading
before it counts; then only smaller boxes are gone on with.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from itertools import islice, takewhile
from time import monotonic
from typing import TYPE_CHECKING

from circuitcheck.model.drawing import At, Drawing
from circuitcheck.placing.annealing import wrong
from circuitcheck.placing.bounds import (
    Bounds,
    first_sizes,
    has_room,
    least_places,
    places_of,
    refuse_too_large,
    refuse_too_small,
    roundness,
    smaller_sizes,
)
from circuitcheck.placing.box import Box, box_of, cropped, drawing_of, fill, lift_unfit, prune
from circuitcheck.placing.compiled import Fast
from circuitcheck.placing.contradictions import refuse_contradictions
from circuitcheck.placing.left import left_in
from circuitcheck.placing.problem import CantPlace, Problem, refuse_too_many
from circuitcheck.placing.random_numbers import MODULUS, random
from circuitcheck.placing.renewed_text import Renewed
from circuitcheck.placing.tempering import Ladder, Stint, climb
from circuitcheck.placing.thinning import MENDED, WANDERED, Attempt, Came, Line, anneal_from_warm
from circuitcheck.placing.true_reading import untrue

if TYPE_CHECKING:
    from concurrent.futures import Executor

STINT = 120
"""How many moves a box is gone on with for at once, for each pair of parts."""
AT_ONCE = 2
"""How many boxes, or slices, are gone on with before what came of them is looked at."""
THINNED = 20
"""How often slices are taken out of a roomy box in vain, two at a time, before others are gone on with in turn."""
TURNS, FEW = 3, 64
"""In how many rounds others are gone on with once where the box is not roomy; in each, where it has so few places."""
SIZES = 3
"""How many sizes are gone on with by turns at first; one more when that was in vain `PATIENCE` times 1, 4, 9 ..."""
PATIENCE = 8
ROOMY = 6
"""How many times the places that are needed at all make a box roomy: then slices are taken out first, and of other
boxes those of a first search are tried."""


class Ended(Enum):
    """Why a search ended."""

    MOVES = "the moves ran out"
    SECONDS = "the time ran out"
    STOPPED = "it was stopped"
    LEAST = "nothing smaller that is allowed has room for the parts"
    EXACT = "boxes were asked in turn, the smallest first"
    EXCLUDED = "every box that is allowed is excluded"


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
    too_long: list[str] = field(default_factory=list)
    """The ways in it that are too long for the levels of dust, or nearly so, in words."""
    repeaters: list[Renewed] = field(default_factory=list)
    """The repeaters that were put into the circuit, each of which makes what it feeds 1t later."""
    kept_out: int = 0
    """How often none was put in, as something would not hold any more."""
    pieces: int = 0
    """Of how many pieces it was made that were placed and joined; 0 where the circuit was laid out as one."""
    refused: int = 0
    """How many layouts the true reading refused that the fast one took: none, if both are the same rules."""
    turned_down: int = 0
    """How many layouts that are the circuit were not allowed, for copies beside them or for what holds of the file."""
    unjudged: int = 0
    """How many layouts that are the circuit there was no time left to judge."""


class OutOfTime(Exception):
    """No time is left to judge whether a drawing is allowed."""


class _Over(Exception):
    """The budget is spent."""


class Search:
    """One search, with a budget of moves; `until` is a second bound, in seconds of a monotonic clock.

    Of drawings that are the circuit, only those count that `allows` lets pass; it may raise OutOfTime.
    """

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
        allows: Callable[[Drawing], bool] = lambda drawing: True,
    ) -> None:
        refuse_too_many(problem)
        refuse_too_small(problem, bounds)
        refuse_contradictions(problem, bounds, by_hand)
        self._problem, self._bounds, self._fast = problem, bounds, fast
        self._left, self._until, self._by_hand, self._tells = moves, until, by_hand, tells
        self._allows = allows
        self._rng = fast.rows([seed * 7919 % (MODULUS - 1) + 1])
        self._best: Box | None = None
        self._least = -1
        self._ladders: dict[At, Ladder] = {}
        self._line = Line(fast, by_hand, self._random, lambda size: bounds.fits_turned(size) and has_room(size))
        self._in_vain, self._thinned, self._rounds = 0, 0, 0
        self._known: tuple[int, list[At]] = 0, []
        self.found = Found()

    def run(self, executor: Executor | None = None) -> Found:
        """Searches until the budget is spent, or until nothing smaller can be. Ctrl-C ends it as a budget does.

        What comes out is the same whether an executor shares the work or none: two boxes are gone on with at once in
        any case, each with numbers at random of its own.
        """
        try:
            while not self.found.unjudged and self._round(executor):
                pass
            self.found.ended = Ended.SECONDS if self.found.unjudged else Ended.LEAST
        except _Over:
            pass
        except KeyboardInterrupt:
            self.found.ended = Ended.STOPPED
        return self.found

    def allow_more(self, moves: int, until: float | None) -> None:
        """Adds to the budget, so that a search that has ended may run again."""
        self._left += moves
        self._until = until
        self.found.ended = Ended.MOVES

    def begin_with(self, drawing: Drawing, where: Mapping[str, At]) -> None:
        """Begins with a drawing, with each part at its place. Raises CantPlace if it is not the circuit.

        One that is larger than allowed is begun with as well, but does not count as found.
        """
        refuse_too_large(drawing.size)
        box = box_of(self._problem, drawing.size, self._fast.rows)
        fill(box, drawing.things, {number: where[name] for number, name in enumerate(self._problem.names)})
        self._fast.read(box.memory)
        if wrong(box.memory):
            raise CantPlace("the drawing is not the circuit", "'verify' says what differs")
        if self._problem.asked.not_kept(drawing):
            lift_unfit(box, self._by_hand)
            self._ladders[box.size] = Ladder([box], self._fast)
        elif self._take(box):
            self._begin_line()

    def begin_with_found(self, found: Found) -> None:
        """Begins with what another search of the same circuit came to, whose moves count. Raises KeyboardInterrupt
        where it was stopped, and CantPlace as above."""
        self._left -= found.moves
        self.found.moves += found.moves
        self.found.partial, self.found.left = found.partial, found.left
        if found.drawing is not None:
            self.begin_with(found.drawing, {name: at for at, name in found.drawing.names.items()})
        if found.ended is Ended.STOPPED:
            raise KeyboardInterrupt

    @property
    def best_places(self) -> int:
        """How many places the best box so far has; 0 while there is none."""
        return 0 if self._best is None else places_of(self._best.size)

    def _round(self, executor: Executor | None) -> bool:
        """Goes on with one way of searching or both; whether there is any."""
        best = self.best_places
        thinner = best > least_places(self._problem) and self._line.can_go_on
        roomy = best > ROOMY * least_places(self._problem)
        waits = self._thinned < THINNED if roomy else best > FEW and self._rounds % TURNS != 0
        chosen = [] if thinner and waits else self._chosen()
        self._rounds += 1
        if chosen:
            self._go_on(chosen, executor)
        if thinner:
            self._thin(executor)
        self._thinned = self._thinned + 1 if self.best_places == best else 0
        return bool(chosen) or thinner

    def _chosen(self) -> list[At]:
        """The boxes to go on with: those that promise most, as little was wrong in them or they are new."""
        sizes = self._sizes()
        for size in sizes:
            if size not in self._ladders:
                self.found.boxes += 1
                self._ladders[size] = Ladder([box_of(self._problem, size, self._fast.rows)], self._fast)
        return sorted(sizes, key=lambda each: self._ladders[each].least ** 2 * self._ladders[each].stints)[:AT_ONCE]

    def _sizes(self) -> list[At]:
        """The sizes of boxes to be tried."""
        most = SIZES + math.isqrt(self._in_vain // PATIENCE)
        if self._best is None:
            begun = [size for size in self._ladders if self._bounds.fits(size)]
            first = islice(first_sizes(self._problem, self._bounds), most)
            return [*begun, *(size for size in first if size not in begun)]
        if self.best_places <= least_places(self._problem):
            return []
        return self._rounder(self.best_places)[:most]

    def _rounder(self, before: int) -> list[At]:
        """Smaller boxes, those nearest to a cube first; where the best one is roomy, those of a first search."""
        if self._problem.staying:
            return []  # what stays has its place in a box that is thinner, and in no other
        if before > ROOMY * least_places(self._problem):
            first = takewhile(lambda size: places_of(size) < before, first_sizes(self._problem, self._bounds))
            return list(first)
        if self._known[0] != before:
            sizes = smaller_sizes(self._problem, self._bounds, before, before * 3 // 4)
            sizes = sizes or smaller_sizes(self._problem, self._bounds, before, 0)
            self._known = before, sorted(sizes, key=roundness)
        return self._known[1]

    def _go_on(self, chosen: list[At], executor: Executor | None) -> None:
        """Goes on with boxes, and takes what is found."""
        ladders = [self._ladders[size] for size in chosen]
        stints: list[Stint] = []
        for ladder in ladders:
            self._tell(ladder.size)
            moves = self._spend(STINT * len(self._problem.codes) ** 2, needed=not stints)
            stints += [ladder.stint(moves, 1 + self._random(MODULUS - 2), self._by_hand, self._until)]
        outcomes = list(map(climb, stints) if executor is None else executor.map(climb, stints))
        for ladder, stint, climbed in zip(ladders, stints, outcomes, strict=True):
            self._left += stint.moves - climbed.moves
            self.found.moves += climbed.moves
            box = ladder.take(climbed)
            self._keep_partial(ladder)
            self._in_vain += 1
            if box is not None:
                self._ladders.pop(ladder.size, None)
                if self._take(box):
                    self._begin_line()

    def _tell_thinner(self) -> None:
        self._tells(f"a slice out of {self._line}, best so far {self.best_places}")

    def _tell(self, size: At) -> None:
        best = f", best so far {self.best_places}" if self.best_places else ""
        self._tells(f"box of {' x '.join(map(str, size))} = {places_of(size)} places, of {self.found.boxes}{best}")

    def _thin(self, executor: Executor | None) -> None:
        """Takes slices out of a layout that has wandered, and mends what that breaks."""
        line, pairs = self._line, len(self._problem.codes) ** 2
        gone = line.chosen(AT_ONCE, self.best_places)
        self._tell_thinner()
        wandered = WANDERED * pairs if line.is_stuck else 0
        attempts = [line.wander(each, *self._lot(wandered, number == 0)) for number, each in enumerate(gone)]
        came = self._attempted(attempts, executor)
        boxes = [line.cut(each, outcome) for each, outcome in zip(gone, came, strict=True)]
        attempts = [line.mend(box, *self._lot(MENDED * pairs, number == 0)) for number, box in enumerate(boxes)]
        came = self._attempted(attempts, executor)
        mended = [line.mended(box, outcome) for box, outcome in zip(boxes, came, strict=True)]
        made = [box for box in mended if box is not None]
        if made:
            least = min(made, key=lambda box: places_of(box.size))
            if places_of(least.size) >= self.best_places:
                line.go_on(least)
            elif self._take(least):
                assert self._best is not None
                line.go_on(self._best)

    def _begin_line(self) -> None:
        """Takes slices out of the best layout from now on."""
        assert self._best is not None
        self._line.begin(self._best)

    def _lot(self, moves: int, needed: bool) -> tuple[int, int, float | None]:
        """How many moves an attempt may make, its numbers at random, and when it is to end."""
        return self._spend(moves, needed), 1 + self._random(MODULUS - 2), self._until

    def _attempted(self, attempts: list[Attempt], executor: Executor | None) -> list[Came]:
        came = list(map(anneal_from_warm, attempts) if executor is None else executor.map(anneal_from_warm, attempts))
        for attempt, outcome in zip(attempts, came, strict=True):
            self._left += attempt.moves - outcome.moves
            self.found.moves += outcome.moves
        return came

    def _spend(self, moves: int, needed: bool) -> int:
        """Takes moves from the budget; how many of them may be made. Ends where none are left that are needed."""
        if needed and self._left <= 0:
            raise _Over
        if needed and self._until is not None and monotonic() > self._until:
            self.found.ended = Ended.SECONDS
            raise _Over
        may = min(moves, self._left)
        self._left -= may
        return may

    def _random(self, below: int) -> int:
        return int(random(self._rng, below))

    def _keep_partial(self, ladder: Ladder) -> None:
        """Keeps the layout that costs least, as long as there is none with nothing wrong."""
        box = ladder.best
        if self._best is None and box is not None and (self._least < 0 or ladder.least < self._least):
            self._least = ladder.least
            self.found.partial = drawing_of(box)
            self.found.left = list(left_in(box))

    def _take(self, box: Box) -> bool:
        """Takes what was found, pruned; if it is refused so, and something stays that may depend on more, as it is.

        Says whether it was right, and smaller than the best before.
        """
        before = self.best_places
        pruned = Box(box.problem, box.size, self._fast.rows(box.memory))
        prune(pruned, self._fast.read)
        if not self._accept(pruned) and self._problem.staying:
            self._accept(box)
        return self.best_places != before

    def _accept(self, box: Box) -> bool:
        """Crops what was found, asks the true reading, and goes on with it; whether it was right."""
        box = cropped(box, self._fast.rows)
        drawing = drawing_of(box)
        if untrue(self._problem, drawing):
            self.found.refused += 1
            return False
        try:
            allowed = self._allows(drawing)
        except OutOfTime:
            self.found.unjudged += 1  # so the search ends
            return False
        if not allowed:
            self.found.turned_down += 1
            return False
        if self._best is None or places_of(drawing.size) < self.best_places:
            self._best = box
            if self._bounds.fits_turned(drawing.size):
                self.found.drawing = drawing
            self.found.partial, self.found.left = None, []
            self._in_vain = 0
            self._ladders = {
                size: ladder for size, ladder in self._ladders.items() if places_of(size) < self.best_places
            }
        return True
