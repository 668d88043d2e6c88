"""The build as it will stand: one thing a place, in layers from the bottom up (rule W1). Frozen; knows no wiring.

A place is (layer, row, column), each counted from 1: layers from the bottom, rows from north to south, columns from
west to east.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import Enum
from types import MappingProxyType

from circuitcheck.diagnostics import NOWHERE, Span, article
from circuitcheck.model.light import Condition
from circuitcheck.model.parts.sensor import Becoming

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


@dataclass(frozen=True, slots=True)
class BlockType:
    """What a kind of thing is, whatever is wired to it (rule W1)."""

    word: str
    meaning: str
    solid: bool = False
    """It can be powered, carries dust and torches, and stops light."""
    facing: Facing = Facing.NONE
    held: tuple[Direction, ...] = ()
    """The sides on which it may be held; the first is the usual one. Without any it needs no hold."""
    lies: bool = False
    """It lies on what is under it, as dust does."""
    light: str = "air"
    """As which thing light meets it (rules G2, G3)."""
    shapes: tuple[str, ...] = ()
    """The words of which one may say its shape."""
    ends: tuple[str, ...] = ()
    """At which ends of its place it may be, if it fills only half of one."""
    called: str = ""
    """What people call it, where that is not its word."""


MATTERS: Mapping[str, BlockType] = MappingProxyType(
    {
        matter.word: matter
        for matter in (
            BlockType("air", "nothing"),
            BlockType(
                "block",
                "a solid block; one that is fixed can't be moved",
                solid=True,
                light="solid",
                shapes=("fixed",),
                called="solid block",
            ),
            BlockType("glass", "a clear block", light="glass", called="clear block"),
            BlockType("half", "half a block", light="half", ends=("top", "bottom"), called="half block"),
            BlockType(
                "dust", "dust; as a dot, it points nowhere while it is alone", lies=True, light="dust", shapes=("dot",)
            ),
            BlockType("torch", "a torch on the block below it, or on one beside it", held=(BELOW, *AROUND)),
            BlockType("repeater", "a repeater, giving the way it faces", facing=Facing.AROUND, lies=True),
            BlockType("comparator", "a comparator, giving the way it faces", facing=Facing.AROUND, lies=True),
            BlockType("lever", "a lever", held=(BELOW, *AROUND, ABOVE)),
            BlockType("button", "a button", held=(BELOW, *AROUND, ABOVE)),
            BlockType("lamp", "a lamp, which is a solid block", solid=True, light="solid"),
            BlockType("piston", "a piston, moving out the way it faces", facing=Facing.ANY, light="solid"),
            BlockType(
                "detector",
                "a pulse detector: watches behind it, gives the way it faces",
                facing=Facing.ANY,
                light="solid",
            ),
            BlockType("sensor", "a soil cell, which is a solid block", solid=True, light="solid", called="soil cell"),
            BlockType("water", "water", light="water"),
            BlockType("leaf", "a block of leaves", light="leaf", called="leaf block"),
            BlockType("light", "a light that always burns", held=(BELOW, *AROUND, ABOVE), called="standing light"),
        )
    }
)
"""What may be drawn, by the word that a legend uses."""
BEHAVES = frozenset({"torch", "repeater", "comparator", "lever", "button", "lamp", "piston", "detector", "sensor"})
"""The things that are parts with a behaviour of their own."""


@dataclass(frozen=True, slots=True)
class Thing:
    """What stands at a place, as a legend says of its letter. `numbers` are durations in gt, by option."""

    block_type: BlockType
    letter: str = ""
    facing: Direction | None = None
    on: Direction | None = None
    shape: str = ""
    end: str = ""
    flags: frozenset[str] = frozenset()
    numbers: tuple[tuple[str, int], ...] = ()
    start: int | None = None
    changes: tuple[Becoming, ...] = ()
    when: Condition | None = None
    """It is there only while that part is on or off; else there is air."""

    @property
    def word(self) -> str:
        """The kind of thing."""
        return self.block_type.word

    @property
    def called(self) -> str:
        """What people call it."""
        name = self.block_type.called or self.block_type.word
        sticky = "sticky " if "sticky" in self.flags else ""
        return f"{sticky}{name} at {self.end}" if self.end else f"{sticky}{name}"

    @property
    def one(self) -> str:
        """What people call it, with its article: a torch, a half block at top; but dust, and water."""
        return self.called if self.word in ("dust", "water", "air") else article(self.called)


@dataclass(frozen=True)
class Drawing:
    """A build. `things` holds every place that is not air."""

    things: Mapping[At, Thing]
    names: Mapping[At, str]
    """What the author calls the things at some places."""
    starts: Mapping[At, int] = field(default_factory=dict)
    """The start of things at some places, where it differs from what their letter says."""
    spans: Mapping[At, Span] = field(default_factory=dict)
    """Where in the file the letter of each place stands."""
    size: At = (0, 0, 0)
    """How many layers, rows and columns there are."""
    span: Span = NOWHERE

    def without(self, gone: At) -> Drawing:
        """The drawing with air at one place."""
        things = {at: thing for at, thing in self.things.items() if at != gone}
        return replace(self, things=things, names={at: name for at, name in self.names.items() if at != gone})

    def turned(self, places: Iterable[At]) -> Drawing:
        """The drawing with the things at some places, which face some way, facing the opposite way."""
        about = {at: self.things[at] for at in places}
        round_ = {at: replace(thing, facing=thing.facing.back) for at, thing in about.items() if thing.facing}
        return replace(self, things={**self.things, **round_})

    def name(self, at: At) -> str:
        """What the thing at a place is called: as its author does, or by its kind and place."""
        return self.names.get(at) or placed_name(self.things[at].word, at)


def placed_name(word: str, at: At) -> str:
    """What something of a kind is called that its author gives no name."""
    return f"{word}_{at[0]}_{at[1]}_{at[2]}"


def said(at: At) -> str:
    """A place in words."""
    return f"layer {at[0]}, row {at[1]}, column {at[2]}"
