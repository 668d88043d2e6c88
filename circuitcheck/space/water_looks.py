"""What a look of water may read and what it may change, however pistons stand (rules Z2 to Z6)."""

from __future__ import annotations

from circuitcheck.model.drawing import ABOVE, BELOW, At, Drawing
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.flowing import is_source, is_washed_away, sides
from circuitcheck.space.water import freed_places


class Looks:
    """The looks at the places of one drawing; what has been computed is kept."""

    def __init__(self, drawing: Drawing, rules: RuleSet) -> None:
        self._drawing = drawing
        self._reach = rules.hole_reach + 1
        """How far aside a look reads: one place further than it finds holes."""
        self._freed: frozenset[At] | None = None
        self._rules = rules
        self._read: dict[At, frozenset[At]] = {}
        self._meet: dict[tuple[At, At], bool] = {}

    def changes(self, place: At) -> frozenset[At]:
        """The places whose level a look at a place may change."""
        return frozenset((place, *filter(self._may_be_open, (BELOW.from_(place), *sides(place)))))

    def reads(self, place: At) -> frozenset[At]:
        """The places whose level a look at a place may read."""
        known = self._read.get(place)
        if known is None:
            aside, edge = {place, *sides(place)}, [side for side in sides(place) if self._may_be_open(side)]
            for _ in range(self._reach - 1):
                edge = [far for far in dict.fromkeys(each for at in edge for each in sides(at)) if far not in aside]
                edge = [far for far in edge if self._may_be_open(far)]
                aside.update(edge)
            known = self._read[place] = frozenset((ABOVE.from_(place), *aside, *map(BELOW.from_, aside)))
        return known

    def meet(self, one: At, other: At) -> bool:
        """Whether one look may read or change what the other one may change."""
        known = self._meet.get((one, other))
        if known is None:
            mine, theirs = self.changes(one), self.changes(other)
            apart = self.reads(one).isdisjoint(theirs) and self.reads(other).isdisjoint(mine)
            known = self._meet[one, other] = not (apart and mine.isdisjoint(theirs))
        return known

    def _may_be_open(self, place: At) -> bool:
        """Whether water may ever come through a place; outside the drawing nothing stops it."""
        thing = self._drawing.things.get(place)
        if thing is None or is_source(thing) or is_washed_away(thing):
            return True
        if self._freed is None:
            self._freed = freed_places(self._drawing, self._rules)
        return place in self._freed
