"""Dust in space: what it joins (W2), where it points (W3), and what reaches it along its joins."""

from __future__ import annotations

from heapq import heappop, heappush
from typing import NamedTuple

from circuitcheck.model.drawing import ABOVE, AROUND, BELOW, At, Direction
from circuitcheck.model.rules import CARRIES
from circuitcheck.space.room import Answers, Room

AXES = (frozenset(AROUND[::2]), frozenset(AROUND[1::2]))


class Join(NamedTuple):
    """One dust that another is joined to, which way it lies, and whether power runs from there to here."""

    direction: Direction
    other: At
    runs_here: bool


class Dusts:
    """The dust of one drawing; what has been computed is kept."""

    def __init__(self, room: Room) -> None:
        self._room = room
        self._joins: Answers[At, tuple[Join, ...]] = room.answers()
        self._points: Answers[At, frozenset[Direction]] = room.answers()
        self._runs: Answers[At, frozenset[At]] = room.answers()

    def joins(self, here: At) -> tuple[Join, ...]:
        """The dust that dust at a place is joined to (rule W2)."""
        known = self._joins.get(here)
        if known is None:
            found = [self._join(here, direction) for direction in AROUND]
            known = self._joins.keep(tuple(join for joins in found for join in joins), here)
        return known

    def _join(self, here: At, direction: Direction) -> list[Join]:
        room, beside = self._room, direction.from_(here)
        if room.is_dust(beside):
            return [Join(direction, beside, True)]
        found = []
        higher = ABOVE.from_(beside)
        if room.is_dust(higher) and not room.solid(ABOVE.from_(here)):
            # Down a step power comes only where the upper dust lies on a solid block.
            found.append(Join(direction, higher, room.solid(beside)))
        lower = BELOW.from_(beside)
        if room.is_dust(lower) and not room.solid(beside):
            found.append(Join(direction, lower, True))
        return found

    def points(self, here: At) -> frozenset[Direction]:
        """The directions into which dust at a place points (rule W3)."""
        known = self._points.get(here)
        if known is None:
            joined = {join.direction for join in self.joins(here)}
            joined |= {direction for direction in AROUND if self._room.joins_dust(direction.from_(here), direction)}
            known = self._points.keep(self._pointing(here, frozenset(joined)), here)
        return known

    def _pointing(self, here: At, joined: frozenset[Direction]) -> frozenset[Direction]:
        if not joined:
            thing = self._room.at(here)
            return frozenset() if thing is not None and thing.shape == "dot" else frozenset(AROUND)
        return next((axis for axis in AXES if joined <= axis), joined)

    def reached_from(self, here: At) -> dict[At, int]:
        """Every dust whose power reaches dust at a place, with the levels lost on the way (rules P2, W2)."""
        found: dict[At, int] = {}
        queue: list[tuple[int, At]] = [(0, here)]
        while queue:
            lost, place = heappop(queue)
            if place in found or lost >= CARRIES:
                continue
            found[place] = lost
            for join in self.joins(place):
                if join.runs_here and join.other not in found:
                    heappush(queue, (lost + 1, join.other))
        return found

    def whole_run(self, here: At) -> frozenset[At]:
        """All dust that is joined to dust at a place, in whatever direction power runs and however far it is."""
        known = self._runs.get(here)
        if known is not None:
            return known
        found = {here}
        queue = [here]
        for place in queue:
            for join in self.joins(place):
                if join.other not in found:
                    found.add(join.other)
                    queue.append(join.other)
        run = frozenset(found)
        # A join is one from both sides, so that the run is the same from each of its places.
        return self._runs.keep(run, *run)
