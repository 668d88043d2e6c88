"""The water of a drawing: the places that it can reach whatever pistons do, and where it rests at first (Z1, Z7)."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field, replace
from itertools import product

from circuitcheck.model.drawing import ABOVE, BELOW, At, Drawing
from circuitcheck.model.light import DEEPEST
from circuitcheck.model.rules import RuleSet
from circuitcheck.model.unsure import also, collected
from circuitcheck.space.configuration import AT_HOME, Configuration
from circuitcheck.space.flowing import (
    DRY,
    SOURCE,
    Ground,
    HalfBelow,
    is_source,
    is_washed_away,
    sides,
)
from circuitcheck.space.occupied import FIRST_LAYER, is_movable
from circuitcheck.space.room import neighbours

MOST_PLACES = 512
"""How many places of one drawing water is followed in."""
MOST_LOOKS = 64
"""How often water looks, for each place that it can reach, before it is taken to come to no rest."""


@dataclass(frozen=True)
class Water:
    """The water of a drawing."""

    places: frozenset[At] = frozenset()
    """Every place that it can reach, whatever pistons do."""
    leaves: tuple[At, ...] = ()
    """The places just outside the drawing that it may come to: it is followed no further."""
    moves: bool = False
    """Whether a stroke can change it."""
    rest: Mapping[At, int] = field(default_factory=dict)
    """Its level wherever there is some, at rest before the start."""
    too_many: At | None = None
    """The place at which it was given up, if it can reach more than are followed."""
    meets: tuple[At, ...] = ()
    """The things that it washes away before the start (rule Z7)."""
    restless: bool = False
    """Whether it comes to no rest while everything stands still."""
    half_below: At | None = None
    """A place at which a source would come to be over a half block (rule Z5)."""
    relied: frozenset[str] = frozenset()
    """The rules that are not certain and that it came to on the way to its rest (V6)."""

    @property
    def followed(self) -> bool:
        """Whether runs follow it: strokes can change it, and it comes to rest before the start."""
        given_up = self.too_many or self.meets or self.restless or self.half_below
        return self.moves and not given_up


_KEPT: deque[tuple[Drawing, RuleSet, Water]] = deque(maxlen=4)


def water_of(drawing: Drawing, rules: RuleSet) -> Water:
    """The water of a drawing under a set of rules; nothing where none is drawn that flows.

    The last few are kept: light and runs ask for the same.
    """
    for kept, known_rules, known in _KEPT:
        if kept is drawing and known_rules == rules:
            also(known.relied)
            return known
    found = _worked_out(drawing, rules)
    _KEPT.append((drawing, rules, found))
    return found


def _worked_out(drawing: Drawing, rules: RuleSet) -> Water:
    sources = {at for at, thing in drawing.things.items() if is_source(thing)}
    if not sources:
        return Water()
    freed = freed_places(drawing, rules)
    reach = _Reach(drawing, rules, sources, freed)
    reach.flood()
    places = frozenset(reach.best)
    moves = not beside_water(places, rules).isdisjoint(freed)
    if reach.too_many is not None:
        return Water(moves=moves, too_many=reach.too_many)
    return settled(drawing, rules, Water(places, tuple(sorted(reach.leaves)), moves), AT_HOME)


def beside_water(places: Iterable[At], rules: RuleSet) -> frozenset[At]:
    """All that water at some places looks at: places as far aside as it looks for holes, or right above or below."""
    steps = rules.hole_reach + 1
    span = range(-steps, steps + 1)
    return frozenset(
        (layer + up, row + south, column + east)
        for layer, row, column in places
        for south, east in product(span, span)
        if abs(south) + abs(east) <= steps
        for up in (-1, 0, 1)
    )


def freed_places(drawing: Drawing, rules: RuleSet) -> frozenset[At]:
    """Every place that a stroke can change: where a head may come, or where something may be moved from or to."""
    return frozenset().union(*(each.changes for each in freed_by_each(drawing, rules).values()))


def freed_by_each(drawing: Drawing, rules: RuleSet) -> dict[At, Freed]:
    """What each piston may do, by its home, whatever it is called by and whenever.

    What one piston has moved another may move on; a piston alone moves what is drawn before it to and fro.
    """
    strokes = {home: Freed({home}) for home, thing in drawing.things.items() if thing.pushes}
    drawn = {at for at, thing in drawing.things.items() if is_movable(thing)}
    grows = bool(strokes)
    while grows:
        before = sum(each.size for each in strokes.values())
        for home, mine in strokes.items():
            others = [each.comes for other, each in strokes.items() if other != home and each.comes]

            def stands(place: At, others: Sequence[set[At]] = others) -> bool:
                """Whether something may stand at a place that this piston did not move there."""
                return place in drawn or any(place in comes for comes in others)

            _stroke(drawing, rules, home, mine, stands, strokes)
        grows = sum(each.size for each in strokes.values()) > before
    return strokes


def still_sources(drawing: Drawing, rules: RuleSet, places: AbstractSet[At]) -> frozenset[At]:
    """Of the places that water can reach, the sources that no stroke takes and that touch no other water.

    A look there changes nothing, whatever pistons do: what could let their water out is a place that it can reach.
    """
    still = {at for at in places if is_source(drawing.things.get(at))} - freed_places(drawing, rules)
    before = len(still) + 1
    while len(still) < before:
        before, others = len(still), places - still
        still = {at for at in still if others.isdisjoint(beside for _, beside in neighbours(at))}
    return frozenset(still)


@dataclass
class Freed:
    """What one piston may do: where it may stand, the places it changes, and those to which it may move things."""

    stands: set[At]
    changes: set[At] = field(default_factory=set)
    comes: set[At] = field(default_factory=set)

    @property
    def size(self) -> int:
        return len(self.stands) + len(self.changes) + len(self.comes)


def _stroke(
    drawing: Drawing,
    rules: RuleSet,
    home: At,
    mine: Freed,
    stands: Callable[[At], bool],
    strokes: Mapping[At, Freed],
) -> None:
    piston = drawing.things[home]
    toward = piston.facing
    assert toward is not None
    for own in sorted(mine.stands):
        head = toward.from_(own)
        pulled = toward.from_(head)
        mine.changes.add(head)
        place, length = head, 0
        while stands(place) and length < rules.push_limit and _inside(drawing, place):
            onward = toward.from_(place)
            _moved(strokes, home, place, onward)
            place, length = onward, length + 1
            mine.changes.add(place)
            mine.comes.add(place)
        if "sticky" in piston.flags and (stands(pulled) or pulled in mine.comes):
            mine.changes.add(pulled)
            mine.comes.add(head)
            _moved(strokes, home, pulled, head)


def _moved(strokes: Mapping[At, Freed], by: At, place: At, onward: At) -> None:
    """Pistons that may stand at a place may stand at the next as well, and what they change may be changed there."""
    for home, each in strokes.items():
        if home != by and place in each.stands:
            each.stands.add(onward)


def _inside(drawing: Drawing, place: At) -> bool:
    return all(1 <= at <= most for at, most in zip(place, drawing.size, strict=True))


class _Reach:
    """A flood over all places that water may come to, each at the highest level that it may have there."""

    def __init__(self, drawing: Drawing, rules: RuleSet, sources: Iterable[At], freed: frozenset[At]) -> None:
        self._drawing = drawing
        self._rules = rules
        self._freed = freed
        self._sources = set(sources)
        self.best = dict.fromkeys(self._sources, SOURCE)
        self.leaves: set[At] = set()
        self.too_many: At | None = None
        self._waiting = deque(sorted(self._sources))

    def flood(self) -> None:
        while self._waiting:
            place = self._waiting.popleft()
            if len(self.best) > MOST_PLACES:
                self.too_many = place
                return
            level = self.best[place]
            self._come(BELOW.from_(place), DEEPEST)
            if level > 1:
                for side in sides(place):
                    self._come(side, level - 1)
            if self._rules.two_sources_make_one:
                for each in (place, *sides(place), ABOVE.from_(place)):
                    self._maybe_a_source(each)

    def _come(self, place: At, level: int) -> None:
        if place[0] < FIRST_LAYER or self.best.get(place, 0) >= level:
            return
        if not _inside(self._drawing, place):
            self.leaves.add(place)
            return
        thing = self._drawing.things.get(place)
        if thing is None or place in self._freed or is_source(thing) or is_washed_away(thing):
            self.best[place] = level
            self._waiting.append(place)

    def _maybe_a_source(self, place: At) -> None:
        if place in self._sources or place not in self.best:
            return
        below = BELOW.from_(place)
        bears = below[0] < FIRST_LAYER or below in self._sources or below in self._freed
        bears = bears or below in self._drawing.things
        if bears and sum(side in self._sources for side in sides(place)) >= 2:
            self._sources.add(place)
            self.best[place] = SOURCE
            self._waiting.append(place)


def settled(drawing: Drawing, rules: RuleSet, water: Water, now: Configuration) -> Water:
    """The water at rest in a configuration, begun from what is drawn, everything else standing still."""
    with collected() as relied:
        found = _settled(drawing, rules, water, now)
    return replace(found, relied=frozenset(relied))


def _settled(drawing: Drawing, rules: RuleSet, water: Water, now: Configuration) -> Water:
    ground = Ground(drawing, rules, now)
    levels = {at: SOURCE for at in sorted(water.places) if is_source(drawing.things.get(at)) and ground.lets_in(at)}
    meets: dict[At, None] = {}
    looks = deque(levels)
    waiting = set(looks)
    left = MOST_LOOKS * len(water.places) + 1

    def level(at: At) -> int:
        return levels.get(at, DRY)

    def told(changed: Iterable[At]) -> Iterator[At]:
        for at in changed:
            yield from (each for each in (at, *(beside for _, beside in neighbours(at))) if level(each))

    def take(changes: Mapping[At, int]) -> None:
        changed = [at for at, new in changes.items() if level(at) != new]
        levels.update(changes)
        for each in dict.fromkeys(told(changed)):
            if each not in waiting:
                waiting.add(each)
                looks.append(each)

    while looks and left:
        left -= 1
        place = looks.popleft()
        waiting.discard(place)
        if level(place) not in (DRY, SOURCE):
            try:
                take({place: ground.level_taken(place, level)})
            except HalfBelow:
                return Water(water.places, water.leaves, water.moves, _wet(levels), half_below=place)
        if level(place):
            spread = ground.spreads(place, level)
            meets |= dict.fromkeys(at for at in spread if ground.thing_at(at) is not None)
            take({at: new for at, new in spread.items() if at in water.places and at not in meets})
    return Water(water.places, water.leaves, water.moves, _wet(levels), None, tuple(meets), bool(looks))


def _wet(levels: Mapping[At, int]) -> dict[At, int]:
    return {at: level for at, level in levels.items() if level}
