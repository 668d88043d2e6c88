"""Where light comes from and what it passes on its way to a place; the phases of a day.

What light does is in `engine.light`. Lengths are in gt, levels from 0 to 15.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from circuitcheck.diagnostics import NOWHERE, Span
from circuitcheck.model.rules import RuleSet

FULL_SUN = 15
MOONLIGHT = 4
"""What comes from the sky by day and by night (rule G1)."""
SKY = "sky"
STANDING_LIGHT = "standing_light"
"""The two sources of light that are no parts: the sky, and a light that always burns (rule G1)."""
THINGS = ("air", "glass", "dust", "aside", "leaf", "water", "half", "solid")
"""What light can pass on its way, or be stopped by; `aside` is a clear block passed to the side."""
HOLDS_BACK = frozenset({"water", "half", "solid"})
"""What, right above a cell, holds light back (rule X2)."""


STANDING = 14
"""What a standing light gives (rule G1)."""
CLEAR = frozenset({"air", "glass", "dust"})


def taken(thing: str, level: int, down_from_sky: bool, rules: RuleSet) -> int:
    """What a block takes of light at a level that enters it (rules G2, G3).

    `down_from_sky` says that the light has come from the sky and goes on straight down.
    """
    if thing in CLEAR:
        # Full sun goes straight down for nothing; once below 15, each clear block takes 1 as well.
        return 0 if down_from_sky and level == FULL_SUN else 1
    if thing == "water":
        return rules.water_takes
    if thing == "solid" or (thing == "half" and rules.half_blocks_stop_light):
        return level
    return 1


NO_SKY = "no light of the sky"
"""The words of a path of the sky by which nothing comes."""


class Condition(NamedTuple):
    """A part, and whether it must be on."""

    part: str
    on: bool


DEEPEST = 8
"""The level of water that is a source, and the one that falling water counts as (rule Z1)."""
FULL = ".full"
"""What is on while water at a place is of level 8, a source or falling: the name of that water's part, and this."""
BLOCK = ".block"
"""What is on while what a piston moves is away from its home: the name of the piston, and this."""


class Otherwise(NamedTuple):
    """What is at a place while a part is on or off, and nothing else is."""

    thing: str
    when: Condition


class Layer(NamedTuple):
    """Some blocks of one thing, one behind the other; there only while a part is on or off, if so conditioned."""

    number: int
    thing: str
    when: Condition | None = None
    aside: bool = False
    """Whether it is passed to the side: then so is the air that is there while it is not."""
    others: tuple[Otherwise, ...] = ()
    """What else may be there while the thing itself is not: the head of a piston."""
    full: str = ""
    """Of water that flows right above a cell: what is on while it is of level 8, where that matters (rule Z9)."""


class LightPath(NamedTuple):
    """One path of light to a place: a source, and what it passes, from the source on."""

    source: str
    """`sky`, `standing_light`, or a lamp or torch by its name."""
    layers: tuple[Layer, ...]
    words: str = ""
    """The path as its author wrote it."""


class Place(NamedTuple):
    """The spot right above a cell: the brightest of its paths counts."""

    name: str
    paths: tuple[LightPath, ...]
    span: Span = NOWHERE

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts whose levels have a say in its light, or in what stands there."""
        named = [path.source for path in self.paths if path.source not in (SKY, STANDING_LIGHT)]
        named += [layer.when.part for path in self.paths for layer in path.layers if layer.when is not None]
        named += [each.when.part for path in self.paths for layer in path.layers for each in layer.others]
        named += [layer.full for path in self.paths for layer in path.layers if layer.full]
        return tuple(dict.fromkeys(named))


WEATHER = {"fair": 0, "wet": 3, "stormy": 5}
"""How many levels each weather takes (rule G1)."""
PHASES = ("day", "dusk", "night", "dawn")
OPPOSITE = {"day": "night", "dawn": "night", "night": "day", "dusk": "day"}
"""For each phase, the one in which what is due in it would be a false alarm."""
DUE_UNTIL = {"day": "day", "dawn": "day", "night": "night", "dusk": "night"}
"""For each phase, the one by whose end what is due in it has been missed."""


class Stretch(NamedTuple):
    """A part of a cycle in which the sky gives one level."""

    begin: int
    """gt from the beginning of the cycle."""
    end: int
    phase: str
    sky: int


class Cycle(NamedTuple):
    """The lengths of the phases of one day, which begins with the day."""

    day: int
    dusk: int
    night: int
    dawn: int
    span: Span = NOWHERE

    @property
    def whole(self) -> int:
        """The length of one cycle."""
        return self.day + self.dusk + self.night + self.dawn

    def at_once(self) -> Cycle:
        """The same without dusk and dawn: their time is given to the night and the day."""
        return self._replace(day=self.day + self.dawn, dusk=0, night=self.night + self.dusk, dawn=0)

    def length(self, phase: str) -> int:
        """The length of one phase."""
        return {"day": self.day, "dusk": self.dusk, "night": self.night, "dawn": self.dawn}[phase]

    def begins(self, phase: str) -> int:
        """When a phase begins, in gt from the beginning of the cycle."""
        return sum(self.length(each) for each in PHASES[: PHASES.index(phase)])

    def ends(self, phase: str) -> int:
        """When a phase ends, in gt from the beginning of the cycle."""
        return self.begins(phase) + self.length(phase)

    def stretches(self) -> Iterator[Stretch]:
        """The cycle in stretches of one level of the sky. Empty ones are left out."""
        for phase in PHASES:
            begin, length = self.begins(phase), self.length(phase)
            levels = _levels(phase)
            for number, level in enumerate(levels):
                first, last = length * number // len(levels), length * (number + 1) // len(levels)
                if first < last:
                    yield Stretch(begin + first, begin + last, phase, level)


def _levels(phase: str) -> tuple[int, ...]:
    """The levels of the sky in a phase, in equal steps (rule G1)."""
    between = tuple(range(FULL_SUN - 1, MOONLIGHT, -1))
    return {"day": (FULL_SUN,), "dusk": between, "night": (MOONLIGHT,), "dawn": between[::-1]}[phase]


USUAL_CYCLE = Cycle(day=12_000, dusk=1_800, night=8_400, dawn=1_800)
"""The phases where a file names none: 600 s, 90 s, 420 s, 90 s (common practice, no source; lengths from memory)."""
