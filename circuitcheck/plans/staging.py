"""The stages of a build: in which order the things of a drawing are placed, and what to bring for each stage.

A stage is a layer. In it come first what stands by itself, then what lies on something, then what is held, last what
flows. What is held by a block of a higher layer waits for that layer. Of the two torches of a latch the one that is
to be lit at the start comes first: it holds the other dark.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import NamedTuple

from circuitcheck.model.drawing import At, Drawing, Thing


class Stage(NamedTuple):
    """One layer of a build, and the places in the order in which things are placed there."""

    layer: int
    places: tuple[At, ...]


def stages(drawing: Drawing, lit_first: Mapping[str, int]) -> tuple[Stage, ...]:
    """The stages of a drawing. `lit_first` has the start of torches by name: those that start lit are placed first."""
    by_layer: dict[int, list[At]] = {}
    for place, thing in drawing.things.items():
        by_layer.setdefault(_stage_of(place, thing), []).append(place)

    def turn(place: At) -> tuple[int, int, At]:
        thing = drawing.things[place]
        dark = 0 if lit_first.get(drawing.name(place), 0) else 1
        return (_turn(thing), dark if thing.word == "torch" else 0, place)

    return tuple(Stage(layer, tuple(sorted(places, key=turn))) for layer, places in sorted(by_layer.items()))


def _stage_of(place: At, thing: Thing) -> int:
    holder = thing.on.from_(place) if thing.on is not None else place
    return max(place[0], holder[0])


def _turn(thing: Thing) -> int:
    if thing.word == "water":
        return 4
    if thing.word in ("lever", "button"):
        return 3
    if thing.matter.held:
        return 2
    return 1 if thing.matter.lies else 0


Bill = dict[str, int]
"""How many of each thing, the most first."""


def bill(drawing: Drawing, places: tuple[At, ...]) -> Bill:
    """What to bring for some places."""
    counted = Counter(_called(drawing.things[place]) for place in places)
    return dict(sorted(counted.items(), key=lambda each: (-each[1], each[0])))


def _called(thing: Thing) -> str:
    words = {
        "block": "solid block",
        "glass": "clear block",
        "half": "half block",
        "sensor": "soil cell",
        "light": "standing light",
    }
    return "sticky piston" if "sticky" in thing.flags else words.get(thing.word, thing.word)
