"""Soil cells in space: which grown cells reach which bare ones (rule X3), and what stands above a cell."""

from __future__ import annotations

from circuitcheck.model.drawing import ABOVE, At
from circuitcheck.space.room import Room

REACH = tuple(
    (up, south, east)
    for up in range(-3, 2)
    for south in (-1, 0, 1)
    for east in (-1, 0, 1)
    if (up, south, east) != (0, 0, 0)
)
"""Where the tries of a grown cell fall, from the cell: one to the side, three down, one up (rule X3)."""


class Growing:
    """Answers for one drawing."""

    def __init__(self, room: Room) -> None:
        self._room = room

    def sources(self, cell: At) -> list[At]:
        """The cells that can grow over a cell, in order; none if its letter does not say that it is grown over."""
        thing = self._room.at(cell)
        if thing is None or "grows" not in thing.flags:
            return []
        around = ((cell[0] - up, cell[1] - south, cell[2] - east) for up, south, east in REACH)
        return sorted(each for each in around if self._is_cell(each))

    def _is_cell(self, place: At) -> bool:
        thing = self._room.at(place)
        return thing is not None and thing.is_cell

    @staticmethod
    def place_above(cell: At) -> str:
        """The name of the place whose light falls on a cell."""
        layer, row, column = ABOVE.from_(cell)
        return f"above_{layer}_{row}_{column}"
