"""What water does at a look, as pure questions to what stands around it (rules Z1, Z3 to Z7).

Nothing here knows time: when water is updated, and when it looks, is for those who run it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from circuitcheck.model.block_type import Pushed
from circuitcheck.model.drawing import ABOVE, AROUND, BELOW, At, Drawing, Thing
from circuitcheck.model.light import DEEPEST
from circuitcheck.model.rules import RuleSet
from circuitcheck.model.unsure import reached
from circuitcheck.space.configuration import Configuration, Phase
from circuitcheck.space.occupied import FIRST_LAYER, head_of

DRY, SOURCE, FALLING = 0, 8, 9
"""The levels of water that are no level of flowing water, which is 1 to 7 (rule Z1)."""
STAYS = frozenset({"leaf", "plate"})
"""What breaks when it is pushed, and is not washed away all the same (rule Z7)."""

LevelAt = Callable[[At], int]


def is_washed_away(thing: Thing) -> bool:
    """Whether water washes a thing away that it comes to (rule Z7)."""
    return thing.block_type.pushed is Pushed.BREAKS and thing.word not in STAYS


def is_source(thing: Thing | None) -> bool:
    """Whether a thing is drawn water that flows; what comes and goes by hand does not."""
    return thing is not None and thing.word == "water" and thing.when is None


def depth(level: int) -> int:
    """How deep water is: 0 to 8."""
    return min(level, DEEPEST)


def sides(place: At) -> Iterable[At]:
    """The four places beside a place."""
    return (direction.from_(place) for direction in AROUND)


class HalfBelow(Exception):
    """Water between two sources stands over a half block: the rules do not say what becomes of it (rule Z5)."""


class Ground:
    """What water meets in one configuration."""

    def __init__(self, drawing: Drawing, rules: RuleSet, now: Configuration) -> None:
        self._things = drawing.things
        self._rules = rules
        moving, moved = dict(now.moving), dict(now.places)
        self._away = frozenset(moved)
        """The homes at which nothing stands any more."""
        self._standing = {place: drawing.things[home] for home, place in now.places if home not in moving}
        heads = {
            head_of(drawing, now, home)
            for home, phase in now.phases
            if phase is Phase.OUT or (phase is Phase.GOING_OUT and rules.motion_holds_water)
        }
        comes = {moved[home] for home in moving if home in moved} if rules.motion_holds_water else set()
        self._held = frozenset(heads | comes)
        under_way = {home for home, phase in now.phases if phase is Phase.GOING_OUT}
        self._in_motion = frozenset(comes | {head_of(drawing, now, home) for home in under_way})
        """Where heads and things in motion hold water back (rules M4, Z7)."""

    def thing_at(self, place: At) -> Thing | None:
        """What stands at a place, apart from water that flows."""
        thing = self._standing.get(place)
        if thing is None and place not in self._away:
            thing = self._things.get(place)
        return None if is_source(thing) else thing

    def lets_in(self, place: At) -> bool:
        """Whether water can come to a place: nothing is there but what it washes away (rule Z7)."""
        if place in self._in_motion:
            reached(self._rules, "motion_holds")
        if place[0] < FIRST_LAYER or place in self._held:
            return False
        thing = self.thing_at(place)
        return thing is None or is_washed_away(thing)

    def _bears(self, place: At, level: LevelAt) -> bool:
        """Whether flowing water over a place may become a source (rule Z5)."""
        if place[0] < FIRST_LAYER or level(place) == SOURCE:
            return True
        thing = self.thing_at(place)
        return thing is not None and (thing.block_type.solid or thing.word == "glass")

    def level_taken(self, place: At, level: LevelAt) -> int:
        """The level that a flowing place takes at its look (rules Z5, Z6). Raises HalfBelow."""
        beside = [level(side) for side in sides(place)]
        if self._rules.two_sources_make_one and beside.count(SOURCE) >= 2:
            below = BELOW.from_(place)
            under = self.thing_at(below)
            if under is not None and under.word == "half":
                raise HalfBelow
            if self._bears(below, level):
                if level(ABOVE.from_(place)):
                    reached(self._rules, "source_below_water")
                return SOURCE
        if level(ABOVE.from_(place)):
            return FALLING
        return max(max(map(depth, beside)) - 1, DRY)

    def spreads(self, place: At, level: LevelAt) -> Mapping[At, int]:
        """The dry places to which water at a place spreads in one look, and at what level (rules Z3, Z4)."""
        own, below = level(place), BELOW.from_(place)
        found: dict[At, int] = {}
        aside = True
        if level(below):
            aside = own == SOURCE
        elif self.lets_in(below):
            found[below] = FALLING
            aside = own == SOURCE and sum(level(side) == SOURCE for side in sides(place)) >= 3
            if aside:
                reached(self._rules, "three_sources")
        if aside and depth(own) > 1:
            found |= {side: depth(own) - 1 for side in self._ways(place, level) if not level(side)}
        return found

    def _ways(self, place: At, level: LevelAt) -> list[At]:
        """The sides that lead to the nearest hole; all that are open if none is near (rule Z4)."""
        open_sides = [side for side in sides(place) if self._passes(side, level)]
        far = {side: self._to_hole(place, side, level) for side in open_sides}
        nearest = min(far.values(), default=0)
        if nearest > self._rules.hole_reach:
            return open_sides
        if nearest == self._rules.hole_reach:
            reached(self._rules, "hole_reach")
        return [side for side in open_sides if far[side] == nearest]

    def _passes(self, place: At, level: LevelAt) -> bool:
        return self.lets_in(place) and level(place) != SOURCE

    def _to_hole(self, start: At, side: At, level: LevelAt) -> int:
        """How many places it is to the nearest hole by way of a side; more than the reach if there is none."""
        reached, edge = {start, side}, [side]
        for distance in range(1, self._rules.hole_reach + 1):
            if any(self.lets_in(below) or level(below) for below in map(BELOW.from_, edge)):
                return distance
            edge = [far for far in dict.fromkeys(each for at in edge for each in sides(at)) if far not in reached]
            edge = [far for far in edge if self._passes(far, level)]
            reached.update(edge)
        return self._rules.hole_reach + 1
