"""Which places are nearest to a threshold of light, and by how much it is met or missed there."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from circuitcheck.chance.light.budget import COLUMNS, PlaceLight


class Margin(NamedTuple):
    """By how many levels of light something that cells can do is met at a place; below 0, how many are lacking."""

    place: str
    row: str
    words: str
    """What its cells can do, as in "it can …"."""
    sky: str
    parts: tuple[tuple[str, bool], ...]
    """The state of the parts that the light there depends on."""
    to_spare: int
    cells: tuple[str, ...]


def margins(places: Iterable[PlaceLight]) -> list[Margin]:
    """Every margin of light at some places, the narrowest first; of each place and change only the narrowest."""
    narrowest: dict[tuple[str, str, str], Margin] = {}
    for found in places:
        name = found.place.name
        for setup in found.setups:
            for met in (met for met in setup.met if met.held_back):
                for (sky, _), spare in zip(COLUMNS, met.to_spare or (), strict=False):
                    key = (name, met.demand.row, met.demand.words)
                    margin = Margin(*key, sky, setup.parts, spare, met.demand.cells)
                    if key not in narrowest or _width(spare) < _width(narrowest[key].to_spare):
                        narrowest[key] = margin
    return sorted(narrowest.values(), key=lambda margin: _width(margin.to_spare))


def _width(to_spare: int) -> int:
    """How far a level is from the one that decides: met by 0 or missed by 1 is as near as can be."""
    return to_spare if to_spare >= 0 else -to_spare - 1
