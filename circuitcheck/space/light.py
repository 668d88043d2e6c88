"""Light in a drawing, by flood over its places (rules G1 to G3): its level anywhere, and the path it came.

Around and above a drawing there is open air below an open sky; below it is ground.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import pairwise
from typing import NamedTuple

from circuitcheck.model.drawing import ABOVE, BELOW, At, Direction, Thing
from circuitcheck.model.light import CLEAR, FULL_SUN, STANDING, Condition, Layer, Otherwise, taken
from circuitcheck.space.flood import Basin, Flood
from circuitcheck.space.room import Room

Lit = Callable[[str], bool]
"""Whether a part, by its name, is on."""
OPEN, HEAD = "air", "solid"
"""As which things light meets open places, and the head of a piston (rule M4)."""


Flowing = Mapping[At, str]
"""The places that water comes to and goes from as it flows, each with the part that is on while there is some."""


class Moved(NamedTuple):
    """A block that a piston moves: the place it comes from, the one it goes to, and the part that is on once it has."""

    home: At
    out: At
    part: str

    @property
    def places(self) -> tuple[At, ...]:
        """The places that it changes."""
        return (self.home, self.out)


class Head(NamedTuple):
    """The head of a piston: the place that it comes to, and the part that is on while it is there."""

    place: At
    part: str

    @property
    def places(self) -> tuple[At, ...]:
        """The place that it changes."""
        return (self.place,)


class Lighting:
    """The light in one drawing while the things that come and go are there or not as `lit` says of their parts."""

    def __init__(self, room: Room, lit: Lit, moved: Iterable[Moved | Head] = (), water: Flowing | None = None) -> None:
        self._room = room
        self._meets: dict[At, str] = {}
        self._half: dict[At, Direction] = {}
        self._when: dict[At, tuple[str, Condition]] = {}
        self._heads: dict[At, Otherwise] = {}
        for place, thing in room.drawing.things.items():
            light = thing.block_type.light
            if thing.when is not None:
                self._when[place] = (light, thing.when)
            if thing.when is None or lit(thing.when.part) is thing.when.on:
                self._meets[place] = light
                if thing.word == "half" and room.rules.half_blocks_stop_light:
                    self._half[place] = ABOVE if thing.end == "top" else BELOW
        for place, name in (water or {}).items():
            self._when[place] = ("water", Condition(name, True))
            self._meets.pop(place, None)
            if lit(name):
                self._meets[place] = "water"
        for each in (block for block in moved if isinstance(block, Moved)):
            light = self._meets.get(each.home, OPEN)
            self._when[each.home] = (light, Condition(each.part, False))
            self._when[each.out] = (light, Condition(each.part, True))
            if lit(each.part):
                self._meets[each.out] = self._meets.pop(each.home, OPEN)
        for head in (each for each in moved if isinstance(each, Head)):
            self._come_out(head, lit(head.part))
        layers, rows, columns = room.drawing.size
        self._outer = (layers + 1, rows + 1, columns + 1)
        """The last layer, row and column that are looked at: one of open air all around."""
        things = (
            (place, light) for place, light in self._meets.items() if light not in CLEAR and place not in self._half
        )
        self._takes = {place: taken(light, FULL_SUN, False, room.rules) for place, light in things}
        """What each place takes that is not clear; of a half block only the full face stops light."""

    def _come_out(self, head: Head, out: bool) -> None:
        """A head may be where something else is while it is home (rule M4)."""
        self._heads[head.place] = Otherwise(HEAD, Condition(head.part, True))
        if head.place not in self._when:
            light = self._meets.get(head.place, OPEN)
            known = (HEAD, Condition(head.part, True)) if light in CLEAR else (light, Condition(head.part, False))
            self._when[head.place] = known
        if out:
            self._meets[head.place] = HEAD

    @classmethod
    def bounds(cls, room: Room, moved: Sequence[Moved | Head], water: Flowing) -> tuple[Lighting, Lighting]:
        """The darkest that a drawing can be, whatever comes and goes, and the brightest."""
        coming = {place for place, thing in room.drawing.things.items() if thing.when is not None}
        ways = {place for each in moved for place in each.places}
        darkest, brightest = cls(room, lambda part: False), cls(room, lambda part: False)
        for place in coming:
            darkest._takes[place] = taken(room.drawing.things[place].block_type.light, FULL_SUN, False, room.rules)
        darkest._takes |= {place: taken("water", FULL_SUN, False, room.rules) for place in water}
        darkest._takes |= dict.fromkeys(ways, FULL_SUN)
        for place in coming | ways | set(water):
            brightest._takes.pop(place, None)
            brightest._half.pop(place, None)
        return darkest, brightest

    def meets(self, place: At) -> str:
        """As which thing light meets what is at a place."""
        return self._meets.get(place, OPEN)

    def from_sky(self) -> Flood:
        """The light of full sun."""
        layers, rows, columns = self._outer
        whole = {(layers, r, c): FULL_SUN for r in range(rows + 1) for c in range(columns + 1)}
        return self._basin.flood(whole, sky=True, down_to=1)

    def from_places(self, given: Mapping[At, int], down_to: int = 1, sky: bool = False) -> Flood:
        """The light of what shines at some places, each at its own level; it is followed down to a level."""
        return self._basin.flood(given, sky=sky, down_to=down_to)

    @cached_property
    def _basin(self) -> Basin:
        return Basin(self._outer, self._takes, self._half)

    def layers_of(self, flood: Flood, place: At, sky: bool) -> tuple[Layer, ...]:
        """What light has passed to a place, from its source on, as layers of one thing one behind the other.

        Air that full sun comes straight down through takes nothing and is left out.
        """
        found: list[Layer] = []
        path = flood.path(place)
        steps = zip([ABOVE.from_(path[0]), *path], path, strict=False) if sky else pairwise(path)
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
        head = self._heads.get(here)
        others = () if head is None or head == (light, when) else (head,)
        return Layer(1, light, when, aside and when is not None, others)


def shining(room: Room) -> Iterator[tuple[At, int]]:
    """Every place of a drawing at which something may shine, with the level it gives (rule G1)."""
    for place, thing in room.drawing.things.items():
        if thing.word == "light":
            yield place, STANDING
        elif light := _light_of(thing):
            yield place, light


def _light_of(thing: Thing) -> int:
    """What a thing gives while it is on; of a kind that makes several parts, the brightest counts."""
    return max((part.light for part in thing.kind.samples), default=0) if thing.kind is not None else 0
