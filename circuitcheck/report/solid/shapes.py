"""The bodies of which each solid is made. No two bodies of one solid share a corner, and none leaves its place."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache

from circuitcheck.model.block_type import Form
from circuitcheck.model.drawing import ABOVE, AROUND
from circuitcheck.plans.solids import Solid
from circuitcheck.report.solid.bodies import Body, Point, Tone, between, body, box, eight, ring, shifted, turned

SIDE = 0.5
"""How far the sides of a place are from its middle."""
FLOOR = -SIDE
LOW = -0.28
"""How high low slabs reach."""


@lru_cache(maxsize=4096)
def bodies_of(solid: Solid) -> tuple[Body, ...]:
    """The bodies of a solid, as they stand in its place."""
    return tuple(_MAKERS[solid.form](solid))


def fills(solid: Solid) -> bool:
    """Whether nothing can be seen through or past it in its place."""
    return solid.form is Form.BLOCK and not solid.comes_and_goes


def see_through(solid: Solid) -> bool:
    """Whether what is behind it is seen through it."""
    return solid.form in (Form.CLEAR, Form.POOL)


def _cube(tone: Tone, low: float = FLOOR, high: float = SIDE) -> Body:
    return box((low, -SIDE, -SIDE), (high, SIDE, SIDE), tone)


def _block(solid: Solid) -> list[Body]:
    return [_cube(Tone.SLATE if solid.fixed else Tone.STONE)]


def _clear(solid: Solid) -> list[Body]:
    return [_cube(Tone.PALE)]


def _half(solid: Solid) -> list[Body]:
    return [_cube(Tone.STONE, 0.0, SIDE) if solid.top else _cube(Tone.STONE, FLOOR, 0.0)]


def _pool(solid: Solid) -> list[Body]:
    return [_cube(Tone.POND, FLOOR, FLOOR + 0.11 * solid.depth)]


def _shoulders(solid: Solid) -> list[Body]:
    """A cube with slanted shoulders: four corners below, four where the slant begins, four on top."""
    points = [*ring(FLOOR, SIDE), *ring(0.15, SIDE), *ring(SIDE, 0.3)]
    sides = [
        (start + each, start + (each + 1) % 4, start + (each + 1) % 4 + 4, start + each + 4)
        for start in (0, 4)
        for each in range(4)
    ]
    return [body(points, [(0, 1, 2, 3), (8, 9, 10, 11), *sides], Tone.EARTH)]


def _column(solid: Solid) -> list[Body]:
    return [between(eight(FLOOR, SIDE), eight(SIDE, SIDE), Tone.SKY)]


def _cut_corners(solid: Solid) -> list[Body]:
    """A cuboctahedron: its corners are the middles of the edges of its place."""
    ends = (-SIDE, SIDE)
    points: list[Point] = [(0.0, a, b) for a in ends for b in ends]
    points += [(a, 0.0, b) for a in ends for b in ends]
    points += [(a, b, 0.0) for a in ends for b in ends]
    squares = [
        _round([n for n, each in enumerate(points) if each[axis] == end], points, axis)
        for axis in range(3)
        for end in ends
    ]
    corners = [
        [n for n, each in enumerate(points) if sum(a * b > 0 for a, b in zip(each, way, strict=True)) == 2]
        for way in ((a, b, c) for a in ends for b in ends for c in ends)
    ]
    return [body(points, [*squares, *corners], Tone.FOLIAGE)]


def _round(numbers: list[int], points: list[Point], axis: int) -> list[int]:
    """The four corners of a square across an axis, one beside the next."""
    first, second = (each for each in range(3) if each != axis)
    order = [(1, 0), (0, 1), (-1, 0), (0, -1)]
    signs = {n: (_sign(points[n][first]), _sign(points[n][second])) for n in numbers}
    return sorted(numbers, key=lambda n: order.index(signs[n]))


def _sign(number: float) -> int:
    return (number > 0) - (number < 0)


# Low things


def _track(solid: Solid) -> list[Body]:
    """Dust: a low middle, an arm to each side to which it points, and up the wall where it climbs."""
    middle = 0.15 if solid.arms else 0.24
    made = [box((FLOOR, -middle, -middle), (-0.38, middle, middle), Tone.BLUE)]
    for way in AROUND:
        if way in solid.arms:
            # (along, across, aside), where across is up
            made += turned([box((middle, FLOOR, -0.09), (SIDE, -0.4, 0.09), Tone.BLUE)], way)
        if way in solid.climbs:
            made += turned([box((0.42, -0.4, -0.07), (SIDE, SIDE, 0.07), Tone.BLUE)], way)
    return made


def _slab(tone: Tone = Tone.PALE) -> Body:
    return box((-0.46, FLOOR, -0.46), (0.46, LOW, 0.46), tone)


def _arrow(aside: float, wide: float) -> list[Body]:
    """An arrow that lies on a low slab and points forward."""
    low, high = LOW, LOW + 0.08
    tip = [(0.42, low, aside), (0.02, low, aside - wide), (0.02, low, aside + wide)]
    shaft = box((-0.4, low, aside - wide / 3), (0.02, high - 0.01, aside + wide / 3), Tone.DARK)
    return [shaft, between(tip, shifted(tip, (0.0, high - low, 0.0)), Tone.DARK)]


def _one_arrow(solid: Solid) -> list[Body]:
    return turned([_slab(), *_arrow(0.0, 0.3)], solid.way)


def _two_arrows(solid: Solid) -> list[Body]:
    return turned([_slab(), *_arrow(-0.22, 0.17), *_arrow(0.22, 0.17)], solid.way)


# Things that look some way


def _horn(solid: Solid) -> list[Body]:
    plate = between(ring(-0.5, 0.48), ring(-0.34, 0.48), Tone.SLATE)
    horn = between(ring(-0.34, 0.42), ring(0.5, 0.16), Tone.ORANGE)
    return turned([plate, horn], solid.way)


def _ram(solid: Solid) -> list[Body]:
    barrel = between(eight(-0.5, 0.44), eight(0.18, 0.44), Tone.SLATE)
    rod = between(ring(0.18, 0.16), ring(SIDE if solid.out else 0.3, 0.16), Tone.DARK)
    return turned([barrel, rod] if solid.out else [barrel, rod, *_front(solid)], solid.way)


def _plate(solid: Solid) -> list[Body]:
    return turned([between(ring(FLOOR, 0.16), ring(0.3, 0.16), Tone.DARK), *_front(solid)], solid.way)


def _front(solid: Solid) -> list[Body]:
    """The plate of a piston's head, with its pad where it is sticky."""
    plate = between(ring(0.3, 0.49), ring(0.42 if solid.sticky else 0.5, 0.49), Tone.VERMILION)
    pad = [between(eight(0.42, 0.34), eight(0.5, 0.34), Tone.GREEN)] if solid.sticky else []
    return [plate, *pad]


def _wedge(solid: Solid) -> list[Body]:
    back = between(ring(-0.45, 0.4), ring(0.05, 0.4), Tone.STONE)
    point = body([*ring(0.05, 0.34), (0.5, 0.0, 0.0)], [(0, 1, 2, 3), *_spikes(4)], Tone.DARK)
    return turned([back, point], solid.way)


def _spikes(count: int) -> list[tuple[int, ...]]:
    return [(each, (each + 1) % count, count) for each in range(count)]


# Things that are held


def _pole(solid: Solid) -> list[Body]:
    pole = between(ring(FLOOR, 0.07), ring(0.1, 0.07), Tone.SLATE)
    cap = between(ring(0.1, 0.16), ring(0.36, 0.16), Tone.PURPLE)
    return turned([pole, cap], solid.way)


def _handle(solid: Solid) -> list[Body]:
    foot = between(ring(FLOOR, 0.3, 0.2), ring(-0.36, 0.3, 0.2), Tone.SLATE)
    low, high = ring(-0.36, 0.07), shifted(ring(0.2, 0.07), (0.0, 0.26, 0.0))
    knob = between(
        shifted(eight(0.2, 0.13), (0.0, 0.29, 0.0)), shifted(eight(0.42, 0.13), (0.0, 0.29, 0.0)), Tone.VERMILION
    )
    return turned([foot, between(low, high, Tone.SLATE), knob], solid.way)


def _knob(solid: Solid) -> list[Body]:
    foot = between(eight(FLOOR, 0.3), eight(-0.38, 0.3), Tone.SLATE)
    return turned([foot, between(eight(-0.38, 0.2), eight(-0.22, 0.2), Tone.VERMILION)], solid.way)


def _diamond(solid: Solid) -> list[Body]:
    stem = between(ring(FLOOR, 0.06), ring(-0.24, 0.06), Tone.SLATE)
    points = [*ring(0.1, 0.2), (0.46, 0.0, 0.0), (-0.24, 0.0, 0.0)]
    below = [(each, (each + 1) % 4, 5) for each in range(4)]
    return turned([stem, body(points, [*_spikes(4), *below], Tone.YELLOW)], solid.way)


def _lump(solid: Solid) -> list[Body]:
    return turned([between(ring(FLOOR, 0.36), ring(0.2, 0.36), Tone.STONE)], ABOVE)


_MAKERS: Mapping[Form, Callable[[Solid], list[Body]]] = {
    Form.BLOCK: _block,
    Form.CLEAR: _clear,
    Form.HALF: _half,
    Form.SHOULDERS: _shoulders,
    Form.COLUMN: _column,
    Form.CUT_CORNERS: _cut_corners,
    Form.POOL: _pool,
    Form.TRACK: _track,
    Form.ONE_ARROW: _one_arrow,
    Form.TWO_ARROWS: _two_arrows,
    Form.HORN: _horn,
    Form.RAM: _ram,
    Form.PLATE: _plate,
    Form.POLE: _pole,
    Form.HANDLE: _handle,
    Form.KNOB: _knob,
    Form.DIAMOND: _diamond,
    Form.WEDGE: _wedge,
    Form.LUMP: _lump,
}
