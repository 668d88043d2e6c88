"""The search for a drawing of few things to place: a small box first, then fewer things in such boxes.

What counts are all things that somebody places, one as much as another: blocks, dust and parts. Of drawings with as
many things the one of the smaller box counts as better. Half of the budget goes into the search for a small box, and
more while none is found. Of all that it finds on its way, large or small, the layouts of fewest things are gone on
with: each is annealed from warm to cold with every thing dearer, in its own box or in one with a slice more, pruned,
and asked of the true reading.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from time import monotonic
from typing import TYPE_CHECKING, NamedTuple

from circuitcheck.model.drawing import At, Drawing
from circuitcheck.placing.annealing import wrong
from circuitcheck.placing.bounds import Bounds, has_room, least_places, places_of
from circuitcheck.placing.box import Box, box_of, cropped, drawing_of, fill, lift_unfit, prune, with_slice
from circuitcheck.placing.compiled import Fast
from circuitcheck.placing.problem import Problem
from circuitcheck.placing.random_numbers import MODULUS, random
from circuitcheck.placing.smallest_box import AT_ONCE, Ended, Found, OutOfTime, Search
from circuitcheck.placing.tempering import at_work, kept_of
from circuitcheck.placing.thinning import Attempt, Came, anneal_from_warm
from circuitcheck.placing.true_reading import untrue

if TYPE_CHECKING:
    from concurrent.futures import Executor

KEPT = 4
"""How many layouts are gone on with by turns, each of another size."""
ANNEALED = 200
"""How many moves an attempt makes, for each pair of parts."""
LOTS = 8
"""Where nothing is found in half of the moves, they go into that search by so many more lots of them."""
ROOMIER = 3
"""One attempt in so many has a slice more than the layout that it begins with."""


class Rank(NamedTuple):
    """What orders drawings: the least is the best."""

    things: int
    places: int


def rank_of(drawing: Drawing) -> Rank:
    """How many things are to be placed, and how large the box is."""
    return Rank(len(drawing.things), places_of(drawing.extent))


class FewestThings:
    """One search for few things, with a budget of moves; `until` is a second bound, as of `Search`."""

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
        half = None if until is None else (monotonic() + until) / 2
        self.search = Search(problem, bounds, fast, moves - moves // 2, seed, half, by_hand, tells, self._allows)
        self._problem, self._bounds, self._fast, self._allowed = problem, bounds, fast, allows
        self._moves, self._until, self._by_hand, self._tells = moves, until, by_hand, tells
        self._rng = fast.rows([seed * 104_729 % (MODULUS - 1) + 1])
        self._kept: dict[At, Drawing] = {}
        """The best layout of each size."""

    @property
    def found(self) -> Found:
        """What the search has found so far."""
        found = self.search.found
        if self._kept:
            found.drawing = self._best
        return found

    def begin_with(self, drawing: Drawing, where: Mapping[str, At]) -> None:
        """Begins with a drawing, as `Search` does. Raises CantPlace."""
        self.search.begin_with(drawing, where)

    def run(self, executor: Executor | None = None) -> Found:
        """Searches until the budget is spent. Ctrl-C ends it as a budget does."""
        ended = self.search.run(executor).ended
        while self._needs_more(ended):
            self.search.allow_more(max(1, self._moves // LOTS), self._until)
            ended = self.search.run(executor).ended
        if self._kept and ended is not Ended.STOPPED:
            try:
                self._go_on(executor)
            except KeyboardInterrupt:
                self.search.found.ended = Ended.STOPPED
        return self.found

    def _needs_more(self, ended: Ended) -> bool:
        """Whether nothing was found in the time and the moves for that, and there are more."""
        in_time = self._until is None or monotonic() <= self._until
        more = in_time and self.search.found.moves < self._moves
        return not self._kept and more and ended in (Ended.MOVES, Ended.SECONDS)

    @property
    def _best(self) -> Drawing:
        return min(self._kept.values(), key=rank_of)

    def _allows(self, drawing: Drawing) -> bool:
        """Whether a right layout may be the result; notes it then. Raises OutOfTime."""
        if not self._allowed(drawing):
            return False
        size = drawing.size
        best = self._kept.get(size)
        if self._bounds.fits_turned(size) and (best is None or rank_of(drawing) <= rank_of(best)):
            self._kept[size] = drawing
            worst = max(self._kept, key=lambda each: rank_of(self._kept[each]))
            if len(self._kept) > KEPT:
                del self._kept[worst]
        return True

    def _go_on(self, executor: Executor | None) -> None:
        """Takes out things until the budget is spent."""
        found = self.search.found
        found.ended, found.drawing = Ended.MOVES, self._best
        least = least_places(self._problem)
        while found.moves < self._moves:
            if rank_of(found.drawing) <= (least, least):
                found.ended = Ended.LEAST
                return
            if self._until is not None and monotonic() > self._until:
                found.ended = Ended.SECONDS
                return
            things, places = rank_of(self._best)
            self._tells(f"fewer things than {things}, in a box of {places} places so far")
            boxes = [self._begun() for _ in range(AT_ONCE)]
            attempts = [self._attempt(box) for box in boxes]
            run = map if executor is None else executor.map
            for box, came in zip(boxes, list(run(anneal_from_warm, attempts)), strict=True):
                found.moves += came.moves
                if not self._take(box, came):
                    found.ended = Ended.SECONDS
                    return
            found.drawing = self._best

    def _begun(self) -> Box:
        """One of the layouts that are gone on with, in a box of its size or with a slice more."""
        among = sorted(self._kept.values(), key=rank_of)
        drawing = among[min(self._random(len(among)), self._random(len(among)))]
        plain = self._box(drawing)
        if self._problem.asked or self._random(ROOMIER):
            return plain
        axis, before = self._random(3), self._random(2)
        size = [each + (number == axis) for number, each in enumerate(plain.size)]
        more = (size[0], size[1], size[2])
        if not (self._bounds.fits_turned(more) and has_room(more)):
            return plain
        box = with_slice(plain, axis, 1 if before else size[axis], self._fast.rows)
        lift_unfit(box, self._by_hand)
        self._fast.read(box.memory)
        return plain if wrong(box.memory) else box

    def _box(self, drawing: Drawing) -> Box:
        """A layout in its box."""
        box = box_of(self._problem, drawing.size, self._fast.rows)
        where = {name: at for at, name in drawing.names.items()}
        fill(box, drawing.things, {number: where[name] for number, name in enumerate(self._problem.names)})
        return box

    def _attempt(self, box: Box) -> Attempt:
        """The attempt to have fewer things in a box: at each of its places they are dearer."""
        fast = self._fast
        share = max(1, (self._moves - self.search.found.moves) // AT_ONCE)
        moves = min(ANNEALED * len(self._problem.codes) ** 2, share)
        dear = fast.rows([box.number(at) for at in box.places()])
        base, seed = fast.rows(box.memory), 1 + self._random(MODULUS - 2)
        return Attempt(base, kept_of(base, fast), moves, seed, self._by_hand, self._until, fast.compiled, dear)

    def _take(self, box: Box, came: Came) -> bool:
        """Notes what an attempt came to, if it is right; False where no time was left to judge it."""
        if came.layout is None:
            return True
        made = Box(box.problem, box.size, at_work(came.layout, box.memory, self._fast))
        prune(made, self._fast.read)
        drawing = drawing_of(cropped(made, self._fast.rows))
        if untrue(self._problem, drawing):
            self.search.found.refused += 1
            return True
        try:
            if not self._allows(drawing):
                self.search.found.turned_down += 1
        except OutOfTime:
            self.search.found.unjudged += 1
            return False
        return True

    def _random(self, below: int) -> int:
        return int(random(self._rng, below))
