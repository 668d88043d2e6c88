"""The build as it will stand: one thing a place, in layers from the bottom up (rule W1). Frozen; knows no wiring.

What each kind of part is in a drawing, its kind says (`parts`); what is no part stands here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from circuitcheck.diagnostics import NOWHERE, Span, article
from circuitcheck.model.block_type import (
    BlockType,
    Form,
    Ground,
    Placed,
    Pushed,
    Reads,
    Tells,
    Wiring,
    inert,
)
from circuitcheck.model.directions import (
    ABOVE,
    AROUND,
    BACK,
    BELOW,
    DIRECTIONS,
    EAST,
    MIRRORED,
    NORTH,
    SOUTH,
    WEST,
    At,
    Direction,
    Facing,
)
from circuitcheck.model.light import Condition
from circuitcheck.model.parts import KINDS
from circuitcheck.model.parts.cells import Becoming
from circuitcheck.model.parts.kinds import Kind

__all__ = [
    "ABOVE",
    "AROUND",
    "BACK",
    "BELOW",
    "DIRECTIONS",
    "EAST",
    "MATTERS",
    "MIRRORED",
    "NORTH",
    "SOUTH",
    "WEST",
    "At",
    "BlockType",
    "Direction",
    "Drawing",
    "Facing",
    "Thing",
    "placed_name",
    "said",
]


INERT: Mapping[str, BlockType] = {
    block_type.word: block_type
    for block_type in (
        inert("air", "nothing", "air", Ground.OPEN, pushed=Pushed.GIVES_WAY, counted=False),
        inert(
            "glass",
            "a clear block",
            "glass",
            Ground.CLEAR,
            pushed=Pushed.MOVES,
            called="clear block",
            form=Form.CLEAR,
            synonyms=("clear",),
        ),
        inert(
            "half",
            "half a block",
            "half",
            Ground.OPEN,
            pushed=Pushed.MOVES,
            ends=("top", "bottom"),
            called="half block",
            form=Form.HALF,
        ),
        inert(
            "water",
            "water",
            "water",
            Ground.WATER,
            pushed=Pushed.GIVES_WAY,
            placed=Placed.FLOWING,
            counted=False,
            form=Form.POOL,
        ),
        inert(
            "leaf",
            "a block of leaves",
            "leaf",
            Ground.LEAVES,
            called="leaf block",
            synonyms=("leaves",),
            form=Form.CUT_CORNERS,
        ),
        inert(
            "light",
            "a light that always burns",
            "air",
            Ground.OPEN,
            placed=Placed.HELD,
            held=(BELOW, *AROUND, ABOVE),
            called="standing light",
            form=Form.DIAMOND,
        ),
    )
}
"""What may be drawn and is no part."""


class _BlockTypes(Mapping[str, BlockType]):
    """What may be drawn, by the word that a legend uses: what is no part, and every kind that can be drawn."""

    def __getitem__(self, word: str) -> BlockType:
        kind = KINDS.get(word)
        return kind.block_type if kind is not None and kind.block_type is not None else INERT[word]

    def __iter__(self) -> Iterator[str]:
        yield from INERT
        yield from (word for word, kind in KINDS.items() if kind.block_type is not None)

    def __len__(self) -> int:
        return sum(1 for _ in self)


MATTERS: Mapping[str, BlockType] = _BlockTypes()


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
    def kind(self) -> Kind | None:
        """The kind of part that it is; None of what has no state of its own."""
        return KINDS.get(self.block_type.word) if self.block_type.wiring is Wiring.PART else None

    @property
    def is_part(self) -> bool:
        """Whether it is a part with a state of its own."""
        return self.block_type.wiring is Wiring.PART

    @property
    def is_dust(self) -> bool:
        """Whether it is dust."""
        return self.block_type.wiring is Wiring.DUST

    @property
    def is_signal(self) -> bool:
        """Whether it can be a part of the circuit, so that its author may name it."""
        return self.block_type.wiring is not Wiring.NOTHING

    @property
    def is_cell(self) -> bool:
        """Whether it changes by chance."""
        return self.kind is not None and self.kind.samples[0].cell is not None

    @property
    def watches(self) -> bool:
        """Whether it watches what is behind it."""
        return any(each.how is Reads.WATCHED for each in self.block_type.reads)

    @property
    def pushes(self) -> bool:
        """Whether it moves a head out, and what stands before it."""
        return self.block_type.tells is Tells.STROKE

    @property
    def is_inverter(self) -> bool:
        """Whether it is on exactly while nothing that it reads is."""
        return self.kind is not None and self.kind.samples[0].inverter

    @property
    def called(self) -> str:
        """What people call it."""
        name = self.block_type.called or self.block_type.word
        sticky = "sticky " if "sticky" in self.flags else ""
        return f"{sticky}{name} at {self.end}" if self.end else f"{sticky}{name}"

    @property
    def one(self) -> str:
        """What people call it, with its article: a torch, a half block at top; but dust, and water."""
        return article(self.called) if self.block_type.counted else self.called


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
    words: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    """What the author says of a layer to whoever builds it, by the layer's number."""

    @property
    def extent(self) -> At:
        """How many layers, rows and columns all that stands in it takes; air around it does not count."""
        if not self.things:
            return 0, 0, 0
        layers, rows, columns = (max(each) - min(each) + 1 for each in zip(*self.things, strict=True))
        return layers, rows, columns

    @property
    def cropped(self) -> Drawing:
        """The drawing without the air around what stands in it, and without what is said of its layers."""
        if not self.things:
            return self
        first = [min(each) - 1 for each in zip(*self.things, strict=True)]
        to = {at: (at[0] - first[0], at[1] - first[1], at[2] - first[2]) for at in self.things}
        return Drawing(
            {to[at]: thing for at, thing in self.things.items()},
            {to[at]: name for at, name in self.names.items() if at in to},
            {to[at]: start for at, start in self.starts.items() if at in to},
            size=self.extent,
        )

    @cached_property
    def has_pistons(self) -> bool:
        """Whether something in it moves a head out."""
        return any(thing.pushes for thing in self.things.values())

    def without(self, gone: At) -> Drawing:
        """The drawing with air at one place."""
        things = {at: thing for at, thing in self.things.items() if at != gone}
        return replace(self, things=things, names={at: name for at, name in self.names.items() if at != gone})

    def moved(self, at: At, to: At) -> Drawing:
        """The drawing with what stands at one place at another, which was free."""

        things = {to if each == at else each: thing for each, thing in self.things.items()}
        names = {to if each == at else each: name for each, name in self.names.items()}
        starts = {to if each == at else each: start for each, start in self.starts.items()}
        spans = {to if each == at else each: span for each, span in self.spans.items()}
        return replace(self, things=things, names=names, starts=starts, spans=spans)

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
