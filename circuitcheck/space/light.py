"""Light in a drawing, by flood over its places (rules G1 to G3): its level anywhere, and the way it came.

Around and above a drawing there is open air below an open sky; below it is ground. The flood goes on from the
brightest places first, so that the first time a place is reached is the brightest, as in Dijkstra's algorithm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import pairwise
from typing import NamedTuple

from circuitcheck.model.drawing import ABOVE, BELOW, At, Direction
from circuitcheck.model.light import CLEAR, FULL_SUN, LIGHT_OF, STANDING, Condition, Layer, taken
from circuitcheck.space.room import Room

Lit = Callable[[str], bool]
"""Whether a part, by its name, is on."""
OPEN = "air"


class Flood(NamedTuple):
    """The light from some sources: the level at every place that light reaches, and the place it came from."""

    levels: dict[At, int]
    came_from: dict[At, At]

    def way(self, place: At) -> list[At]:
        """The places that light has passed to here, from the first behind its source on."""
        found = [place]
        while found[-1] in self.came_from:
            found.append(self.came_from[found[-1]])
        return found[::-1]


class Moved(NamedTuple):
    """A block that a piston moves: the place it comes from, the one it goes to, and the part that is on once it has."""

    home: At
    out: At
    part: str


class Lighting:
    """The light in one drawing while the things that come and go are there or not as `lit` says of their parts."""

    def __init__(self, room: Room, lit: Lit, moved: Iterable[Moved] = ()) -> None:
        self._room = room
        self._meets: dict[At, str] = {}
        self._half: dict[At, Direction] = {}
        self._when: dict[At, tuple[str, Condition]] = {}
        for place, thing in room.drawing.things.items():
            light = thing.matter.light
            if thing.when is not None:
                self._when[place] = (light, thing.when)
            if thing.when is None or lit(thing.when.part) is thing.when.on:
                self._meets[place] = light
                if thing.word == "half" and room.rules.half_blocks_stop_light:
                    self._half[place] = ABOVE if thing.shape == "upper" else BELOW
        for each in moved:
            light = self._meets.get(each.home, OPEN)
            self._when[each.home] = (light, Condition(each.part, False))
            self._when[each.out] = (light, Condition(each.part, True))
            if lit(each.part):
                self._meets[each.out] = self._meets.pop(each.home, OPEN)
        layers, rows, columns = room.drawing.size
        self._inside = (range(1, layers + 2), range(rows + 2), range(columns + 2))

    def meets(self, place: At) -> str:
        """As which thing light meets what is at a place."""
        return self._meets.get(place, OPEN)

    def from_sky(self) -> Flood:
        """The light of full sun."""
        layers, rows, columns = self._inside
        top = layers[-1]
        return self._flood({(top, row, column): FULL_SUN for row in rows for column in columns}, sky=True)

    def from_places(self, given: Mapping[At, int]) -> Flood:
        """The light of what shines at some places, each at its own level."""
        return self._flood(given, sky=False)

    def _flood(self, begin: Mapping[At, int], sky: bool) -> Flood:
        levels: dict[At, int] = {}
        came_from: dict[At, At] = {}
        waiting: list[list[tuple[At, At | None]]] = [[] for _ in range(FULL_SUN + 1)]
        for place, level in begin.items():
            waiting[level].append((place, None))
        for level in range(FULL_SUN, 0, -1):
            bucket = waiting[level]
            for place, before in bucket:  # it grows while full sun goes straight down
                if place in levels:
                    continue
                levels[place] = level
                if before is not None:
                    came_from[place] = before
                for beside, left in self._onward(place, level, sky):
                    if left and beside not in levels:
                        waiting[left].append((beside, place))
        return Flood(levels, came_from)

    def _onward(self, place: At, level: int, sky: bool) -> Iterator[tuple[At, int]]:
        """The places beside a place, each with what is left of its light there."""
        meets, rules = self._meets, self._room.rules
        layers, rows, columns = self._inside
        half = self._half
        for direction, (up, south, east) in STEPS:
            beside = (place[0] + up, place[1] + south, place[2] + east)
            if beside[0] not in layers or beside[1] not in rows or beside[2] not in columns:
                continue
            thing = meets.get(beside, OPEN)
            if half and self._full_face(place, beside, direction):
                continue
            if beside in half:
                thing = OPEN
            yield beside, level - taken(thing, level, sky and direction is BELOW, rules)

    def _full_face(self, place: At, beside: At, direction: Direction) -> bool:
        """Whether light on its way meets the full face of a half block, from without or from within (rule G3)."""
        return self._half.get(place) is direction or self._half.get(beside) is direction.back

    def layers_of(self, flood: Flood, place: At, sky: bool) -> tuple[Layer, ...]:
        """What light has passed to a place, from its source on, as layers of one thing one behind the other.

        Air that full sun comes straight down through takes nothing and is left out.
        """
        found: list[Layer] = []
        way = flood.way(place)
        steps = zip([ABOVE.from_(way[0]), *way], way, strict=False) if sky else pairwise(way)
        for before, here in steps:
            layer = self._layer(here, before != ABOVE.from_(here))
            if found and found[-1]._replace(number=1) == layer:
                found[-1] = found[-1]._replace(number=found[-1].number + 1)
            else:
                found.append(layer)
        if sky and found and found[0]._replace(number=1) == Layer(1, "air"):
            del found[0]
        return tuple(found)

    def standing(self, place: At) -> Layer:
        """What is at a place, as light that comes down would pass it."""
        return Layer(1, "half") if place in self._half else self._layer(place, aside=False)

    def half_at(self, place: At) -> bool:
        """Whether a half block that stops light stands at a place; right above a cell, no light comes past it."""
        return place in self._half

    def _layer(self, here: At, aside: bool) -> Layer:
        light, when = self._when.get(here, (self.meets(here), None))
        if when is None and (light in CLEAR or here in self._half):
            return Layer(1, "aside" if aside else "air")
        return Layer(1, light, when, aside and when is not None)


STEPS = tuple((direction, direction.value) for direction in Direction)


def shining(room: Room) -> Iterator[tuple[At, int]]:
    """Every place of a drawing at which something may shine, with the level it gives (rule G1)."""
    for place, thing in room.drawing.things.items():
        if thing.word in LIGHT_OF:
            yield place, LIGHT_OF[thing.word]
        elif thing.word == "light":
            yield place, STANDING
