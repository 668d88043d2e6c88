"""What is asked of a layout beside its size: where some things stand, and which places stay free."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import reduce
from itertools import product

from circuitcheck.model.drawing import At, Direction, Drawing

FIRST: At = (1, 1, 1)
LAST: At = (999, 999, 999)
AXES = ("layer", "row", "column")
_AXIS_OF = {
    Direction.ABOVE: 0,
    Direction.BELOW: 0,
    Direction.NORTH: 1,
    Direction.SOUTH: 1,
    Direction.EAST: 2,
    Direction.WEST: 2,
}


@dataclass(frozen=True)
class Spot:
    """Some places of a box: its outermost slices on some sides, and layers, rows and columns from one to another."""

    sides: frozenset[Direction] = frozenset()
    low: At = FIRST
    high: At = LAST

    def has(self, at: At, size: At) -> bool:
        """Whether a place of a box of so many layers, rows and columns is one of them."""
        counted = all(low <= each <= high for low, each, high in zip(self.low, at, self.high, strict=True))
        return counted and all(self._outermost(side, at, size) for side in self.sides)

    @staticmethod
    def _outermost(side: Direction, at: At, size: At) -> bool:
        axis = _AXIS_OF[side]
        return at[axis] == (1 if _is_first(side) else size[axis])

    def places(self, size: At) -> Iterator[At]:
        """Its places in a box of that size."""
        layers, rows, columns = (range(low, high + 1) for low, high in self._ranges(size))
        return product(layers, rows, columns)

    def places_in_any(self, most: At) -> Iterator[At]:
        """The places that it has in some box that is no larger than that."""
        return replace(self, sides=frozenset(filter(_is_first, self.sides))).places(most)

    def room(self, most: At) -> int:
        """How many places it has at most in a box that is no larger than that."""
        found = 1
        for axis, (low, high) in enumerate(zip(self.low, map(min, self.high, most), strict=True)):
            sides = [side for side in self.sides if _AXIS_OF[side] == axis]
            if any(_is_first(side) for side in sides):
                high = min(high, 1)
            found *= max(0, min(1, high - low + 1) if sides else high - low + 1)
        return found

    def _ranges(self, size: At) -> list[tuple[int, int]]:
        found = [(low, min(high, most)) for low, high, most in zip(self.low, self.high, size, strict=True)]
        for side in self.sides:
            axis = _AXIS_OF[side]
            only = 1 if _is_first(side) else size[axis]
            low, high = found[axis]
            found[axis] = max(low, only), min(high, only)
        return found

    def within(self, other: Spot) -> bool:
        """Whether each place of it is one of another spot, which has no sides."""
        pairs = zip(self._ranges(LAST), other.low, other.high, strict=True)
        return all(low <= mine[0] and mine[1] <= high for mine, low, high in pairs)

    def both(self, other: Spot) -> Spot:
        """The places that both have."""
        low = tuple(map(max, self.low, other.low))
        high = tuple(map(min, self.high, other.high))
        return Spot(self.sides | other.sides, (low[0], low[1], low[2]), (high[0], high[1], high[2]))

    @property
    def opposite_sides(self) -> bool:
        """Whether it is on two opposite sides at once, which only a box of one slice between them would have."""
        return any(side.back in self.sides for side in self.sides)

    @property
    def is_empty(self) -> bool:
        """Whether no box has a place of it: it ends before it begins, or before the slices of its sides."""
        return self.room(LAST) == 0

    @property
    def counted(self) -> tuple[bool, bool, bool]:
        """Of layers, rows and columns, which are counted, so that the box must begin with the first."""
        found = [pair != (1, LAST[0]) for pair in zip(self.low, self.high, strict=True)]
        return found[0], found[1], found[2]

    def __str__(self) -> str:
        said = [side.word for side in Direction if side in self.sides]
        for axis, low, high in zip(AXES, self.low, self.high, strict=True):
            if (low, high) != (1, LAST[0]):
                said.append(f"{axis} {low}" if low == high else f"{axis} {low} to {high}")
        return " ".join(said)


def _is_first(side: Direction) -> bool:
    """Whether the outermost slice on a side is the first one: layers are counted from below, rows from north."""
    return sum(side.value) < 0


@dataclass(frozen=True)
class Asked:
    """Where things are to stand, by their names, and what stays free."""

    at: Mapping[str, Spot] = field(default_factory=dict)
    """Inputs, lamps, other parts, and dust that is given out."""
    free: tuple[Spot, ...] = ()
    """Places at which nothing may stand."""
    enters: Mapping[str, Direction] = field(default_factory=dict)
    """Levers and buttons that stand outside: each is dust at that side, to which power comes from outside in full."""
    leaves: Mapping[str, Direction] = field(default_factory=dict)
    """Dust given out that lies at that side, where dust from outside joins it; levels lost up to it don't count."""

    stays: tuple[Spot | str, ...] = ()
    """Places, and things by their names, that stay as they are drawn."""
    tiles: tuple[Direction, ...] = ()
    """On which sides a copy stands right beside it, so that neither does anything to the other."""

    def __bool__(self) -> bool:
        return bool(self.at or self.free or self.enters or self.leaves or self.tiles)

    @property
    def spots(self) -> dict[str, Spot]:
        """Where each thing is to stand of which anything is asked."""
        faces = {name: Spot(frozenset({side})) for name, side in (*self.enters.items(), *self.leaves.items())}
        both = {name: spot.both(faces.get(name, Spot())) for name, spot in self.at.items()}
        return {**faces, **both}

    @property
    def counted(self) -> tuple[bool, bool, bool]:
        """Of layers, rows and columns, which are counted from the first of the box, be it empty or not."""
        found = [each.counted for each in (*self.spots.values(), *self.free)]
        return any(each[0] for each in found), any(each[1] for each in found), any(each[2] for each in found)

    @property
    def least_sides(self) -> At:
        """How many layers, rows and columns a box must have, so that it has each place that is counted."""
        lows = (spot.low for spot in self.spots.values())
        return reduce(
            lambda one, other: (max(one[0], other[0]), max(one[1], other[1]), max(one[2], other[2])), lows, FIRST
        )

    def left_out(self, size: At) -> set[At]:
        """The places of a box that stay free."""
        return {at for spot in self.free for at in spot.places(size)}

    def not_kept(self, drawing: Drawing) -> list[str]:
        """In what a drawing is not as asked, in words."""
        where = {name: at for at, name in drawing.names.items()}
        found = [
            f"'{name}' does not stand {spot}"
            for name, spot in self.spots.items()
            if name not in where or not spot.has(where[name], drawing.size)
        ]
        left_out = self.left_out(drawing.size)
        return found + [
            f"something stands at layer {at[0]} row {at[1]} column {at[2]}" for at in drawing.things if at in left_out
        ]


NOTHING = Asked()
"""Nothing is asked."""


def together(asked: Iterable[tuple[str, Spot]]) -> dict[str, Spot]:
    """Where each thing is to stand of which several are asked one after the other."""
    found: dict[str, Spot] = {}
    for name, spot in asked:
        found[name] = found[name].both(spot) if name in found else spot
    return found
