"""Water: its level, where it falls and spreads, and what it does at a look (Z1 to Z10)."""

from __future__ import annotations

from . import changes
from .things import BREAKS, FALLING, LEVEL_WAYS, SOURCE, Place, Water, beside, depth, six
from .world import World


def lets_in(world: World, place: Place) -> bool:
    """Whether water can come there: nothing is there but what it washes away."""
    if place[0] < 1:
        return False
    return world.free(place) or (place in world.things and world.things[place].kind in BREAKS)


def sides(place: Place) -> list[Place]:
    return [beside(place, way) for way in LEVEL_WAYS]


def level_at(world: World, place: Place) -> Water | None:
    """The level that a flowing place takes by what stands above it and beside it; None if it dries."""
    sources = [side for side in sides(place) if world.water.get(side) == SOURCE]
    below = beside(place, "below")
    under = world.things.get(below)
    if len(sources) >= 2:
        if under is not None and under.kind == "half":
            raise world.refuse("Z5", place)
        clear = under is not None and under.kind == "glass"
        if below[0] < 1 or world.solid(below) or clear or world.water.get(below) == SOURCE:
            return SOURCE
    if beside(place, "above") in world.water:
        return FALLING
    highest = max(depth(world.water.get(side)) for side in sides(place))
    return str(highest - 1) if highest > 1 else None


def look(world: World, place: Place) -> None:
    """Water takes its level and then spreads one place, into dry places only."""
    if place not in world.water:
        return
    if world.water[place] != SOURCE:
        _set(world, {place: level_at(world, place)})
    if place in world.water:
        spread = targets(world, place)
        for at in spread:
            if at in world.things:
                raise world.refuse("Z7", at)
            if not world.box.inside(at):
                raise world.refuse("edge", at)
        _set(world, dict(spread))


def targets(world: World, place: Place) -> dict[Place, Water]:
    """Where water spreads in one look, and at what level."""
    own, below = world.water[place], beside(place, "below")
    found: dict[Place, Water] = {}
    aside = True
    if below in world.water:
        aside = own == SOURCE
    elif lets_in(world, below):
        found[below] = FALLING
        aside = own == SOURCE and sum(world.water.get(side) == SOURCE for side in sides(place)) >= 3
    level = depth(own) - 1
    if aside and level > 0:
        found.update({side: str(level) for side in ways(world, place) if side not in world.water})
    return found


def ways(world: World, place: Place) -> list[Place]:
    """The sides that lead to the nearest place with room or water below; all that are open if none is near."""
    open_sides = [side for side in sides(place) if _passes(world, side)]
    holes = {side: _to_hole(world, place, side) for side in open_sides}
    nearest = min(holes.values(), default=0)
    if nearest > world.settings.hole_reach:
        return open_sides
    return [side for side in open_sides if holes[side] == nearest]


def _passes(world: World, place: Place) -> bool:
    return lets_in(world, place) and world.water.get(place) != SOURCE


def _to_hole(world: World, start: Place, side: Place) -> int:
    """How many places from the start to the nearest hole by way of a side; more than the reach if there is none."""
    reached, edge = {start, side}, [side]
    for distance in range(1, world.settings.hole_reach + 1):
        for at in edge:
            below = beside(at, "below")
            if lets_in(world, below) or below in world.water:
                return distance
        edge = sorted({far for at in edge for far in sides(at) if far not in reached and _passes(world, far)})
        reached |= set(edge)
    return world.settings.hole_reach + 1


def _set(world: World, levels: dict[Place, Water | None] | dict[Place, Water]) -> None:
    """One change of water: it tells the six around each place that changes, and that place itself."""
    before, told = world.copy(), set()
    for place, level in levels.items():
        if world.water.get(place) == level:
            continue
        told |= {place, *six(place)}
        if level is None:
            del world.water[place]
        else:
            world.water[place] = level
    if told:
        changes.settle(world, before, told)
