"""Light by the letters of a drawing, calculated plainly: every place is looked at again until nothing gets brighter.

Rules G1 to G3 (grammar/RULES.md), common practice, no source. It shares nothing with the program.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import product

from circuitcheck.model.drawing import At

Letters = Mapping[At, str]
Levels = dict[At, int]
SOLID = frozenset("SO][PDdmg")
"""Blocks, lamps, cells, pistons and detectors stop light (G3, W1)."""
MARGIN = 2
"""How far around a drawing, and above it, open air is looked at; below it is ground."""
STEPS = ((-1, 0, 0), (1, 0, 0), (0, -1, 0), (0, 1, 0), (0, 0, -1), (0, 0, 1))
DOWN, UP = STEPS[:2]


def takes(letter: str, water: int, half_stops: bool) -> int:
    """What a block takes of light that enters it, but for full sun on its way down (G2)."""
    if letter in SOLID:
        return 15
    return water if letter == "~" else 1


def stopped(before: str, here: str, step: At) -> bool:
    """Whether light meets the full face of a half block, going in or out (G3)."""
    into = (here == "^" and step == DOWN) or (here == "_" and step == UP)
    out = (before == "^" and step == UP) or (before == "_" and step == DOWN)
    return into or out


class Light:
    """The light in one drawing."""

    def __init__(self, letters: Letters, size: At, water: int = 3, half_stops: bool = True) -> None:
        self._letters, self._water, self._half_stops = letters, water, half_stops
        self._top = size[0] + MARGIN
        rows, columns = (range(1 - MARGIN, size[axis] + MARGIN + 1) for axis in (1, 2))
        self._places = list(product(range(1, self._top + 1), rows, columns))

    def of_the_sky(self) -> Levels:
        """Full sun, 15, goes straight down through clear blocks for nothing (G2)."""
        levels: Levels = {}
        for layer, row, column in sorted(self._places, reverse=True):
            above = (layer + 1, row, column)
            here, before = self._letter((layer, row, column)), self._letter(above)
            slows = here in "~%" or here in SOLID or (here in "^_" and not self._half_stops)
            met = self._half_stops and stopped(before, here, DOWN)
            if (layer == self._top or levels.get(above) == 15) and not slows and not met:
                levels[layer, row, column] = 15
        return self._spread(levels)

    def of(self, sources: Mapping[At, int]) -> Levels:
        """The light of what shines at some places; the brightest counts (G1)."""
        return self._spread(dict(sources))

    def _letter(self, place: At) -> str:
        return self._letters.get(place, ".")

    def _spread(self, levels: Levels) -> Levels:
        places, brighter = set(self._places), True
        while brighter:
            brighter = False
            for place, level in list(levels.items()):
                for step in STEPS:
                    beside = (place[0] + step[0], place[1] + step[1], place[2] + step[2])
                    here = self._letter(beside)
                    left = level - takes(here, self._water, self._half_stops)
                    if beside not in places or left <= levels.get(beside, 0):
                        continue
                    if not (self._half_stops and stopped(self._letter(place), here, step)):
                        levels[beside] = left
                        brighter = True
        return levels
