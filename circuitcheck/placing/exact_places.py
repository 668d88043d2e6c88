"""What stands where in a box, as variables: rules W1 to W3 of space, one clause for each thing that they say.

At each place stands at most one thing. A part stands at one place, and faces or is held one way. What the rules make of
that for dust, which joins and points, has a variable of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import product
from typing import NamedTuple

from circuitcheck.model.block_type import Gives, Joins
from circuitcheck.model.drawing import ABOVE, AROUND, BELOW, MATTERS, At, Direction, Thing
from circuitcheck.model.rules import RuleSet
from circuitcheck.placing.exact_clauses import NO, Clauses
from circuitcheck.placing.exact_wanted import Wanted, WantedPart


class Box(NamedTuple):
    """A box, by its sides."""

    width: int
    """Columns, from west to east."""
    depth: int
    """Rows, from north to south."""
    height: int
    """Layers."""

    @property
    def volume(self) -> int:
        """How many places it has."""
        return self.width * self.depth * self.height

    @property
    def places(self) -> list[At]:
        """Its places in their order."""
        return list(product(range(1, self.height + 1), range(1, self.depth + 1), range(1, self.width + 1)))

    @property
    def size(self) -> At:
        """How many layers, rows and columns it has."""
        return self.height, self.depth, self.width

    def has(self, place: At) -> bool:
        """Whether a place is in it."""
        layer, row, column = place
        return 1 <= layer <= self.height and 1 <= row <= self.depth and 1 <= column <= self.width

    def in_reach(self, place: At) -> bool:
        """Whether a hand reaches a place from outside: it lies on a side or on top. Below is ground."""
        layer, row, column = place
        return layer == self.height or row in (1, self.depth) or column in (1, self.width)

    def __str__(self) -> str:
        return f"{self.width}x{self.depth}x{self.height}"


class Step(NamedTuple):
    """A way of dust to dust beside it: where it comes from, whether the two are joined, whether power runs so."""

    source: At
    direction: Direction
    """From the dust that it comes to."""
    joined: int
    runs: int


class Places:
    """The variables of what stands where."""

    def __init__(self, wanted: Wanted, box: Box, rules: RuleSet, materials: frozenset[str], in_reach: bool) -> None:
        self.wanted, self.box, self.clauses = wanted, box, Clauses()
        self._rules = rules
        self.places = inside = box.places
        # Each of these is made when it is first asked for, and once.
        self.carries, self.steps_to, self.points = cache(self._carries), cache(self._steps_to), cache(self._points)
        self._climbs, self._level, self._joined = cache(self._climbing), cache(self._levelled), cache(self._joining)
        self.block = {place: self.clauses.fresh() for place in inside}
        self.dust = {place: self.clauses.fresh() if place[0] > 1 else NO for place in inside}
        self.glass = {place: self.clauses.fresh() if "glass" in materials else NO for place in inside}
        self.half = {place: self.clauses.fresh() if "half" in materials else NO for place in inside}
        dots = "dot" in materials and rules.dust_dots
        self.dot = {place: self.clauses.fresh() if dots and place[0] > 1 else NO for place in inside}
        """Where dust lies that is set to a dot."""
        self._plain = (self.block, self.dust, self.glass, self.half)
        self.ways: dict[str, dict[tuple[At, Direction | None], int]] = {}
        """For each part a variable for each place and way: the way it faces, or the side on which it is held."""
        self.stands: dict[str, dict[At, int]] = {}
        """For each part whether it stands at a place."""
        self.by_then: dict[str, list[int]] = {}
        """For each part whether it stands at a place or at one before it in order."""
        self.named: dict[str, dict[At, int]] = {}
        """For each dust that is given out whether it lies at a place."""
        for part in wanted.parts:
            self._place(part, in_reach)
        for dust in wanted.dust:
            self._name(dust.name)
        self._solid = {
            place: self.clauses.any_of([self.block[place], *self._standing(place, "lamp")]) for place in inside
        }
        for place in inside:
            everything = [each[place] for each in self._plain]
            self.clauses.at_most_one([*everything, *(self.stands[part.name][place] for part in wanted.parts)])
            self.clauses.add(-self.dust[place], self.carries(BELOW.from_(place)))
            self.clauses.add(-self.dot[place], self.dust[place])
        for part in wanted.parts:
            self._held(part)
        for place in wanted.asked.left_out(box.size):
            for literal in (
                *(each[place] for each in self._plain),
                *(self.at(part.name, place) for part in wanted.parts),
            ):
                self.clauses.add(-literal)

    # What may be where

    def _ways_of(self, part: WantedPart) -> tuple[Direction | None, ...]:
        kind = part.thing.block_type
        return kind.held or kind.facing.value or (None,)

    def _place(self, part: WantedPart, in_reach: bool) -> None:
        clauses, kind = self.clauses, part.thing.block_type
        ways: dict[tuple[At, Direction | None], int] = {}
        for place in self._asked_for(part.name):
            for way in self._ways_of(part):
                held = way is None or not kind.held or self.box.has(way.from_(place))
                lies = not kind.lies or place[0] > 1
                reached = not (in_reach and part.is_worked) or self.box.in_reach(place)
                if held and lies and reached:
                    ways[place, way] = clauses.fresh()
        stands = {
            place: [ways[place, way] for way in self._ways_of(part) if (place, way) in ways] for place in self.places
        }
        for among in stands.values():
            clauses.at_most_one(among)
        self.ways[part.name] = ways
        self.stands[part.name] = {place: clauses.any_of(among) for place, among in stands.items()}
        self.by_then[part.name] = clauses.exactly_one(list(self.stands[part.name].values()))

    def _asked_for(self, name: str) -> list[At]:
        """The places at which something may stand, by what is asked of it."""
        spot = self.wanted.asked.spots.get(name)
        return [place for place in self.places if spot is None or spot.has(place, self.box.size)]

    def _name(self, name: str) -> None:
        clauses = self.clauses
        allowed = set(self._asked_for(name))
        at = {place: clauses.fresh() if self.dust[place] != NO and place in allowed else NO for place in self.places}
        for place, literal in at.items():
            clauses.add(-literal, self.dust[place])
        for others in self.named.values():
            for place, literal in at.items():
                clauses.add(-literal, -others[place])
        clauses.exactly_one(list(at.values()))
        self.named[name] = at

    def _held(self, part: WantedPart) -> None:
        """What a part needs under it or beside it (rule W1)."""
        kind = part.thing.block_type
        for (place, way), literal in self.ways[part.name].items():
            if kind.held and way is not None:
                self.clauses.add(-literal, self.solid(way.from_(place)))
            if kind.lies:
                self.clauses.add(-literal, self.carries(BELOW.from_(place)))

    def _standing(self, place: At, word: str) -> Iterator[int]:
        for part in self.wanted.parts:
            if part.word == word:
                yield self.stands[part.name].get(place, NO)

    def solid(self, place: At) -> int:
        """Whether a solid block stands at a place."""
        return self._solid.get(place, NO)

    def _carries(self, place: At) -> int:
        """Whether dust may lie on what stands at a place (rule W1)."""
        if not self.box.has(place):
            return NO
        glass = self.glass[place] if self._rules.dust_on_clear else NO
        return self.clauses.any_of([self.solid(place), self.half[place], glass])

    def way(self, name: str, place: At, way: Direction | None) -> int:
        """Whether a part stands at a place and faces, or is held, a way."""
        return self.ways[name].get((place, way), NO)

    def at(self, name: str, place: At) -> int:
        """Whether a part stands at a place."""
        return self.stands[name].get(place, NO)

    # What dust joins, and where it points

    def _climbing(self, lower: At, direction: Direction) -> int:
        """Whether dust at a place is joined to dust a step up in a direction (rule W2)."""
        upper = ABOVE.from_(direction.from_(lower))
        if not (self.box.has(upper) and self.box.has(lower)):
            return NO
        return self.clauses.all_of(self.dust[lower], self.dust[upper], -self.solid(ABOVE.from_(lower)))

    def _levelled(self, one: At, other: At) -> int:
        if not (self.box.has(one) and self.box.has(other)):
            return NO
        return self.clauses.all_of(self.dust[one], self.dust[other]) if one < other else self._level(other, one)

    def _steps_to(self, here: At) -> tuple[Step, ...]:
        """The ways on which power may come to dust at a place from other dust (rule W2)."""
        found = []
        for direction in AROUND:
            beside = direction.from_(here)
            higher, lower = ABOVE.from_(beside), BELOW.from_(beside)
            level, up = self._level(here, beside), self._climbs(here, direction)
            down = self._climbs(lower, direction.back)
            found.append(Step(beside, direction, level, level))
            found.append(Step(higher, direction, up, self.clauses.all_of(up, self.solid(beside))))
            found.append(Step(lower, direction, down, down))
        return tuple(step for step in found if step.joined != NO)

    def _joining(self, here: At, direction: Direction) -> int:
        """Whether dust at a place is joined to something in a direction (rule W3)."""
        beside = direction.from_(here)
        found = [step.joined for step in self.steps_to(here) if step.direction is direction]
        for part in self.wanted.parts:
            joins = part.thing.block_type.joins
            if joins is Joins.ALL:
                found.append(self.at(part.name, beside))
            elif joins is Joins.ENDS:
                found += [self.way(part.name, beside, way) for way in (direction, direction.back)]
        return self.clauses.any_of(found)

    def _points(self, here: At, direction: Direction) -> int:
        """Whether dust lies at a place and points in a direction (rule W3)."""
        if not self.box.has(here) or self.dust[here] == NO:
            return NO
        across = [self._joined(here, way) for way in AROUND if way not in (direction, direction.back)]
        alone_or_opposite = self.clauses.any_of([-self.dot[here], self._joined(here, direction.back)])
        straight = self.clauses.all_of(*(-each for each in across), alone_or_opposite)
        return self.clauses.all_of(self.dust[here], self.clauses.any_of([self._joined(here, direction), straight]))

    # A drawing of what was found

    def things(self, true: set[int]) -> tuple[dict[At, Thing], dict[At, str]]:
        """The things at their places, and the names of some, where these literals are true."""
        things: dict[At, Thing] = {}
        names: dict[At, str] = {}
        for place in self.places:
            plain = {"block": self.block, "dust": self.dust, "glass": self.glass, "half": self.half}
            for word, at in plain.items():
                if at[place] in true:
                    shape = "dot" if self.dot[place] in true else ""
                    things[place] = Thing(MATTERS[word], end="top" if word == "half" else "", shape=shape)
        for part in self.wanted.parts:
            kind = part.thing.block_type
            (place, way) = next(key for key, literal in self.ways[part.name].items() if literal in true)
            things[place] = Thing(
                kind,
                facing=None if kind.held else way,
                on=way if kind.held else None,
                flags=part.thing.flags,
                numbers=part.thing.numbers,
                start=part.thing.start,
            )
            names[place] = part.name
        for name, at in self.named.items():
            names[next(place for place, literal in at.items() if literal in true)] = name
        return dict(sorted(things.items())), names


def gives_around(part: WantedPart) -> bool:
    """Whether a part gives to what is beside it, and not only in front."""
    return part.thing.block_type.gives in (Gives.AROUND_AND_ABOVE, Gives.AROUND_AND_HOLDER)
