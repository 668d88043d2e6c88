"""What a box as it stands gives to whom (P1 to P5, W1 to W9): the whole of it, read afresh each time."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from .things import BACK, LEVEL_WAYS, STEPS, Place, Thing, beside
from .world import World


@dataclass(frozen=True)
class Power:
    """The levels of dust, and the blocks with power."""

    dust: dict[Place, int]
    strong: frozenset[Place]
    weak: frozenset[Place]


def holder(place: Place, thing: Thing) -> Place | None:
    """The place of what a thing lies on or is attached to."""
    if thing.kind in ("torch", "lever"):
        return beside(place, thing.on)
    if thing.kind in ("dust", "repeater"):
        return beside(place, "below")
    return None


def steps(world: World, place: Place) -> dict[Place, str]:
    """The dust that dust at a place joins, and the way to each (W2)."""
    joined = {}
    for way in LEVEL_WAYS:
        side = beside(place, way)
        if _dust(world, side):
            joined[side] = way
        up = beside(side, "above")
        if _dust(world, up) and not world.solid(beside(place, "above")):
            joined[up] = way
        down = beside(side, "below")
        if _dust(world, down) and not world.solid(side):
            joined[down] = way
    return joined


def points(world: World, place: Place) -> set[str]:
    """The ways that dust at a place points (W3)."""
    ways = set(steps(world, place).values())
    for way in LEVEL_WAYS:
        thing = world.things.get(beside(place, way))
        if thing is None:
            continue
        along = thing.facing in (way, BACK[way])
        gives_here = thing.facing == BACK[way]
        if (
            thing.kind in ("torch", "lever")
            or (thing.kind == "repeater" and along)
            or (thing.kind == "detector" and gives_here)
        ):
            ways.add(way)
    if not ways:
        return set() if world.things[place].dot else set(LEVEL_WAYS)
    lengthwise, across = ways & {"north", "south"}, ways & {"east", "west"}
    if lengthwise and across:
        return ways
    return {"north", "south"} if lengthwise else {"east", "west"}


def read(world: World) -> Power:
    """Strong power first, since it depends on parts alone; then dust by flooding; then weak power."""
    strong = frozenset(place for place in _strongly_driven(world) if world.solid(place))
    dust = _flood(world, strong)
    weak = frozenset(place for place in _weakly_driven(world, dust) if world.solid(place))
    return Power(dust, strong, weak)


def _dust(world: World, place: Place) -> bool:
    return place in world.things and world.things[place].kind == "dust"


def _on(world: World, thing: Thing) -> bool:
    return world.level.get(thing.name, 0) > 0


def _strongly_driven(world: World) -> Iterator[Place]:
    """A torch drives the block above it, a repeater or detector the one in front, a lever the one it sits on."""
    for place, thing in world.things.items():
        if not _on(world, thing):
            continue
        if thing.kind == "torch":
            yield beside(place, "above")
        elif thing.kind in ("repeater", "detector"):
            yield beside(place, thing.facing)
        elif thing.kind == "lever":
            yield beside(place, thing.on)


def _weakly_driven(world: World, dust: dict[Place, int]) -> Iterator[Place]:
    """Dust drives the block under it and those that it points into (W4)."""
    for place, level in dust.items():
        if level > 0:
            yield beside(place, "below")
            yield from (beside(place, way) for way in points(world, place))


def _dust_gives(world: World, dust: dict[Place, int], place: Place, way: str) -> bool:
    """Whether dust that lies that way powers what is at a place: it lies on it, or points into it (W4)."""
    at = beside(place, way)
    if dust.get(at, 0) == 0 or way == "below":
        return False
    return way == "above" or BACK[way] in points(world, at)


def _flood(world: World, strong: frozenset[Place]) -> dict[Place, int]:
    dust = {
        place: 15 if any(_gives(world, place, way, strong) for way in STEPS) else 0
        for place in world.things
        if _dust(world, place)
    }
    for level in range(max(dust.values(), default=0), 1, -1):
        for place in [one for one, found in dust.items() if found == level]:
            for other in steps(world, place):
                if dust[other] < level - 1 and _carries(world, place, other):
                    dust[other] = level - 1
    return dust


def _carries(world: World, source: Place, target: Place) -> bool:
    """Power comes down a step only if the upper dust lies on a solid block (W2)."""
    return target[0] >= source[0] or world.solid(beside(source, "below"))


def _gives(world: World, place: Place, way: str, blocks: frozenset[Place]) -> bool:
    """Whether a part or a powered block that lies that way gives to a part at a place; dust is not asked."""
    at = beside(place, way)
    thing = world.things.get(at)
    if thing is None:
        return False
    if thing.kind == "torch":
        return _on(world, thing) and thing.on != BACK[way]
    if thing.kind == "lever":
        return _on(world, thing)
    if thing.kind in ("repeater", "detector"):
        return _on(world, thing) and thing.facing == BACK[way]
    return at in blocks


def given(world: World, power: Power, place: Place, way: str) -> bool:
    """Whether anything is given from that way to a part at a place that is not dust."""
    if _gives(world, place, way, power.strong | power.weak):
        return True
    return way not in ("above", "below") and _dust_gives(world, power.dust, place, way)


def input_of(world: World, power: Power, place: Place) -> bool:
    """Whether a torch's block, a repeater's back or a lamp has power."""
    thing = world.things[place]
    blocks = power.strong | power.weak
    if thing.kind == "torch":
        return beside(place, thing.on) in blocks
    if thing.kind == "repeater":
        return given(world, power, place, BACK[thing.facing])
    return place in blocks or any(given(world, power, place, way) for way in STEPS)


def locked(world: World, place: Place) -> bool:
    """Whether a repeater that points into a repeater's side is on (R5, W6)."""
    facing = world.things[place].facing
    for way in LEVEL_WAYS:
        thing = world.things.get(beside(place, way))
        if way in (facing, BACK[facing]) or thing is None:
            continue
        if thing.kind == "repeater" and thing.facing == BACK[way] and _on(world, thing):
            return True
    return False


def own_power(world: World, power: Power, place: Place) -> bool:
    """Whether a piston has power at its own place (W9)."""
    facing = world.things[place].facing
    return any(given(world, power, place, way) for way in STEPS if way != facing)


def power_above(world: World, power: Power, place: Place) -> bool:
    """Whether something would be given to a part above a piston (W9, M9)."""
    above = beside(place, "above")
    if _dust_gives(world, power.dust, above, "above"):
        return True
    return any(given(world, power, above, way) for way in STEPS if way != "below")


def wanted(world: World, power: Power, place: Place) -> bool:
    """Whether a piston that looks now finds power."""
    return own_power(world, power, place) or power_above(world, power, place)
