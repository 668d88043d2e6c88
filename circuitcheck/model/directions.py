"""Places of a drawing, and the ways between them (rule W1).

A place is (layer, row, column), each counted from 1: layers from the bottom, rows from north to south, columns from
west to east.
"""

from __future__ import annotations

from enum import Enum

At = tuple[int, int, int]
"""A place: layer, row, column."""


class Direction(Enum):
    """A way to go, as the step it takes in layers, rows and columns."""

    NORTH = (0, -1, 0)
    EAST = (0, 0, 1)
    SOUTH = (0, 1, 0)
    WEST = (0, 0, -1)
    ABOVE = (1, 0, 0)
    BELOW = (-1, 0, 0)

    @property
    def word(self) -> str:
        """The direction as an author writes it."""
        return self.name.lower()

    @property
    def back(self) -> Direction:
        """The opposite direction."""
        return BACK[self]

    @property
    def beside(self) -> str:
        """Where something lies that lies in this direction."""
        return f"{self.word} it" if self in (ABOVE, BELOW) else f"to its {self.word}"

    def from_(self, at: At) -> At:
        """The place next to another in this direction."""
        up, south, east = self._value_  # `value` takes a detour, and this is asked for everywhere
        return (at[0] + up, at[1] + south, at[2] + east)


NORTH, EAST, SOUTH, WEST, ABOVE, BELOW = Direction
BACK = {NORTH: SOUTH, SOUTH: NORTH, EAST: WEST, WEST: EAST, ABOVE: BELOW, BELOW: ABOVE}
AROUND = (NORTH, EAST, SOUTH, WEST)
"""The four directions within a layer, clockwise."""
MIRRORED = {EAST: WEST, WEST: EAST}
"""What becomes of directions where east and west are exchanged; the others stay."""
DIRECTIONS = {direction.word: direction for direction in Direction}


class Facing(Enum):
    """Which way a thing may face: not at all, within its layer, or any way."""

    NONE = ()
    AROUND = AROUND
    ANY = tuple(Direction)
