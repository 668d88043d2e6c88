"""A build in three dimensions: which solid stands at each place, turned which way, and what a cut leaves of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from circuitcheck.model.block_type import Form
from circuitcheck.model.drawing import ABOVE, BELOW, NORTH, At, Direction, Drawing, Thing
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.dust import Dusts
from circuitcheck.space.flowing import SOURCE
from circuitcheck.space.room import Room

FACED = frozenset({Form.ONE_ARROW, Form.TWO_ARROWS, Form.HORN, Form.RAM, Form.PLATE, Form.WEDGE})
"""The forms that point the way a thing faces; all others stand on what holds it, if they stand at all."""


@dataclass(frozen=True, slots=True)
class Solid:
    """What is seen of a thing. Things that look alike have equal solids."""

    form: Form
    way: Direction
    """The way it faces, or away from what holds it."""
    arms: frozenset[Direction] = frozenset()
    """The sides to which dust points (rule W3)."""
    climbs: frozenset[Direction] = frozenset()
    """The sides on which dust is joined to dust that lies a step higher (rule W2)."""
    top: bool = False
    """Of half a block, whether it is the upper one."""
    sticky: bool = False
    fixed: bool = False
    comes_and_goes: bool = False
    out: bool = False
    """Of a piston, whether its head has left it."""
    depth: int = SOURCE
    """Of water, its level."""


def solids(drawing: Drawing, rules: RuleSet) -> dict[At, Solid]:
    """The solid at each place of a drawing, as it is drawn: nothing has moved."""
    dusts = Dusts(Room(drawing, rules))
    return {at: solid_of(dusts, at, thing) for at, thing in drawing.things.items()}


def solid_of(dusts: Dusts, at: At, thing: Thing) -> Solid:
    """What is seen of a thing at a place, with dust as it is joined there."""
    solid = Solid(
        thing.block_type.drawn_as,
        _way(thing),
        top=thing.end == "top",
        sticky="sticky" in thing.flags,
        fixed=thing.shape == "fixed",
        comes_and_goes=thing.when is not None,
    )
    if not thing.is_dust:
        return solid
    climbs = frozenset(join.direction for join in dusts.joins(at) if join.other[0] > at[0])
    return replace(solid, arms=dusts.points(at), climbs=climbs)


def _way(thing: Thing) -> Direction:
    if thing.block_type.drawn_as in FACED:
        return thing.facing or NORTH
    return thing.on.back if thing.on is not None and thing.on is not BELOW else ABOVE


@dataclass(frozen=True, slots=True)
class Cut:
    """Where a build is cut: the foremost layer, row and column that stay; None for no cut that way."""

    layer: int | None = None
    row: int | None = None
    column: int | None = None

    @property
    def parts(self) -> Mapping[str, int]:
        """Each way in which it is cut, by its word."""
        named = {"layer": self.layer, "row": self.row, "column": self.column}
        return {word: number for word, number in named.items() if number is not None}


def bounds(size: At, cut: Cut, toward: tuple[Direction, Direction]) -> tuple[range, range, range]:
    """The layers, rows and columns that stay after a cut, for somebody who looks from two of the four sides.

    What stands before the layer, row or column of the cut is gone: the layers above it, and the rows or columns
    between it and who looks.
    """
    layers, rows, columns = size
    south, east = sum(each.value[1] for each in toward), sum(each.value[2] for each in toward)
    return (
        range(1, (cut.layer or layers) + 1),
        _kept(rows, cut.row, south > 0),
        _kept(columns, cut.column, east > 0),
    )


def _kept(count: int, cut: int | None, from_the_end: bool) -> range:
    if cut is None:
        return range(1, count + 1)
    return range(1, cut + 1) if from_the_end else range(cut, count + 1)
