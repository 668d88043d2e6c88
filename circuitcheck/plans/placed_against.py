"""Against what a thing is placed: the ground, what bears or holds it, or a side of what stands by itself (rule W1).

What stands by itself (blocks of every sort, lamps, pistons, detectors) is placed against the ground under the lowest
layer, or against a side of something that stands by itself. What finds no such side hangs in the air: it needs a helper
block, which is taken away again. A hand comes to a place through open places from outside, past all that does not stand
by itself, and not from below. Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import cached_property
from heapq import heappop, heappush

from circuitcheck.model.block_type import Placed
from circuitcheck.model.drawing import BELOW, At, Drawing, Thing
from circuitcheck.space.room import neighbours


def stands_by_itself(thing: Thing) -> bool:
    """Whether others can be placed against a thing, and no hand reaches through it."""
    return thing.block_type.placed is Placed.BY_ITSELF


def bearer(place: At, thing: Thing) -> At | None:
    """The place of what holds a thing, or of what it lies on; None for what needs neither."""
    if thing.on is not None:
        return thing.on.from_(place)
    return BELOW.from_(place) if thing.block_type.lies else None


class Faces:
    """The sides in a drawing against which things can be placed."""

    def __init__(self, drawing: Drawing) -> None:
        self._things = drawing.things
        self.ground = min((place[0] for place in drawing.things), default=1)

    def may_come(self, place: At, placed: Collection[At]) -> bool:
        """Whether a thing can be placed against what stands; of what hangs in the air in any case one may."""
        thing = self._things[place]
        holds = bearer(place, thing)
        if holds is not None and holds in self._things and holds not in placed:
            return False
        return place in self.hanging or self.has_a_side(place, placed)

    def has_a_side(self, place: At, placed: Collection[At]) -> bool:
        """Whether there is a side to place a thing against; what is held, lies or flows needs none but its bearer's."""
        if not stands_by_itself(self._things[place]) or place[0] == self.ground:
            return True
        return any(each in placed and stands_by_itself(self._things[each]) for _, each in neighbours(place))

    @cached_property
    def hanging(self) -> frozenset[At]:
        """Of each group of things that nothing joins to the ground, the one to begin with, by a helper block."""
        alone = {place for place, thing in self._things.items() if stands_by_itself(thing)}
        self._joined((place for place in list(alone) if place[0] == self.ground), alone)
        found = []
        for place in sorted(alone):
            if place in alone:
                found.append(place)
                self._joined((place,), alone)
        return frozenset(found)

    @staticmethod
    def _joined(begin: Iterable[At], alone: set[At]) -> None:
        """Takes away what sides join to some things."""
        left = list(begin)
        alone.difference_update(left)
        while left:
            beside = {each for _, each in neighbours(left.pop()) if each in alone}
            alone -= beside
            left += beside

    def in_turn(self, wished: Iterable[At], placed: set[At]) -> tuple[list[At], list[At]]:
        """Some things in the order in which they are wished, but none before it can come; and what can't come yet.

        What waits comes as soon as it can. Places are added to `placed`.
        """
        places = list(wished)
        rank = {place: number for number, place in enumerate(places)}
        coming = list(range(len(places)))
        order: list[At] = []
        waiting: set[At] = set()
        while coming:
            place = places[heappop(coming)]
            if not self.may_come(place, placed):
                waiting.add(place)
                continue
            placed.add(place)
            order.append(place)
            for each in waiting.intersection(beside for _, beside in neighbours(place)):
                waiting.remove(each)
                heappush(coming, rank[each])
        return order, [place for place in places if place in waiting]


def in_the_air(drawing: Drawing, order: Sequence[At]) -> Iterator[At]:
    """What has no side to be placed against when its turn comes, in an order of building."""
    faces, placed = Faces(drawing), set[At]()
    for place in order:
        if not faces.has_a_side(place, placed):
            yield place
        placed.add(place)


def shut_in(drawing: Drawing, order: Sequence[At]) -> Iterator[At]:
    """What no hand can come to when its turn comes: only what is placed later than something above it may be so."""
    filled: set[At] = set()
    highest = 0
    for place in order:
        if place[0] < highest and not _leads_out(drawing, place, filled):
            yield place
        highest = max(highest, place[0])
        if stands_by_itself(drawing.things[place]):
            filled.add(place)


def out_of_reach(drawing: Drawing) -> Iterator[At]:
    """What is worked by hand, and no hand comes to once all is built."""
    filled = {place for place, thing in drawing.things.items() if stands_by_itself(thing)}
    for place, thing in sorted(drawing.things.items(), key=lambda each: each[0]):
        if thing.block_type.placed is Placed.BY_HAND and not _leads_out(drawing, place, filled):
            yield place


def _leads_out(drawing: Drawing, place: At, filled: Collection[At]) -> bool:
    """Whether open places lead from a place to the outside of all that is drawn, but for below."""
    ends = [(min(each), max(each)) for each in zip(*drawing.things, strict=True)]
    seen, left = {place}, [place]
    while left:
        for _, beside in neighbours(left.pop()):
            if beside[0] < ends[0][0] or beside in seen or beside in filled:
                continue
            if any(not low <= each <= high for each, (low, high) in zip(beside, ends, strict=True)):
                return True
            seen.add(beside)
            left.append(beside)
    return False
