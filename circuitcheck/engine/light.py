"""The light at a place, by the rules of light (G1 to G3): what each block on its way takes of it.

The way of daylight is reckoned for full sun; the hour and the weather then take what they take of what is left. Light of
lamps is the same at any hour.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from circuitcheck.model.light import FULL_SUN, HOLDS_BACK, SKY, STANDING_LIGHT, Layer, Place, Way
from circuitcheck.model.rules import RuleSet

LIGHT_OF = {"lamp": 15, "torch": 7}
"""What a lit part gives, by its kind (rule G1)."""
STANDING = 14
"""What a standing light gives (rule G1)."""
CLEAR = frozenset({"air", "glass", "dust"})

Lit = Callable[[str], bool]
"""Whether a part, by its name, is on."""


def levels_along(way: Way, first: int, rules: RuleSet, lit: Lit) -> Iterator[tuple[str, int]]:
    """The level in each block that a way passes, one by one, if its source gives `first` in full sun (rule G2)."""
    level = first
    for layer in way.layers:
        thing = layer.thing if stands(layer, lit) else "air"
        for _ in range(layer.count):
            level = max(level - _taken(thing, level, way.source == SKY, rules), 0)
            yield thing, level


def stands(layer: Layer, lit: Lit) -> bool:
    """Whether a layer is there; where it is not, there is air."""
    return layer.when is None or lit(layer.when.part) is layer.when.on


def _taken(thing: str, level: int, from_sky: bool, rules: RuleSet) -> int:
    if thing in CLEAR:
        # Full sun goes straight down for nothing; once below 15, each clear block takes 1 as well.
        return 0 if from_sky and level == FULL_SUN else 1
    if thing == "water":
        return rules.water_takes
    if thing == "solid" or (thing == "half" and rules.half_blocks_stop_light):
        return level
    return 1


def given_by(source: str, kind: str, lit: Lit) -> int:
    """What a source gives: the sky as in full sun; a part, of the kind `kind`, only while it is on (rule G1)."""
    if source == SKY:
        return FULL_SUN
    if source == STANDING_LIGHT:
        return STANDING
    return LIGHT_OF[kind] if lit(source) else 0


def arriving(way: Way, kind: str, sky: int, rules: RuleSet, lit: Lit) -> int:
    """What arrives at the end of a way, with the sky at a level."""
    first = given_by(way.source, kind, lit)
    level = first
    for _, passed in levels_along(way, first, rules, lit):
        level = passed
    return max(level - (FULL_SUN - sky), 0) if way.source == SKY else level


def light_at(place: Place, kinds: Callable[[str], str], sky: int, rules: RuleSet, lit: Lit) -> int:
    """The light right above a cell: the brightest of the ways there."""
    return max(arriving(way, kinds(way.source), sky, rules, lit) for way in place.ways)


def held_back(place: Place, lit: Lit) -> bool:
    """Whether the block right above the cell holds light back; every way to a place ends in that block (rule X2)."""
    way = place.ways[0]
    last = way.layers[-1] if way.layers else None
    return last is not None and last.thing in HOLDS_BACK and stands(last, lit)
