"""Random drawings in which everything can stand, of all that can be laid out, and small changes of them."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from circuitcheck.model.drawing import ABOVE, BELOW, MATTERS, At, Direction, Drawing, Thing

PARTS = ("torch", "torch", "repeater", "repeater", "comparator", "lever", "button", "lamp", "detector")
WORDS = (*["dust"] * 14, *PARTS)
FLAGS = {"button": frozenset({"short"}), "comparator": frozenset({"subtract"})}


def random_drawing(rng: Random) -> Drawing:
    """A box of up to 36 places, more or less full."""
    size = rng.choice(((2, 2, 3), (2, 3, 3), (2, 3, 4), (3, 3, 3), (3, 3, 4), (4, 3, 3), (2, 2, 9), (3, 2, 6)))
    places = [
        (layer, row, column)
        for layer in range(1, size[0] + 1)
        for row in range(1, size[1] + 1)
        for column in range(1, size[2] + 1)
    ]
    floor, above = rng.choice((0.6, 0.9)), rng.choice((0.05, 0.15, 0.3))
    drawing = Drawing({}, {}, size=size)
    solid = {at: rng.random() < (floor if at[0] == 1 else above) for at in places}
    things: dict[At, Thing] = {at: Thing(MATTERS["block"]) for at in places if solid[at]}
    drawing = replace(drawing, things=things)
    for at in places:
        if at not in things and rng.random() < 0.9:
            drawing = _put(rng, drawing, at, rng.choice(WORDS))
            things = dict(drawing.things)
    return replace(drawing, things=dict(sorted(drawing.things.items())))


def _put(rng: Random, drawing: Drawing, at: At, word: str) -> Drawing:
    matter = MATTERS[word]
    solid = {each for each, thing in drawing.things.items() if thing.block_type.solid}
    if matter.lies and BELOW.from_(at) not in solid:
        return drawing
    holders = [way for way in matter.held if way.from_(at) in solid]
    if matter.held and not holders:
        return drawing
    facing = rng.choice(matter.facing.value) if matter.facing.value else None
    on = rng.choice(holders) if holders else None
    thing = Thing(matter, facing=facing, on=on, flags=FLAGS.get(word, frozenset()))
    return replace(drawing, things={**drawing.things, at: thing})


def changed(rng: Random, drawing: Drawing) -> Drawing | None:
    """The drawing with one small change that leaves all its parts; None where the one tried can't be made."""
    at = rng.choice(
        [
            (layer, row, column)
            for layer in range(1, drawing.size[0] + 1)
            for row in range(1, drawing.size[1] + 1)
            for column in range(1, drawing.size[2] + 1)
        ]
    )
    thing = drawing.things.get(at)
    if thing is None:
        new = _put(rng, drawing, at, rng.choice(("block", "dust")))
        return new if new is not drawing else None
    if thing.is_part:
        if thing.facing is not None:
            way: Direction = rng.choice(thing.block_type.facing.value)
            return replace(drawing, things={**drawing.things, at: replace(thing, facing=way)})
        return None
    if thing.is_dust or not _carries(drawing, at):
        return drawing.without(at)
    return None


def _carries(drawing: Drawing, at: At) -> bool:
    """Whether something lies on a block, or is held by it."""
    upper = drawing.things.get(ABOVE.from_(at))
    if upper is not None and upper.block_type.lies:
        return True
    return any(thing.on is not None and thing.on.from_(there) == at for there, thing in drawing.things.items())
