"""The search for a layout of a circuit in pieces: they are arranged, and joined by dust, again and again.

What is found is asked of the true reading before it counts, and the smallest is kept.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from time import monotonic
from typing import NamedTuple

from circuitcheck.model.drawing import At, Drawing
from circuitcheck.placing.asked_places import NOTHING
from circuitcheck.placing.bounds import Bounds, places_of, refuse_too_small
from circuitcheck.placing.pieces.arranged import Plan
from circuitcheck.placing.pieces.drawn_pieces import drawing_of
from circuitcheck.placing.pieces.ground import Standing, ground_of
from circuitcheck.placing.pieces.long_ways import Way, long_ways
from circuitcheck.placing.pieces.made_pieces import pieces_of, straight_parts
from circuitcheck.placing.pieces.negotiating import Router
from circuitcheck.placing.pieces.nets import nets_of
from circuitcheck.placing.pieces.pushing import Pushing
from circuitcheck.placing.pieces.squeezing import Layout, Squeeze, Stand
from circuitcheck.placing.pieces.tools import Tools, tools_for
from circuitcheck.placing.problem import CantPlace, Problem
from circuitcheck.placing.random_numbers import MODULUS, random
from circuitcheck.placing.smallest_box import Ended, Found, Search
from circuitcheck.placing.true_reading import wrong_with

LEAST_LAYERS = 4
"""What pieces take: blocks for dust to lie on, parts, dust on what holds them, and one more to cross it."""
ARRANGING = 6000
"""How many moves pieces are arranged with, for each of them; at most a half of what is left."""
STINT = 500
"""After how many moves the time is looked at."""
TURNS = 60
"""How many turns nets have to get out of each other's way."""
PRESSING = 8
"""What a place that is spoiled costs more at first, in sixteenths."""
MEANT = 9
"""How far dust is meant to go at most."""


class Room(NamedTuple):
    """What room an attempt leaves: between pieces aside and upward, and the price of a place of the box."""

    aside: int
    upward: int
    dense: int


DENSE, ROOMY = Room(2, 1, 16), Room(3, 1, 8)
ROOMS = (DENSE, ROOMY)
"""Attempts are made with one after the other: what lies dense is smaller, but many nets get in each other's way."""
SLACK = (17, 20, 23, 26, 30)
"""How much more room than pieces take with their margins an attempt has, in tenths, the first of them first."""


LONGEST_OF_PIECES = 120
"""The longest side of a box that is chosen, in places."""
MOST_AT_ONCE = 25
"""Of more parts annealing as one mostly finds nothing within a usual budget."""
MANY, MOST_BEGUN = 10, 2_500_000
"""From how many parts on annealing begins with a layout in pieces, and how many moves that takes at most."""


def is_for_pieces(problem: Problem) -> bool:
    """Whether a circuit is laid out in pieces: one of many parts, of which none is to stand at some place."""
    return problem.parts > MOST_AT_ONCE and _has_pieces(problem)


def _has_pieces(problem: Problem) -> bool:
    return problem.asked == NOTHING and not problem.staying


def begin_in_pieces(
    search: Search,
    problem: Problem,
    bounds: Bounds,
    moves: int,
    seed: int,
    until: float | None,
    by_hand: bool,
    compiles: bool = True,
) -> None:
    """Lets the annealing of a circuit of some parts begin with a layout in pieces, as that is found at once.

    It takes a quarter of the moves and of the time that the call allows at most. What can't be made of pieces is begun
    with nothing.
    """
    if problem.parts < MANY or not _has_pieces(problem):
        return
    share = min(moves // 4, MOST_BEGUN)
    if until is not None:
        until = (3 * monotonic() + until) / 4
    try:
        pieces = PieceSearch(problem, bounds, tools_for(share if compiles else 0), share, seed, until, by_hand)
    except CantPlace:
        return
    search.begin_with_found(pieces.run())


IN_VAIN = 4
"""How many changes in vain, for each piece, end the taking out of slices: then what stands outside is pushed inward."""
PUSHED_IN_VAIN = 1000
"""How many windows after which the box is no smaller end that: then another layout is begun."""


Renews = Callable[[list[Way]], Problem | None]
"""Takes ways that were too long; gives the circuit with repeaters on some of them, or None where it may have none."""
WITHOUT = 2
"""How many attempts are made before a repeater is put in."""


def plan_of(problem: Problem, by_hand: bool) -> Plan:
    """A circuit in pieces. Raises CantPlace for one that can't be made of them."""
    straight = straight_parts(problem)
    nets = nets_of(problem, frozenset(straight))
    counts: dict[int, int] = {}
    for net in nets:
        for port in net.ports:
            counts[port] = counts.get(port, 0) + 1
    meetings = [net.sources for net in nets if net.given and len(net.sources) > 1]
    return Plan(problem, nets, pieces_of(problem, counts, straight, meetings), by_hand)


class Over(Exception):
    """The budget is spent."""


class PieceSearch:
    """One search, with a budget of moves; `until` is a second bound, in seconds of a monotonic clock.

    A way of dust that is led counts as some moves. Raises CantPlace for a circuit that can't be made of pieces.
    """

    def __init__(
        self,
        problem: Problem,
        bounds: Bounds,
        tools: Tools,
        moves: int,
        seed: int = 1,
        until: float | None = None,
        by_hand: bool = True,
        tells: Callable[[str], None] = lambda what: None,
        renews: Renews = lambda ways: None,
    ) -> None:
        refuse_too_small(problem, bounds)
        if bounds.layers < LEAST_LAYERS:
            raise CantPlace(
                f"so many parts are laid out in pieces, and pieces take {LEAST_LAYERS} layers", "allow more layers"
            )
        self._plan = plan_of(problem, by_hand)
        self._problem, self._bounds, self._tools = problem, bounds, tools
        self._left, self._until, self.tells, self._renews = moves, until, tells, renews
        self._ways: list[Way] = []
        self._renewed = False
        self._rng = tools.rows([seed * 7919 % (MODULUS - 1) + 1])
        self._lacking = -1
        self.found = Found(pieces=len(self._plan.pieces))

    def run(self) -> Found:
        """Searches until the budget is spent. Ctrl-C ends it as a budget does."""
        try:
            while True:
                self._attempt()
        except Over:
            pass
        except KeyboardInterrupt:
            self.found.ended = Ended.STOPPED
        return self.found

    def _attempt(self) -> None:
        """Arranges all pieces again and joins them."""
        room, slack = ROOMS[self.found.boxes % len(ROOMS)], SLACK[self.found.boxes % len(SLACK)]
        if self._renewed:
            room, slack = ROOMY, SLACK[-1]
        size = self._size(room, slack)
        self.found.boxes += 1
        best = "" if self.found.drawing is None else f", best so far {places_of(self.found.drawing.size)}"
        self.tells(f"{len(self._plan.pieces)} pieces in {' x '.join(map(str, size))} places{best}")
        stands = self._arranged(size, room)
        standing = self._plan.standing_at(stands, size)
        router = Router(ground_of(standing, self._tools.rows), standing, self._plan.nets, self._tools, self._spend)
        done, nets = False, list(range(len(self._plan.nets)))
        try:
            done = router.negotiate(TURNS, nets, PRESSING, len(nets))
        finally:
            if not done:
                self._keep_partial(standing, router)
        if done and self._take(standing, router):
            self._push(self._squeeze(Layout(size, stands, standing, router)))
        elif self.found.drawing is None and self.found.boxes >= WITHOUT:
            self._renew()

    def _renew(self) -> None:
        """Goes on with a circuit that has repeaters on the ways that were too long, if it may have any."""
        problem = self._renews(self._ways) if self._ways else None
        if problem is not None:
            self._renewed = True
            self._problem, self._plan = problem, plan_of(problem, self._plan.by_hand)
            self.found.pieces = len(self._plan.pieces)

    def _squeeze(self, layout: Layout) -> Drawing:
        """Takes slices out of a layout until that was in vain for long; the drawing that it comes to."""
        squeeze = Squeeze(self._plan, self._tools, layout, self._random, self._spend)
        vain = 0
        while vain < IN_VAIN * len(self._plan.pieces):
            vain += 1
            if squeeze.step():
                self.tells(f"{len(self._plan.pieces)} pieces in {' x '.join(map(str, squeeze.layout.size))} places")
                if self._take(squeeze.layout.standing, squeeze.layout.router):
                    vain = 0
        return drawing_of(squeeze.layout.standing, self._plan.nets, squeeze.layout.router.trees)

    def _push(self, drawing: Drawing) -> None:
        """Pushes what stands in outer slices of a drawing inward, until that was in vain for long."""
        fast, by_hand = self._tools.fast, self._plan.by_hand
        pushing = Pushing(self._problem, drawing, fast, self._random, self._spend, by_hand)
        vain = 0
        while vain < PUSHED_IN_VAIN:
            vain += 1
            if pushing.step():
                vain = 0
                self.tells(f"{self.found.pieces} pieces in {' x '.join(map(str, pushing.drawing.size))} places")
                self._keep(pushing.drawing)

    def _random(self, below: int) -> int:
        return int(random(self._rng, below))

    def _arranged(self, size: At, room: Room) -> list[Stand]:
        """Where the pieces stand in a box, once they are arranged."""
        layers, rows, columns = size
        high = (layers - 1, rows - min(2, rows // 8), columns - min(2, columns // 8))
        low = (2, 1 + min(2, rows // 8), 1 + min(2, columns // 8))
        made = self._plan.arrangement(low, high, (room.aside, room.upward, MEANT, room.dense), self._tools.rows)
        kept, moves = self._tools.rows([0] * 8), min(ARRANGING * len(self._plan.pieces), self._left // 2 + 1)
        for first in range(0, moves, STINT):
            last = min(moves, first + STINT)
            self._spend(last - first)
            self._tools.arrange(made, self._rng, kept, first, last, moves)
        at = [int(each) for each in made.at]
        return [(at[each], at[each + 1], at[each + 2], at[each + 3]) for each in range(0, len(at), 4)]

    def _size(self, room: Room, slack: int) -> At:
        """A box with some room, as the bounds allow: not high, and nearly as wide as deep."""
        places = 0
        for turns in self._plan.pieces:
            low, high = turns[0].core
            sides = [1 + other - one for one, other in zip(low, high, strict=True)]
            places += (sides[0] + room.upward) * (sides[1] + room.aside) * (sides[2] + room.aside)
        places = places * slack // 10
        layers = min(self._bounds.layers, 9 + 3 * (math.isqrt(places) // 120))
        side = math.isqrt(places // (layers - 2)) + 1
        rows = min(self._bounds.rows, side + 4)
        columns = min(self._bounds.columns, side * side // max(1, rows - 4) + 5)
        return layers, min(self._bounds.rows, max(rows, side * side // max(1, columns - 4) + 5)), columns

    def _spend(self, moves: int) -> None:
        if self._left <= 0:
            raise Over
        if self._until is not None and monotonic() > self._until:
            self.found.ended = Ended.SECONDS
            raise Over
        self._left -= moves
        self.found.moves += moves

    def _take(self, standing: Standing, router: Router) -> bool:
        """Asks the true reading of what was found; whether it is the circuit."""
        drawing = drawing_of(standing, self._plan.nets, router.trees)
        if wrong_with(self._problem.circuit, drawing):
            self.found.refused += 1
            return False
        self._keep(drawing)
        return True

    def _keep(self, drawing: Drawing) -> None:
        """Keeps a drawing that is the circuit, if none was smaller."""
        if self.found.drawing is None or places_of(drawing.size) < places_of(self.found.drawing.size):
            self.found.drawing, self.found.partial, self.found.left = drawing, None, []

    def _keep_partial(self, standing: Standing, router: Router) -> None:
        """Keeps the layout in which least lacks, as long as there is none in which nothing does."""
        if self.found.drawing is not None:
            return
        self._ways = long_ways(self._plan, standing, router)
        router.give_up()
        lacking = [(number, end) for number, tree in enumerate(router.trees) for end in tree.lacking]
        if self._lacking < 0 or len(lacking) < self._lacking:
            self._lacking = len(lacking)
            self.found.partial = drawing_of(standing, self._plan.nets, router.trees)
            self.found.left = [self._plan.said(net, end) for net, end in lacking]
            self.found.too_long = [self._plan.way_said(*way) for way in self._ways]
