"""How large a box may be, and how small it can be at all: counted before anything is searched."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from circuitcheck.model.drawing import At
from circuitcheck.placing.grid import COMPARATOR, ENTRY, EXIT, LAMP, LEVER, MOST_PLACES, REPEATER, TORCH
from circuitcheck.placing.problem import CantPlace, Problem

LYING = (REPEATER, COMPARATOR, ENTRY, EXIT)
"""What lies on a block."""

LONGEST = 40
"""The longest side of a box that is chosen, in places."""


class Bounds(NamedTuple):
    """The largest box that is allowed, in layers, rows and columns; rows and columns may be exchanged."""

    layers: int = LONGEST
    rows: int = LONGEST
    columns: int = LONGEST

    def fits(self, size: At) -> bool:
        """Whether a box is allowed."""
        return size[0] <= self.layers and size[1] <= self.rows and size[2] <= self.columns

    def fits_turned(self, size: At) -> bool:
        """Whether a box is allowed as it is or with rows and columns exchanged."""
        return self.fits(size) or self.fits((size[0], size[2], size[1]))


def places_of(size: At) -> int:
    """How many places a box has."""
    return size[0] * size[1] * size[2]


def takes_room(size: At) -> int:
    """How many places a box has with those of air around it."""
    return (size[0] + 2) * (size[1] + 2) * (size[2] + 2)


def has_room(size: At) -> bool:
    """Whether memory has room for a box."""
    return takes_room(size) <= MOST_PLACES


def refuse_too_large(size: At) -> None:
    """Raises CantPlace for a box that memory has no room for."""
    if not has_room(size):
        raise CantPlace(f"its box has more than {MOST_PLACES} places", "make it smaller in pieces")


def least_places(problem: Problem) -> int:
    """How many places are needed at least: one for each part and each dust given out, and one to hold them."""
    held = any(code in (TORCH, LEVER, *LYING) for code in problem.codes) or problem.shown
    block = bool(held) and LAMP not in problem.codes
    return len(problem.codes) + len(problem.shown) + block


def least_layers(problem: Problem) -> int:
    """How many layers are needed at least: two where something lies on a block."""
    return 2 if problem.shown or any(code in LYING for code in problem.codes) else 1


def least_sides(problem: Problem) -> At:
    """How many layers, rows and columns are needed at least: also for places that are counted."""
    layers, rows, columns = problem.asked.least_sides
    return max(layers, least_layers(problem)), rows, columns


def refuse_too_small(problem: Problem, bounds: Bounds) -> None:
    """Raises CantPlace for a box in which the circuit can't stand, however it is laid out."""
    needed, layers, parts = least_places(problem), least_layers(problem), len(problem.codes)
    most = places_of(bounds)
    if most < needed:
        raise CantPlace(
            f"a box of {most} {'place' if most == 1 else 'places'} is too small: "
            f"its {'part, with what holds it, takes' if parts == 1 else f'{parts} parts, with what holds them, take'} "
            f"{needed} at least",
            "allow a larger box",
        )
    if bounds.layers < layers:
        raise CantPlace(
            f"a box of {bounds.layers} layer is too low: what lies on a block needs two", "allow two layers"
        )


def first_sizes(problem: Problem, bounds: Bounds) -> Iterator[At]:
    """Boxes to begin with: roomy, nearly as wide as deep, and larger and larger."""
    wanted = 4 * least_places(problem)
    before: At | None = None
    while True:
        size = _about(wanted, bounds, least_sides(problem))
        if not has_room(size) or size == before:
            return
        yield size
        before, wanted = size, wanted * 3 // 2 + 1


def _about(wanted: int, bounds: Bounds, least: At) -> At:
    """A box of at least so many places, if one is allowed; the largest one if not."""
    size = list(least)
    most = tuple(bounds)
    while places_of((size[0], size[1], size[2])) < wanted:
        open_ = [axis for axis in range(3) if size[axis] < most[axis]]
        if not open_:
            break
        size[min(open_, key=lambda axis: (size[axis] * (2 if axis == 0 else 1), axis))] += 1
    return size[0], size[1], size[2]


def smaller_sizes(problem: Problem, bounds: Bounds, places: int, least: int) -> list[At]:
    """Every box of fewer places than so many, and of at least so many, that is allowed and has room in memory."""
    found = []
    low, first_row, first_column = least_sides(problem)
    for layers in range(low, min(bounds.layers, places) + 1):
        for rows in range(first_row, min(bounds.rows, places // layers) + 1):
            for columns in range(first_column, min(bounds.columns, places // (layers * rows)) + 1):
                size = (layers, rows, columns)
                turned = not problem.asked and bounds.fits((layers, columns, rows)) and rows > columns
                fits = has_room(size) and not turned
                if fits and max(least, least_places(problem)) <= places_of(size) < places:
                    found.append(size)
    return found


def roundness(size: At) -> float:
    """The surface of a box beside that of a cube of as many places: least for a cube."""
    layers, rows, columns = size
    return float((layers * rows + rows * columns + columns * layers) / places_of(size) ** (2 / 3))
