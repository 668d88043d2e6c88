"""What changed between two versions of a drawing, place by place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.model.block_type import Placed
from circuitcheck.model.drawing import At, Drawing, Thing


class Changed(NamedTuple):
    """A place at which something else stands now; None for air."""

    place: At
    before: Thing | None
    after: Thing | None


def changes(before: Drawing, after: Drawing) -> Iterator[Changed]:
    """Every place at which two drawings differ, from the bottom up; letters make no difference."""
    for place in sorted({*before.things, *after.things}):
        one, other = _as_placed(before, place), _as_placed(after, place)
        if _plain(one) != _plain(other):
            yield Changed(place, one, other)


def _as_placed(drawing: Drawing, place: At) -> Thing | None:
    """What stands at a place, with the start that it has there."""
    thing = drawing.things.get(place)
    return thing if thing is None or place not in drawing.starts else replace(thing, start=drawing.starts[place])


def _plain(thing: Thing | None) -> Thing | None:
    """A thing without what makes no difference: its letter, and settings that say what is usual."""
    if thing is None:
        return None
    usual = thing.kind.usual if thing.kind is not None else {}
    kept = tuple((word, number) for word, number in thing.numbers if usual.get(word) != number)
    start = None if thing.block_type.placed is Placed.BY_HAND and not thing.start else thing.start
    return replace(thing, letter="", numbers=kept, start=start)
