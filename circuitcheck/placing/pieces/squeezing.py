"""A layout in pieces made smaller: slices are taken out, pieces put elsewhere, and nets that broke are led again.

Pieces may touch here where that does nothing to them; while they are arranged there is always room between them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from circuitcheck.model.drawing import At
from circuitcheck.placing.grid import ABOVE, BELOW, COMPARATOR, DETECTOR, LAMP, LEVER, REPEATER, TORCH, back_of
from circuitcheck.placing.pieces.arranged import Plan
from circuitcheck.placing.pieces.arranging import STANDS
from circuitcheck.placing.pieces.ground import Standing, ground_of, moved
from circuitcheck.placing.pieces.made_pieces import Piece, Spot, beside
from circuitcheck.placing.pieces.negotiating import Router, Spend, Tree
from circuitcheck.placing.pieces.tools import Tools

TURNS = 12
"""How many turns nets have to get out of each other's way after a change."""
PRESSING, MOST_BROKEN = 32, 6
"""What a place that is spoiled costs more at first, in sixteenths; how many nets may be in each other's way at most."""
TRIED = 12
"""In how many ways a piece that can't stay is put elsewhere."""
CHANGE = 1000
"""As how many moves a change counts."""
Stand = tuple[int, int, int, int]
"""Where a piece stands: its layer, row and column, and which of its stands it has."""


@dataclass
class Layout:
    """Pieces that stand in a box, joined by their nets."""

    size: At
    stands: list[Stand]
    standing: Standing
    router: Router

    @property
    def dust(self) -> int:
        """How many places of dust it has."""
        return sum(len(tree.steps) for tree in self.router.trees)


class Squeeze:
    """Changes a layout bit by bit; only changes after which nothing lacks are kept."""

    def __init__(self, plan: Plan, tools: Tools, layout: Layout, draws: Callable[[int], int], spend: Spend) -> None:
        self._plan, self._tools, self._random, self._spend = plan, tools, draws, spend
        self.layout = layout
        self._taken = [[_taken(plan, each) for each in turns] for turns in plan.pieces]

    def step(self) -> bool:
        """Tries one change; whether the box is smaller now."""
        self._spend(CHANGE)
        if self._random(3):
            return self._without_slice()
        self._shift()
        return False

    def _without_slice(self) -> bool:
        old = self.layout
        axis = self._random(3)
        later = 1 + self._random(old.size[axis])
        low = old.size[axis] - 1
        size = (*old.size[:axis], low, *old.size[axis + 1 :])
        stands = [_on(stand, axis, -1) if stand[axis] >= later else stand for stand in old.stands]
        return low > 0 and self._change((size[0], size[1], size[2]), stands, axis, later)

    def _shift(self) -> None:
        """Puts one piece elsewhere; kept where it takes no more dust."""
        old, piece = self.layout, self._random(len(self.layout.stands))
        stands = list(old.stands)
        stands[piece] = self._near(stands[piece], 1 + self._random(3))
        if self._change(old.size, stands, 0, 0) and self.layout.dust > old.dust + (self._random(8) == 0):
            self.layout = old

    def _near(self, stand: Stand, reach: int) -> Stand:
        """A stand near to another."""
        layer, row, column = (stand[axis] + self._random(2 * reach + 1) - reach for axis in range(3))
        return layer, row, column, stand[3] if self._random(3) else self._random(STANDS)

    def _change(self, size: At, stands: list[Stand], axis: int, later: int) -> bool:
        """Puts all pieces where they are to stand, or near to it, and leads broken nets again; whether that is done."""
        if not self._all_stand(size, stands):
            return False
        old = self.layout
        standing = self._plan.standing_at(stands, size)
        router = Router(ground_of(standing, self._tools.rows), standing, self._plan.nets, self._tools, self._spend)
        router.begin([_carried(tree, old.standing, standing, axis, later) for tree in old.router.trees])
        broken = router.fought()
        if len(broken) > MOST_BROKEN or not router.negotiate(TURNS, broken, PRESSING, MOST_BROKEN):
            return False
        self.layout = Layout(size, stands, standing, router)
        return True

    def _all_stand(self, size: At, stands: list[Stand]) -> bool:
        """Puts those pieces elsewhere that are in the way of others, or outside; whether all have room."""
        taken: dict[Spot, int] = {}
        kept: dict[Spot, int] = {}
        late = []
        for piece, stand in enumerate(stands):
            if self._has_room(piece, stand, size, taken, kept):
                self._put(piece, stand, taken, kept)
            else:
                late.append(piece)
        for piece in late:
            tries = (self._near(stands[piece], 1 + self._random(4)) for _ in range(TRIED))
            found = next((each for each in tries if self._has_room(piece, each, size, taken, kept)), None)
            if found is None:
                return False
            stands[piece] = found
            self._put(piece, found, taken, kept)
        return True

    def _has_room(self, piece: int, stand: Stand, size: At, taken: dict[Spot, int], kept: dict[Spot, int]) -> bool:
        own, around, inside = self._taken[piece][stand[3] % 4]
        at = stand[:3]
        if not all(1 <= at[axis] + each[axis] <= size[axis] for each in inside for axis in range(3)):
            return False
        things, room = (frozenset(moved(each, at) for each in places) for places in (own, around))
        return things.isdisjoint(taken) and things.isdisjoint(kept) and room.isdisjoint(taken)

    def _put(self, piece: int, stand: Stand, taken: dict[Spot, int], kept: dict[Spot, int]) -> None:
        own, around, _ = self._taken[piece][stand[3] % 4]
        taken.update((moved(each, stand[:3]), piece) for each in own)
        kept.update((moved(each, stand[:3]), piece) for each in around)


def _on(stand: Stand, axis: int, by: int) -> Stand:
    """A stand, moved along an axis."""
    layer, row, column = (each + by * (number == axis) for number, each in enumerate(stand[:3]))
    return layer, row, column, stand[3]


def _taken(plan: Plan, piece: Piece) -> tuple[list[Spot], list[Spot], list[Spot]]:
    """What a piece takes: places of its own, those in which nothing of another piece may stand, and what is inside."""
    own = [*piece.blocks, *(at for at, _ in piece.parts.values())]
    pins = [at for pins in piece.pins.values() for at in pins]
    around = [*pins, *(beside(at, BELOW) for at in pins if beside(at, BELOW) not in own)]
    for part, (at, way) in piece.parts.items():
        around += _around(plan.problem.codes[part], at, way, plan.by_hand)
    return own, around, [*own, *pins]


def _around(code: int, at: Spot, way: int, by_hand: bool) -> Iterable[Spot]:
    """Where nothing of another piece may stand: it would be powered, or power (rules W4 to W8)."""
    if code == TORCH:
        return [beside(at, ABOVE)]
    if code == LEVER:
        return [beside(at, ABOVE, up) for up in range(1, 40)] if by_hand else []
    if code in (REPEATER, COMPARATOR, DETECTOR):
        sides = [(way + turn) % 4 for turn in (1, 3)] if code == COMPARATOR else []
        return [beside(at, each) for each in (way, back_of(way), *sides)]
    return [beside(at, each) for each in range(6)] if code == LAMP else []


def _carried(tree: Tree, before: Standing, after: Standing, axis: int, later: int) -> dict[int, list[int]] | None:
    """The steps of a net, where all from a slice on is one place nearer; None where dust would not be joined any more.

    So that slice and the one before it become one, and a way that led straight through them is one place shorter.
    """
    places: dict[int, At] = {}
    for number in tree.steps:
        at = list(before.place(number))
        if later and at[axis] >= later:
            at[axis] -= 1
        places[number] = at[0], at[1], at[2]
    steps: dict[int, list[int]] = {}
    for number, joined in tree.steps.items():
        here = places[number]
        known = steps.setdefault(after.number(here), [])
        for other in joined:
            up, *aside = (abs(one - another) for one, another in zip(here, places[other], strict=True))
            if here != places[other]:
                if sum(aside) != 1 or up > 1:
                    return None
                known.append(after.number(places[other]))
    return steps
