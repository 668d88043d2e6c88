"""The light at a place, by the rules of light (G1 to G3): what each block on its way takes of it.

The path of daylight is computed for full sun; the hour and the weather then take what they take of what is left. Light
of lamps is the same at any hour.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import product
from typing import NamedTuple

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.light import (
    CLEAR,
    FULL,
    FULL_SUN,
    HOLDS_BACK,
    SKY,
    STANDING,
    STANDING_LIGHT,
    Layer,
    LightPath,
    Place,
    taken,
)
from circuitcheck.model.parts.cells import SPREADING, HeldBack, fading, taking
from circuitcheck.model.rules import RuleSet

Lit = Callable[[str], bool]
"""Whether a part, by its name, is on."""


def levels_along(path: LightPath, first: int, rules: RuleSet, lit: Lit) -> Iterator[tuple[str, int]]:
    """The level in each block that a path passes, one by one, if its source gives `first` in full sun (rule G2)."""
    level = first
    for layer in path.layers:
        thing = standing(layer, lit) or "air"
        if layer.aside and thing in CLEAR:
            thing = "aside"
        for _ in range(layer.number):
            level = max(level - taken(thing, level, path.source == SKY, rules), 0)
            yield thing, level


def standing(layer: Layer, lit: Lit) -> str:
    """What is there of a layer; nothing where there is air."""
    if layer.when is None or lit(layer.when.part) is layer.when.on:
        return layer.thing
    return next((each.thing for each in layer.others if lit(each.when.part) is each.when.on), "")


def given_by(source: str, shines: Mapping[str, int], lit: Lit) -> int:
    """What a source gives: the sky as in full sun; a part, as brightly as it shines, only while it is on (rule G1)."""
    if source == SKY:
        return FULL_SUN
    if source == STANDING_LIGHT:
        return STANDING
    return shines[source] if lit(source) else 0


def dimmed(level: int, path: LightPath, sky: int) -> int:
    """What is left of a level on a path, computed for full sun, with the sky at another level."""
    return max(level - (FULL_SUN - sky), 0) if path.source == SKY else level


def held_back(place: Place, lit: Lit) -> HeldBack:
    """Whether the block right above the cell holds light back; every path to a place ends in that block (rule X2)."""
    path = place.paths[0]
    last = path.layers[-1] if path.layers else None
    thing = "" if last is None else standing(last, lit)
    if last is None or thing not in HOLDS_BACK:
        return HeldBack.NOT
    return HeldBack.SHALLOW if thing == "water" and last.full and not lit(last.full) else HeldBack.FULLY


def can_be(lit: Mapping[str, bool]) -> bool:
    """Whether the parts of a place can be on and off so: water that is not there is not full either."""
    return all(lit[part.removesuffix(FULL)] for part, on in lit.items() if on and part.endswith(FULL))


class Reaching(NamedTuple):
    """The brightest light that comes to a place from the sky in full sun, and from lamps."""

    of_sky: int
    of_lamps: int

    def under(self, sky: int) -> int:
        """The light there with the sky at a level."""
        return max(self.of_sky - (FULL_SUN - sky), self.of_lamps, 0)


class Effects(NamedTuple):
    """What the light and the block above a cell let happen there."""

    light: int
    held_back: HeldBack
    fades: bool
    spreads: bool
    takes: bool


class Daylight:
    """The light at the places of one circuit, under its rules."""

    def __init__(self, circuit: Circuit) -> None:
        self.places = {place.name: place for place in circuit.places}
        self.parts = {place.name: place.parts for place in circuit.places}
        """For each place, the parts that have a say in its light, or in what stands there."""
        self._shines = {name: part.light for name, part in circuit.by_name.items()}
        self._rules = circuit.rules
        self._known: dict[tuple[str, int, tuple[bool, ...]], Effects] = {}

    def along(self, path: LightPath, lit: Lit) -> list[tuple[str, int]]:
        """The source of a path and each block it passes, with the level there in full sun."""
        first = given_by(path.source, self._shines, lit)
        return [(path.source, first), *levels_along(path, first, self._rules, lit)]

    def reaching(self, place: Place, lit: Lit) -> Reaching:
        """What comes to right above a cell by the brightest of the paths there."""
        ends = [(path.source == SKY, self.along(path, lit)[-1][1]) for path in place.paths]
        brightest = (max((level for of_sky, level in ends if of_sky is sky), default=0) for sky in (True, False))
        return Reaching(*brightest)

    def light(self, place: Place, sky: int, lit: Lit) -> int:
        """The light right above a cell, with the sky at a level."""
        return self.reaching(place, lit).under(sky)

    def effects(self, place: str, sky: int, states: tuple[bool, ...]) -> Effects:
        """What may happen at a place, with the sky at a level, and its parts on or off as `states` says in turn."""
        key = (place, sky, states)
        known = self._known.get(key)
        if known is None:
            lit = dict(zip(self.parts[place], states, strict=True)).__getitem__
            light, held = self.light(self.places[place], sky, lit), held_back(self.places[place], lit)
            met = (need.met(light, held) for need in (fading(self._rules), SPREADING, taking(self._rules)))
            known = self._known[key] = Effects(light, held, *met)
        return known

    def states(self, place: str) -> Iterator[tuple[bool, ...]]:
        """Every way in which the parts of a place can be on and off."""
        parts = self.parts[place]
        every = product((False, True), repeat=len(parts))
        return (states for states in every if can_be(dict(zip(parts, states, strict=True))))
