"""A drawing as it stands in a configuration: what was moved at its new place, heads, and air where something is in
motion (rules M4, M9).

A head gives and takes nothing and is no solid block; to light it is one. What is in motion is not there at all.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple, TypeVar

from circuitcheck.model.block_type import Form, Ground, inert
from circuitcheck.model.drawing import At, Drawing, Thing
from circuitcheck.space.configuration import Configuration, Phase
from circuitcheck.space.occupied import head_of

Held = TypeVar("Held")

HEAD = Thing(inert("head", "the head of a piston", "solid", Ground.OPEN, form=Form.PLATE))
"""What stands where the head of a piston has landed; it faces as its piston does."""


class Displaced(NamedTuple):
    """One thing that is not where it is drawn, by its home, or the head of a piston that is out, by the piston's."""

    home: At
    place: At | None
    """None in motion."""
    head: bool = False

    @property
    def changes(self) -> tuple[At, ...]:
        """The places that are otherwise than drawn by it."""
        there = () if self.place is None else (self.place,)
        return there if self.head else (self.home, *there)


Displacement = frozenset[Displaced]
"""All that is not as drawn: what wiring and light depend on, whatever pistons are doing."""


def displacement(drawing: Drawing, now: Configuration) -> Displacement:
    """What is not as drawn in a configuration."""
    in_motion = {home for home, _ in now.moving}
    found = {Displaced(home, None) for home in in_motion}
    found |= {Displaced(home, place) for home, place in now.places if home not in in_motion}
    heads = {Displaced(home, head_of(drawing, now, home), True) for home, phase in now.phases if phase is Phase.OUT}
    return frozenset(found | heads)


class Changed(Mapping[At, Held]):
    """A table of places with some of them otherwise; None for those that have nothing."""

    def __init__(self, usual: Mapping[At, Held], otherwise: Mapping[At, Held | None]) -> None:
        self._usual = usual
        self._otherwise = otherwise

    def __getitem__(self, place: At) -> Held:
        if place not in self._otherwise:
            return self._usual[place]
        found = self._otherwise[place]
        if found is None:
            raise KeyError(place)
        return found

    def get(self, place: At, default: Held | None = None) -> Held | None:  # type: ignore[override]
        """What is at a place; asked for far more often than anything else here, so it takes no detour."""
        return self._otherwise[place] if place in self._otherwise else self._usual.get(place, default)

    def __contains__(self, place: object) -> bool:
        return self._otherwise[place] is not None if place in self._otherwise else place in self._usual  # type: ignore[index]

    def __iter__(self) -> Iterator[At]:
        yield from (place for place in self._usual if place not in self._otherwise)
        yield from (place for place, held in self._otherwise.items() if held is not None)

    def __len__(self) -> int:
        return sum(1 for _ in self)


class Seen(Mapping[At, Held]):
    """A table of places that keeps which of them were looked at."""

    def __init__(self, usual: Mapping[At, Held]) -> None:
        self._usual = usual
        self.looked_at: set[At] = set()

    def __getitem__(self, place: At) -> Held:
        self.looked_at.add(place)
        return self._usual[place]

    def get(self, place: At, default: Held | None = None) -> Held | None:  # type: ignore[override]
        """What is at a place."""
        self.looked_at.add(place)
        return self._usual.get(place, default)

    def __contains__(self, place: object) -> bool:
        self.looked_at.add(place)  # type: ignore[arg-type]
        return place in self._usual

    def __iter__(self) -> Iterator[At]:
        self.looked_at.update(self._usual)
        return iter(self._usual)

    def __len__(self) -> int:
        return len(self._usual)


def scene(drawing: Drawing, displaced: Iterable[Displaced]) -> Drawing:
    """The drawing with some things displaced. A thing that stands elsewhere keeps the name that it has at home."""
    found = tuple(displaced)
    if not found:
        return drawing
    things: dict[At, Thing | None] = {each.home: None for each in found if not each.head}
    names: dict[At, str | None] = dict.fromkeys(things)
    for each in found:
        if each.head and each.place is not None:
            things[each.place] = replace(HEAD, facing=drawing.things[each.home].facing)
        elif each.place is not None:
            things[each.place] = drawing.things[each.home]
            names[each.place] = drawing.name(each.home)
    return replace(drawing, things=Changed(drawing.things, things), names=Changed(drawing.names, names))
