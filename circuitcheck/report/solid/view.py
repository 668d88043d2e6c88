"""A build as somebody sees it who looks down on it from a corner: what hides what, and in which order it is painted.

Somebody looks along the diagonal of a cube, so that all lines of equal length along the three ways are as long as each
other on paper. *Near* and *aside* are the two of the four sides that are seen; a place has coordinates (up, a, b), of
which a grows to the side that is seen on the right and b to the one on the left.

**Order.** Of two places one can hide the other only if none of its three coordinates is smaller. So layers from the
lowest up, and in each its places by a + b, are an order in which nothing is painted over what hides it. That is true
with any gap between the layers as well.

**Hidden faces.** Along the diagonal, the six triangles that a cube covers on paper are those of one lattice for all
places. From front to back, each cube covers its triangles; a face of a cube, or something smaller, is left out if all
triangles that it lies in are covered. A gap of whole places keeps to the lattice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import Enum
from math import sqrt
from typing import NamedTuple

from circuitcheck.model.drawing import ABOVE, EAST, NORTH, SOUTH, WEST, At, Direction
from circuitcheck.plans.solids import Solid
from circuitcheck.report.solid.bodies import Body, Point, normal
from circuitcheck.report.solid.shapes import bodies_of, fills, see_through

Triangle = tuple[int, int, bool]
"""A triangle of the lattice: a square of it, and which half."""
Flat = tuple[float, float]
"""A point on paper: right and down, a side of a place being 1."""
NEARLY = 1e-6
SLANT = sqrt(3) / 2


class Corner(Enum):
    """Where somebody stands who looks at a build from above: the sides seen on the right and on the left."""

    SOUTH_EAST = (EAST, SOUTH)
    SOUTH_WEST = (SOUTH, WEST)
    NORTH_WEST = (WEST, NORTH)
    NORTH_EAST = (NORTH, EAST)

    @property
    def word(self) -> str:
        """The corner as a call says it."""
        return self.name.lower().replace("_", "-")

    @property
    def right(self) -> Direction:
        """The side that is seen on the right."""
        return self.value[0]

    @property
    def left(self) -> Direction:
        """The side that is seen on the left."""
        return self.value[1]

    def seen(self, point: Point) -> Point:
        """A point (up, south, east) as (up, a, b)."""
        return (point[0], _along(point, self.right), _along(point, self.left))


def _along(point: Point, way: Direction) -> float:
    return point[1] * way.value[1] + point[2] * way.value[2]


def on_paper(point: Point) -> Flat:
    """Where a point (up, a, b) is drawn."""
    up, a, b = point
    return ((a - b) * SLANT, (a + b) / 2 - up)


class Side(Enum):
    """The three sides of a place that are seen, by the coordinate that is the same all over each."""

    TOP = 0
    RIGHT = 1
    LEFT = 2


ALL_SIDES = frozenset(Side)


class Shown(NamedTuple):
    """A thing that is seen: its solid, which of its sides are, and where the middle of its place is."""

    at: At
    solid: Solid
    sides: frozenset[Side]
    """Of a cube; of anything else all three."""
    middle: Point
    """As (up, a, b)."""


class Kept(NamedTuple):
    """The layers, rows and columns that are drawn, seen from a corner, with so many empty layers between two."""

    spans: tuple[range, range, range]
    corner: Corner
    gap: int = 0

    def holds(self, at: At) -> bool:
        """Whether a place is drawn."""
        return all(each in span for each, span in zip(at, self.spans, strict=True))

    def seat(self, at: At) -> tuple[int, int, int]:
        """The lowest corner of a place that is nearest to none of the sides seen, as (up, a, b) in whole places."""
        return (
            (at[0] - self.spans[0].start) * (1 + self.gap),
            self._along(at, self.corner.right),
            self._along(at, self.corner.left),
        )

    def _along(self, at: At, way: Direction) -> int:
        axis = 1 if way in (NORTH, SOUTH) else 2
        span = self.spans[axis]
        return at[axis] - span.start if way in (SOUTH, EAST) else span.stop - 1 - at[axis]

    def beside(self, at: At, side: Side) -> At | None:
        """The place that touches another on a side, if it is drawn."""
        if side is Side.TOP:
            other = ABOVE.from_(at)
            return None if self.gap or not self.holds(other) else other
        other = (self.corner.right if side is Side.RIGHT else self.corner.left).from_(at)
        return other if self.holds(other) else None


class _Seats(NamedTuple):
    """Places with what does not depend on what stands there: computed once for many states of a build."""

    order: list[At]
    """From front to back."""
    seats: Mapping[At, tuple[int, int, int]]
    triangles: Mapping[At, list[tuple[Side, tuple[Triangle, Triangle]]]]


def _seated(places: Iterable[At], kept: Kept) -> _Seats:
    seats = {at: kept.seat(at) for at in places if kept.holds(at)}
    # When a place is painted: from the lowest layer up, and in each by a + b.
    order = sorted(seats, key=lambda at: (at[0], seats[at][1] + seats[at][2], seats[at][1]), reverse=True)
    return _Seats(order, seats, {at: list(_triangles(seat).items()) for at, seat in seats.items()})


def shown(solids: Mapping[At, Solid], kept: Kept) -> tuple[list[Shown], int]:
    """What is seen, in the order in which it is painted; and how many of the things that are drawn are hidden."""
    seated = _seated(solids, kept)
    found = _seen(solids, seated, kept)
    return found, len(seated.seats) - len(found)


def _seen(solids: Mapping[At, Solid], seated: _Seats, kept: Kept) -> list[Shown]:
    covered: set[Triangle] = set()
    found = []
    for at in seated.order:
        solid = solids.get(at)
        if solid is None:
            continue
        triangles = seated.triangles[at]
        open_sides = frozenset([side for side, (one, other) in triangles if not (one in covered and other in covered)])
        sides = _sides(solids, at, open_sides, kept) if open_sides else open_sides
        if sides:
            up, a, b = seated.seats[at]
            found.append(Shown(at, solid, sides, (up + 0.5, a + 0.5, b + 0.5)))
        if fills(solid):
            for _, pair in triangles:
                covered.update(pair)
    return found[::-1]


def shown_in(states: Sequence[Mapping[At, Solid]], kept: Kept) -> list[tuple[Shown, list[int]]]:
    """What is seen in any of several states of one build, in the order in which it is painted, each with its states.

    The order is that of places, so that whatever a state leaves out, the rest of it stays in order.
    """
    seated = _seated(dict.fromkeys(at for solids in states for at in solids), kept)
    turn = {at: -place for place, at in enumerate(seated.order)}
    found: dict[Shown, list[int]] = {}
    for number, solids in enumerate(states):
        for each in _seen(solids, seated, kept):
            found.setdefault(each, []).append(number)
    return sorted(found.items(), key=lambda each: turn[each[0].at])


def _triangles(seat: tuple[int, int, int]) -> dict[Side, tuple[Triangle, Triangle]]:
    """The triangles of the lattice in which each side of a place lies."""
    up, a, b = seat
    p, q = a - up, b - up
    return {
        Side.TOP: ((p - 1, q - 1, False), (p - 1, q - 1, True)),
        Side.RIGHT: ((p, q, True), (p, q - 1, False)),
        Side.LEFT: ((p, q, False), (p - 1, q, True)),
    }


def _sides(solids: Mapping[At, Solid], at: At, open_sides: frozenset[Side], kept: Kept) -> frozenset[Side]:
    """The sides of a thing that are drawn, out of those that nothing covers."""
    solid = solids[at]
    if fills(solid):
        return open_sides
    if not see_through(solid):
        return ALL_SIDES
    # Of a row of things that can be seen through, only the outside is drawn, as of one.
    beside = {side: kept.beside(at, side) for side in Side}
    others = {side: solids.get(other) for side, other in beside.items() if other is not None}
    return frozenset(
        side for side in Side if (other := others.get(side)) is None or not (other.form is solid.form or fills(other))
    )


def painted(
    solid: Solid, corner: Corner, sides: frozenset[Side]
) -> Iterator[tuple[Body, list[list[Flat]], list[Point]]]:
    """The bodies of a solid in the order in which they are painted: the faces of each that are seen, and their ways.

    Faces and ways are as seen, around the middle of the place.
    """
    one_by_one = fills(solid) or see_through(solid)
    for body, points in _back_to_front(
        [(each, [corner.seen(point) for point in each.points]) for each in bodies_of(solid)]
    ):
        faces, ways = [], []
        for face in body.faces:
            way = _unit(corner.seen(normal([body.points[each] for each in face])))
            if sum(way) > NEARLY and not (one_by_one and _side(way) not in sides):
                faces.append([on_paper(points[each]) for each in face])
                ways.append(way)
        if faces:
            yield body, faces, ways


def _unit(way: Point) -> Point:
    length = sqrt(sum(each * each for each in way))
    return (way[0] / length, way[1] / length, way[2] / length)


def _side(way: Point) -> Side:
    return Side(max(range(3), key=lambda axis: way[axis]))


def _back_to_front(bodies: Sequence[tuple[Body, list[Point]]]) -> list[tuple[Body, list[Point]]]:
    """Bodies of one solid, so that none is painted over one that hides it: those behind on some axis come first."""
    left = [(each, _low_and_high(each[1])) for each in bodies]
    order = []
    while left:
        first = next(
            (one for one in left if not any(_behind(other[1], one[1]) for other in left if other is not one)), left[0]
        )
        left.remove(first)
        order.append(first[0])
    return order


def _low_and_high(points: Sequence[Point]) -> list[tuple[float, float]]:
    return [(min(point[axis] for point in points), max(point[axis] for point in points)) for axis in range(3)]


def _behind(one: Sequence[tuple[float, float]], other: Sequence[tuple[float, float]]) -> bool:
    """Whether one box can be hidden by the other, and can't hide it."""
    behind = any(high <= low + NEARLY for (_, high), (low, _) in zip(one, other, strict=True))
    return behind and not any(high <= low + NEARLY for (_, high), (low, _) in zip(other, one, strict=True))
