"""A build in three dimensions at a moment: the solids of a drawing with what has moved, water, and what comes and goes.

Each way in which a build stands has a number, by which whoever shows it asks for what differs. Of a stand only what is
not at home is computed: the things at its places, and the dust around them, whose arms may point otherwise then.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.model.block_type import Form
from circuitcheck.model.drawing import ABOVE, AROUND, BELOW, At, Drawing, Thing
from circuitcheck.model.rules import RuleSet
from circuitcheck.plans.at_a_moment import NOTHING, Seen, Stand, Stands, seen_at
from circuitcheck.plans.solids import Solid, solid_of, solids
from circuitcheck.space.dust import Dusts
from circuitcheck.space.room import Room
from circuitcheck.space.scene import HEAD, Changed

MOST_STANDINGS = 4_096
"""So many ways in which a build stands are kept; then all are forgotten, and get new numbers."""


POOL = Solid(Form.POOL, ABOVE)
"""Water, as deep as a source."""


class Standing(NamedTuple):
    """One way in which a build stands: what is otherwise than at home, and nothing where a solid is gone."""

    number: int
    otherwise: Mapping[At, Solid | None]


class Standings:
    """The ways in which a build stands in a run."""

    def __init__(self, drawing: Drawing, rules: RuleSet, stands: Stands) -> None:
        self._drawing = drawing
        self._rules = rules
        self._stands = stands
        self.home = solids(drawing, rules)
        self._of_stand: dict[int, Mapping[At, Solid | None]] = {0: {}}
        self._depends = sorted({*stands.water.values(), *(device for device, _ in stands.conditions.values())})
        """The devices on whose levels it depends what stands, beside what pistons move."""
        self._found: dict[tuple[int, tuple[int, ...]], Standing] = {}
        self._given = 0

    def now(self, stand: int, levels: Sequence[int]) -> Standing:
        """How the build stands in one of its stands, with devices at these levels."""
        key = (stand, tuple([levels[device] for device in self._depends]))
        found = self._found.get(key)
        if found is None:
            if len(self._found) >= MOST_STANDINGS:
                self._found = {}
            self._given += 1
            found = self._found[key] = Standing(self._given, self._otherwise(stand, levels))
        return found

    def forget(self) -> None:
        """The stands have got other numbers: what is known of them is forgotten, and no standing keeps its number."""
        self._of_stand = {0: {}}
        self._found = {}

    def all_solids(self, standing: Standing) -> dict[At, Solid]:
        """The solid at each place."""
        found: dict[At, Solid] = dict(self.home)
        for at, solid in standing.otherwise.items():
            if solid is None:
                found.pop(at, None)
            else:
                found[at] = solid
        return found

    def in_stand(self, number: int) -> dict[At, Solid]:
        """The solids in a stand, with a pool wherever water can flow to; what else depends on levels is as drawn."""
        found: dict[At, Solid] = dict.fromkeys(self._stands.water, POOL)
        found |= {at: solid for at, solid in self.home.items() if at not in self._stands.water}
        for at, solid in self._displaced(self._stands.found[number]).items():
            if solid is not None:
                found[at] = solid
            elif at not in self._stands.water:
                found.pop(at, None)
        return found

    # Inside.

    def _otherwise(self, number: int, levels: Sequence[int]) -> dict[At, Solid | None]:
        if number not in self._of_stand:
            self._of_stand[number] = self._displaced(self._stands.found[number])
        found = dict(self._of_stand[number])
        stands, stand = self._stands, self._stands.found[number]
        for at in (*stands.conditions, *stands.water):
            seen = seen_at(at, stands.drawn(at), stand, stands.conditions, levels)
            if seen == NOTHING and at in stands.water:
                found[at] = _water(levels[stands.water[at]])
            elif at not in stand.seen:
                found[at] = None if seen.thing is None else replace(self.home[at], comes_and_goes=False)
        return {at: solid for at, solid in found.items() if solid != self.home.get(at)}

    def _displaced(self, stand: Stand) -> dict[At, Solid | None]:
        """What is otherwise by what pistons have moved, or are moving."""
        landed = {at: None if seen.moving else seen.thing for at, seen in stand.seen.items()}
        changed = replace(self._drawing, things=Changed(self._drawing.things, landed))
        dusts = Dusts(Room(changed, self._rules))
        found = {at: _seen(dusts, at, seen) for at, seen in stand.seen.items()}
        for at in _beside(stand.seen):
            thing = changed.things.get(at)
            if at not in found and thing is not None and thing.is_dust:
                found[at] = solid_of(dusts, at, thing)
        for at in [at for at, seen in stand.seen.items() if _is_head(seen.thing)]:
            facing = stand.seen[at].thing.facing  # type: ignore[union-attr]
            piston = facing.back.from_(at) if facing is not None else at
            solid = found.get(piston, self.home.get(piston))
            if solid is not None and solid.form is Form.RAM:
                found[piston] = replace(solid, out=True)
        return found


def growing(solids: Mapping[At, Solid], stages: Iterable[Iterable[At]]) -> Iterator[dict[At, Solid]]:
    """The solids that stand after each stage of building."""
    found: dict[At, Solid] = {}
    for places in stages:
        found |= {at: solids[at] for at in places}
        yield dict(found)


def _seen(dusts: Dusts, at: At, seen: Seen) -> Solid | None:
    if seen.thing is None:
        return None
    solid = solid_of(dusts, at, seen.thing)
    return replace(solid, comes_and_goes=True) if seen.moving else solid


def _is_head(thing: Thing | None) -> bool:
    return thing is not None and thing.block_type == HEAD.block_type


def _beside(places: Iterable[At]) -> Iterator[At]:
    """The places at which dust may be joined otherwise, or point otherwise, if something changes at some places."""
    for at in places:
        yield BELOW.from_(at)
        for way in AROUND:
            beside = way.from_(at)
            yield from (beside, ABOVE.from_(beside), BELOW.from_(beside))


def _water(level: int) -> Solid | None:
    return Solid(Form.POOL, ABOVE, depth=level) if level else None
