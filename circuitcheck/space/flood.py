"""The flood that light is found by, over one flat row of places: its level wherever it comes, and the way it came.

It goes on from the brightest places first, so that the first time a place is reached is the brightest, as in Dijkstra's
algorithm. A drawing is read through many floods, and all of them go over one row of whole numbers.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from circuitcheck.model.drawing import ABOVE, At, Direction
from circuitcheck.model.light import FULL_SUN

CLOSED = 255
"""What a place takes that no light comes to: more than there is."""


class Flood(NamedTuple):
    """The light from some sources: the level at every place that light reaches, and the place it came from."""

    levels: dict[At, int]
    came_from: dict[At, At]

    def path(self, place: At) -> list[At]:
        """The places that light has passed to here, from the first behind its source on."""
        found = [place]
        while found[-1] in self.came_from:
            found.append(self.came_from[found[-1]])
        return found[::-1]


class Basin:
    """The places that light may come to, in one row, with what each takes of it.

    Args:
        outer: The last layer, row and column that light comes to; the first are 1, 0 and 0.
        takes: What the places take that are not clear; light comes to them wherever they are.
        half: The places with a half block, each with the direction of its full face, up or down (rule G3).
    """

    def __init__(self, outer: At, takes: Mapping[At, int], half: Mapping[At, Direction]) -> None:
        top, rows, columns = outer
        others = (*zip(*takes, strict=True),) or ((1,), (0,), (0,))
        first: list[int] = [min(least, *given) - 1 for least, given in zip((1, 0, 0), others, strict=True)]
        last: list[int] = [max(most, *given) + 1 for most, given in zip(outer, others, strict=True)]
        self._first = first[0], first[1], first[2]
        self._row = last[2] - first[2] + 1
        self._layer = self._row * (last[1] - first[1] + 1)
        self._takes = bytearray([CLOSED]) * (self._layer * (last[0] - first[0] + 1))
        for layer in range(1, top + 1):
            for row in range(rows + 1):
                begin = self._number((layer, row, 0))
                self._takes[begin : begin + columns + 1] = bytes([1]) * (columns + 1)
        self._lets_sun_down = bytearray(takes == 1 for takes in self._takes)
        for place, taken in takes.items():
            number = self._number(place)
            self._takes[number] = taken
            self._lets_sun_down[number] = False
        self._closed_above = {
            self._number(place) - (0 if face is ABOVE else self._layer) for place, face in half.items()
        }
        """The places from which no light goes up, nor comes down to, for the full face of a half block."""

    def _number(self, place: At) -> int:
        layer, row, column = self._first
        return (place[0] - layer) * self._layer + (place[1] - row) * self._row + place[2] - column

    def _place(self, number: int) -> At:
        layer, rest = divmod(number, self._layer)
        row, column = divmod(rest, self._row)
        first = self._first
        return (layer + first[0], row + first[1], column + first[2])

    def flood(self, begin: Mapping[At, int], sky: bool, down_to: int) -> Flood:
        """The light of some places, each at its own level, followed down to a level; of the sky, it is full sun.

        This is where time goes in a large drawing: nothing is called in it that could be looked up.
        """
        takes, lets_sun_down, closed_above = self._takes, self._lets_sun_down, self._closed_above
        layer, row = self._layer, self._row
        seen = bytearray(len(takes))
        found: list[tuple[int, int, int]] = []
        waiting: list[list[tuple[int, int]]] = [[] for _ in range(FULL_SUN + 1)]
        for place, level in begin.items():
            if level >= down_to:
                waiting[level].append((self._number(place), -1))
        for level in range(FULL_SUN, down_to - 1, -1):
            sun = sky and level == FULL_SUN
            for here, before in waiting[level]:  # it grows while full sun goes straight down
                if seen[here]:
                    continue
                seen[here] = 1
                found.append((here, level, before))
                for beside in (here - row, here + 1, here + row, here - 1):
                    if takes[beside] < level and not seen[beside]:
                        waiting[level - takes[beside]].append((beside, here))
                above, below = here + layer, here - layer
                if takes[above] < level and not seen[above] and here not in closed_above:
                    waiting[level - takes[above]].append((above, here))
                cost = 0 if sun and lets_sun_down[below] else takes[below]
                if cost < level and not seen[below] and below not in closed_above:
                    waiting[level - cost].append((below, here))
        places = {number: self._place(number) for number, _, _ in found}
        return Flood(
            {places[number]: level for number, level, _ in found},
            {places[number]: places[before] for number, _, before in found if before >= 0},
        )
