"""What a box is made of: places, directions, things, and the settings of the rules."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

Place = tuple[int, int, int]
"""Layer, row and column, each from 1: layers go up, rows go south, columns go east."""

STEPS: Mapping[str, Place] = {
    "north": (0, -1, 0),
    "east": (0, 0, 1),
    "south": (0, 1, 0),
    "west": (0, 0, -1),
    "above": (1, 0, 0),
    "below": (-1, 0, 0),
}
LEVEL_WAYS = ("north", "east", "south", "west")
BACK = {"north": "south", "south": "north", "east": "west", "west": "east", "above": "below", "below": "above"}

SOLID = frozenset({"block", "lamp", "soil"})
"""What power can be in, and what cuts a step of dust (W1, W2)."""

MOVABLE = frozenset({"block", "glass", "half", "soil", "lamp", "detector", "piston"})
"""What a stroke can move (M1); of pistons only those at home."""

BREAKS = frozenset({"dust", "torch", "repeater", "lever"})
"""What breaks when it is pushed (M1), and what water washes away."""

TRAVEL = 3
"""How long a stroke takes as builders count it: 1.5t."""

SOURCE, FALLING = "source", "falling"
Water = str
"""Still water that is a source, falling water, or a level from "7" to "1"."""


def beside(place: Place, way: str) -> Place:
    """The next place that way."""
    layer, row, column = STEPS[way]
    return place[0] + layer, place[1] + row, place[2] + column


def six(place: Place) -> list[Place]:
    """The six places around one."""
    return [beside(place, way) for way in STEPS]


def within_two(place: Place) -> set[Place]:
    """Every place within two steps, itself as well."""
    near = {place, *six(place)}
    return near | {further for one in near for further in six(one)}


def depth(water: Water | None) -> int:
    """The level of water from 0 to 8."""
    if water is None:
        return 0
    return 8 if water in (SOURCE, FALLING) else int(water)


@dataclass(frozen=True)
class Thing:
    """One thing. It keeps its name wherever it is moved to.

    `kind` is one of block, glass, half, dust, torch, repeater, lever, lamp, piston, detector, soil. `facing` is the way
    that a repeater or detector gives, or that a piston moves out. `on` is the side on which what holds a torch or lever
    lies. `delay` and `pulse` are in gt. A `fixed` block can't be moved. `level` is what it gives at the start (of soil
    and lamps: grown, lit).
    """

    kind: str
    name: str = ""
    facing: str = ""
    on: str = "below"
    top: bool = False
    delay: int = 2
    pulse: int = 2
    sticky: bool = False
    dot: bool = False
    fixed: bool = False
    level: int = 0


@dataclass(frozen=True)
class Settings:
    """The values of "newer"; of these the ones that the comparison varies."""

    piston_lands: str = "late"
    outside_first: bool = False
    water_looks: str = "class_4"
    push_limit: int = 12
    water_step: int = 5
    hole_reach: int = 5


@dataclass(frozen=True)
class Box:
    """What stands where at the start, all pistons at home, and the water that stands there."""

    size: Place
    things: Mapping[Place, Thing]
    water: Mapping[Place, Water]

    def inside(self, place: Place) -> bool:
        return all(1 <= at <= most for at, most in zip(place, self.size, strict=True))

    def places(self) -> Iterator[Place]:
        for layer in range(1, self.size[0] + 1):
            for row in range(1, self.size[1] + 1):
                for column in range(1, self.size[2] + 1):
                    yield layer, row, column


def word(kind: str) -> str:
    """What the drawing language calls a kind."""
    return "sensor" if kind == "soil" else kind


def box(size: Place, things: Mapping[Place, Thing], water: Mapping[Place, Water] | None = None) -> Box:
    """A box whose nameless things are called by their kind and place, as drawings do."""
    named = {
        place: thing if thing.name else replace(thing, name=word(thing.kind) + "_" + "_".join(map(str, place)))
        for place, thing in things.items()
    }
    return Box(size, named, dict(water or {}))


@dataclass(frozen=True)
class Action:
    """Somebody works a lever or changes a cell: in moment 5, or as a draw in moment 2 (M2)."""

    gt: int
    name: str
    level: int
    drawn: bool = False


class Refused(Exception):
    """The rules don't say what becomes of this, or call it a mistake."""

    def __init__(self, rule: str, place: Place, gt: int) -> None:
        super().__init__(f"{rule} at {place} in {gt}gt")
        self.rule, self.place, self.gt = rule, place, gt
