"""What changed between two versions of a drawing, place by place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.model.drawing import At, Drawing, Thing


class Changed(NamedTuple):
    """A place at which something else stands now; None for air."""

    place: At
    before: Thing | None
    after: Thing | None


def changes(before: Drawing, after: Drawing) -> Iterator[Changed]:
    """Every place at which two drawings differ, from the bottom up; letters make no difference."""
    for place in sorted({*before.things, *after.things}):
        one, other = before.things.get(place), after.things.get(place)
        if _plain(one) != _plain(other):
            yield Changed(place, one, other)


def _plain(thing: Thing | None) -> Thing | None:
    return None if thing is None else replace(thing, letter="")
