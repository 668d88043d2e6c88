"""What is seen at the places of a drawing that are not always as drawn: moved things, water, what comes and goes.

The picture of a page has each such place as it is at the start; for the moments after, the page's script puts in what
is said here as data. Both follow the same steps: `at_start` here, `look` in `levels.js`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from circuitcheck.model.block_type import Ground
from circuitcheck.model.drawing import At, Direction
from circuitcheck.plans.at_a_moment import NOTHING, Seen, Stand, seen_at
from circuitcheck.report.sheet import FILLS, Look, described
from circuitcheck.scenes import Scene

HEADS = {
    Direction.NORTH: "┬",
    Direction.EAST: "┤",
    Direction.SOUTH: "┴",
    Direction.WEST: "├",
    Direction.ABOVE: "┼",
    Direction.BELOW: "┼",
}
"""The sign of the head of a piston, by where it faces; a head has no letter of the author's."""
WATER = "≈"
"""The sign of water that has flowed to a place."""
DEEPEST, FALLS = 8, 9
AIR = Look("", "nothing", Ground.OPEN)


def look(seen: Seen) -> Look:
    """What is seen of a thing."""
    thing = seen.thing
    if thing is None:
        return AIR
    letter = thing.letter or HEADS[thing.facing or Direction.ABOVE]
    words = f"{described(thing)}{f', {seen.name}' if seen.name else ''}"
    if seen.moving:
        return Look(f"({letter})", f"{words}, on its way here", Ground.OPEN)
    return Look(letter, words, thing.block_type.ground)


def of_water(level: int) -> Look:
    """What is seen of water that can flow, by its level as a device."""
    if not level:
        return AIR
    words = "falling water" if level == FALLS else "a source of water" if level == DEEPEST else "flowing water"
    return Look(WATER, f"{words}, level {min(level, DEEPEST)}", Ground.WATER, str(min(level, DEEPEST)))


def look_at(at: At, seen: Seen, water: Mapping[At, int], levels: Sequence[int]) -> Look:
    """What is seen at a place, flowing water included, which is there where nothing else is."""
    return of_water(levels[water[at]]) if seen == NOTHING and at in water else look(seen)


def at_start(scene: Scene) -> dict[At, Look]:
    """What is seen at the first start at the places that are not always as drawn."""
    if not scene.choices:
        return {}
    first = scene.choices[0]
    stand = scene.stands[first.stand] if scene.stands else Stand({}, {})
    found = {}
    for at, drawn in scene.drawn.items():
        seen = seen_at(at, drawn, stand, scene.conditions, first.start)
        found[at] = look_at(at, seen, scene.water, first.start)
    return found


def script_data(scene: Scene) -> Mapping[str, Any]:
    """For the page's script: how the drawing stands in each stand, and what its water and its conditions depend on."""
    if not scene.drawn:
        return {}
    kinds: dict[Look, int] = {AIR: 0}

    def kind(shown: Look) -> int:
        return kinds.setdefault(shown, len(kinds))

    stands = [
        {
            "things": {_named(at): kind(look(seen)) for at, seen in stand.seen.items()},
            "places": {_named(at): feeds for at, feeds in stand.feeds.items()},
        }
        for stand in scene.stands or [Stand({}, {})]
    ]
    drawn = {_named(at): kind(look(seen)) for at, seen in scene.drawn.items()}
    waters = [kind(of_water(level)) for level in range(FALLS + 1)]
    return {
        "stands": stands,
        "drawn": drawn,
        "water": {_named(at): device for at, device in scene.water.items()},
        "waters": waters,
        "conditions": {_named(at): [device, on] for at, (device, on) in scene.conditions.items()},
        "kinds": [[each.letter, each.words, FILLS[each.ground], each.number] for each in kinds],
    }


def _named(at: At) -> str:
    return ",".join(map(str, at))
