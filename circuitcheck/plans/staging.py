"""The stages of a build: in which order the things of a drawing are placed, and what to bring for each stage.

A stage is a layer. In it come first what stands by itself, then repeaters, comparators and torches, then dust, which
joins them, then what is worked by hand, last what flows. Nothing comes before there is a side to place it against
(`placed_against`): what is held by a block of a higher layer, or joined to the ground by a higher layer only, waits for
that layer. Dust that a torch lights which is to be lit at the start comes before other dust: so the torch of a latch
that holds the other dark does so before the other can hold it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from typing import NamedTuple

from circuitcheck.model.block_type import Placed
from circuitcheck.model.drawing import At, Drawing, Thing
from circuitcheck.model.rules import RuleSet
from circuitcheck.plans.placed_against import Faces
from circuitcheck.space.showing import reaching

MOST_SORTED = 5_000
"""Of more dust than this in a drawing none comes before the rest."""


TURNS = tuple(Placed)
"""What is placed when within a stage: the first one first."""


class Stage(NamedTuple):
    """One layer of a build, and the places in the order in which things are placed there."""

    layer: int
    places: tuple[At, ...]


def stages(drawing: Drawing, rules: RuleSet, starts: Mapping[str, int]) -> tuple[Stage, ...]:
    """The stages of a drawing. `starts` has the declared starts of parts, by name."""
    dust = sum(thing.is_dust for thing in drawing.things.values())
    reached = reaching(drawing, rules) if dust <= MOST_SORTED else {}
    lit = {drawing.name(at) for at, thing in drawing.things.items() if thing.is_inverter}
    lit = {name for name in lit if starts.get(name)}
    by_layer: dict[int, list[At]] = {}
    for place, thing in drawing.things.items():
        by_layer.setdefault(_stage_of(place, thing), []).append(place)

    def turn(place: At) -> tuple[int, int, str, At]:
        thing = drawing.things[place]
        feeds = thing.is_dust and lit & set(reached.get(place, ()))
        return (turn_of(thing), 0 if feeds else 1, thing.called, place)

    return tuple(_in_turn(drawing, by_layer, turn))


def _in_turn(
    drawing: Drawing, by_layer: Mapping[int, list[At]], turn: Callable[[At], tuple[int, int, str, At]]
) -> Iterator[Stage]:
    """The stages with what is placed in each, after those things only against which it is placed."""
    faces, placed = Faces(drawing), set[At]()
    waiting: list[At] = []
    for layer, places in sorted(by_layer.items()):
        order, waiting = faces.in_turn(sorted([*waiting, *places], key=turn), placed)
        if layer == max(by_layer):
            order += waiting
        if order:
            yield Stage(layer, tuple(order))


def _stage_of(place: At, thing: Thing) -> int:
    holder = thing.on.from_(place) if thing.on is not None else place
    return max(place[0], holder[0])


def turn_of(thing: Thing) -> int:
    """When a thing is placed within its stage."""
    return TURNS.index(thing.block_type.placed)


Bill = dict[str, int]
"""How many of each thing, the most first."""


def bill(drawing: Drawing, places: tuple[At, ...]) -> Bill:
    """What to bring for some places."""
    counted = Counter(drawing.things[place].called for place in places)
    return dict(sorted(counted.items(), key=lambda each: (-each[1], each[0])))
