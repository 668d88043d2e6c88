"""Convex bodies out of flat faces, within one place.

A point is (up, south, east), in the order of a place (layer, row, column), from the middle of the place: from -0.5 to
0.5. These three ways make a right-handed system, so that faces are counter-clockwise seen from outside.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import Enum
from math import cos, pi, sin
from typing import NamedTuple

from circuitcheck.model.drawing import ABOVE, AROUND, NORTH, SOUTH, Direction

Point = tuple[float, float, float]


class Tone(Enum):
    """The colours of bodies: greys, pale grounds, and colours of Okabe and Ito."""

    STONE = "#d9d9d9"
    SLATE = "#a6a6a6"
    PALE = "#f2f2f2"
    EARTH = "#e6dcc8"
    FOLIAGE = "#dcefe0"
    POND = "#d6e9f5"
    DARK = "#262626"
    BLUE = "#0072b2"
    SKY = "#56b4e9"
    ORANGE = "#e69f00"
    VERMILION = "#d55e00"
    GREEN = "#009e73"
    PURPLE = "#cc79a7"
    YELLOW = "#f0e442"


class Body(NamedTuple):
    """A convex body: its corners, and its faces by the numbers of their corners."""

    points: tuple[Point, ...]
    faces: tuple[tuple[int, ...], ...]
    tone: Tone

    def moved(self, points: Iterable[Point]) -> Body:
        """The body with its corners elsewhere, its faces turned to the outside again."""
        return body(tuple(points), self.faces, self.tone)


def body(points: Sequence[Point], faces: Iterable[Sequence[int]], tone: Tone) -> Body:
    """A body whose faces are put the right way round."""
    middle = _mean(points)
    outward = []
    for face in faces:
        corners = [points[each] for each in face]
        out = _dot(normal(corners), _minus(_mean(corners), middle)) > 0
        outward.append(tuple(face) if out else tuple(reversed(face)))
    return Body(tuple(points), tuple(outward), tone)


def normal(corners: Sequence[Point]) -> Point:
    """The way a flat face looks, as long as it is large."""
    u, v = _minus(corners[1], corners[0]), _minus(corners[2], corners[0])
    return (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])


def _minus(one: Point, other: Point) -> Point:
    return (one[0] - other[0], one[1] - other[1], one[2] - other[2])


def _dot(one: Point, other: Point) -> float:
    return one[0] * other[0] + one[1] * other[1] + one[2] * other[2]


def _mean(points: Sequence[Point]) -> Point:
    up, south, east = (sum(point[axis] for point in points) / len(points) for axis in range(3))
    return (up, south, east)


# Shapes of bodies. In what follows a point is (along, across, aside) until it is turned the way a thing looks.


def between(base: Sequence[Point], end: Sequence[Point], tone: Tone) -> Body:
    """What lies between two polygons of as many corners."""
    count = len(base)
    sides = [(each, (each + 1) % count, (each + 1) % count + count, each + count) for each in range(count)]
    return body([*base, *end], [tuple(range(count)), tuple(range(count, 2 * count)), *sides], tone)


def ring(along: float, across: float, aside: float | None = None) -> list[Point]:
    """A rectangle across the way, so far from its middle."""
    wide = across if aside is None else aside
    return [(along, -across, -wide), (along, across, -wide), (along, across, wide), (along, -across, wide)]


def eight(along: float, radius: float) -> list[Point]:
    """An octagon across the way, whose sides are so far from its middle."""
    out = radius / cos(pi / 8)
    angles = [pi / 8 + pi / 4 * each for each in range(8)]
    return [(along, out * cos(angle), out * sin(angle)) for angle in angles]


def box(low: Point, high: Point, tone: Tone) -> Body:
    """A box between two corners."""
    (a, b, c), (d, e, f) = low, high
    return between(
        [(a, b, c), (a, e, c), (a, e, f), (a, b, f)],
        [(d, b, c), (d, e, c), (d, e, f), (d, b, f)],
        tone,
    )


def shifted(points: Iterable[Point], by: Point) -> list[Point]:
    """Points, each so much farther."""
    return [(a + by[0], b + by[1], c + by[2]) for a, b, c in points]


def facing(way: Direction, point: Point) -> Point:
    """A point (along, across, aside) of a thing that looks some way: across is up, where it looks to one side."""
    first = way.value
    second = (ABOVE if way in AROUND else SOUTH if way is ABOVE else NORTH).value
    third = (
        first[1] * second[2] - first[2] * second[1],
        first[2] * second[0] - first[0] * second[2],
        first[0] * second[1] - first[1] * second[0],
    )
    along, across, aside = point
    up, south, east = (along * first[each] + across * second[each] + aside * third[each] for each in range(3))
    return (up, south, east)


def turned(bodies: Iterable[Body], way: Direction) -> list[Body]:
    """Bodies made to look some way."""
    return [each.moved(facing(way, point) for point in each.points) for each in bodies]
