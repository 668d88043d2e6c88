"""What a thing is that can stand in a drawing: all that the rules of space ask of it, answered by its kind.

A question has no answer to fall back on where a wrong one would pass in silence: it stays `OPEN` until it is answered,
and the table of kinds refuses a kind that leaves one open (`parts.questions`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from enum import Enum
from typing import TYPE_CHECKING, Any, NamedTuple

from circuitcheck.diagnostics import Span
from circuitcheck.model.directions import Direction, Facing

if TYPE_CHECKING:
    from circuitcheck.model.parts.base import Part


class Open(Enum):
    """The answer to a question that nobody has answered."""

    OPEN = "no answer"


OPEN = Open.OPEN


def asked(question: str, sort: type = object) -> Any:
    """A field that must be answered, by something of a sort; the question is named where it is left open."""
    return field(default=OPEN, compare=False, metadata={"asked": question, "sort": sort})


class Wiring(Enum):
    """What a thing is to the circuit that a drawing comes to."""

    PART = "a part with a state of its own"
    DUST = "dust, which carries power along"
    BLOCK = "a block that power passes through"
    NOTHING = "nothing that power can reach"


class Gives(Enum):
    """What a thing gives its level to, beside dust (rules W5 to W7)."""

    FRONT = "the place that it faces, be there a part or a block"
    AROUND_AND_ABOVE = "the parts around it, and the block above it"
    AROUND_AND_HOLDER = "the parts around it, and the block that holds it"
    NOTHING = "nothing, but for what it passes on as a block or as dust"


class Joins(Enum):
    """On which of its sides dust beside a thing points into it (rule W3)."""

    ALL = "on each"
    ENDS = "in front of it and behind it"
    FRONT = "in front of it"
    NONE = "on none of them"


class Tells(Enum):
    """Which places are updated when a thing changes its state (rule W10)."""

    TWO_STEPS = "all that two steps reach"
    HOLDER = "the six beside it, and the six beside the block that holds it"
    FRONT = "the one that it faces, and the six beside that"
    STROKE = "the six beside it, beside its head, and beside what it moves"
    BESIDE = "the six beside it"
    NOBODY = "none: it has no state"


class Pushed(Enum):
    """What becomes of a thing that a piston pushes (rule M1)."""

    MOVES = "it moves"
    BREAKS = "it breaks"
    GIVES_WAY = "it gives way, and does not count"


class Placed(Enum):
    """When a thing is placed within a stage of a build; in this order."""

    BY_ITSELF = "it stands by itself"
    HELD = "it needs what holds it or what it lies on"
    JOINING = "it joins what stands"
    BY_HAND = "it is worked by hand, once all stands"
    FLOWING = "it flows"


class Ground(Enum):
    """What a thing looks like, for whoever draws it: beside its letter, and the way it faces or is held."""

    SOLID = "a solid block"
    CLEAR = "a clear block"
    SOIL = "soil"
    WATER = "water"
    LEAVES = "leaves"
    OPEN = "something small on open ground"


class Form(Enum):
    """The shape that stands for a thing where a build is drawn in three dimensions."""

    BLOCK = "a cube"
    CLEAR = "a cube that can be seen through"
    HALF = "the lower or upper half of a cube"
    SHOULDERS = "a cube with slanted shoulders"
    COLUMN = "a column with eight sides"
    CUT_CORNERS = "a cube with its corners cut off"
    POOL = "a pool that does not reach the top of its place"
    TRACK = "a low track with an arm on each side to which it points, up a step as well"
    ONE_ARROW = "a low slab with an arrow"
    TWO_ARROWS = "a low slab with two arrows side by side"
    HORN = "a horn, wide behind and narrow in front"
    RAM = "a barrel with a plate in front"
    PLATE = "a plate in front of a rod"
    POLE = "a thin pole with a cap"
    HANDLE = "a foot with a slanted handle"
    KNOB = "a flat knob"
    DIAMOND = "a diamond on a stem"
    WEDGE = "a small block with a point in front"
    LUMP = "a small block"


class Reads(Enum):
    """What the places around a thing give to an option, where it is read out of a drawing (rules W4 to W9, X3)."""

    HOLDER = "what powers the block that holds it"
    AS_BLOCK = "what gives to it, and what powers it as a block"
    BESIDE = "what gives to it on each side but its front"
    BEHIND = "what gives to it from behind"
    SIDES = "what points into its sides, and dust there"
    LOCKS = "what points into its sides and can lock it"
    OVERHEAD = "what would power the place above it: it looks at that whenever it gets an update"
    WATCHED = "what can be seen to change behind it"
    GROWN = "the cells that reach it"
    LIGHT = "the place above it, whose light falls on it"


class Read(NamedTuple):
    """How one option of a thing is read out of a drawing, and to which port of the part that leads."""

    option: str
    how: Reads
    port: str = ""
    """Empty for what leads to none: a place, cells that grow."""


FED = frozenset({Reads.HOLDER, Reads.AS_BLOCK, Reads.BESIDE, Reads.BEHIND})
"""What brings a thing the power without which it does nothing, or always the same."""

BY_POWER = frozenset(Reads) - {Reads.WATCHED, Reads.GROWN, Reads.LIGHT}
"""What is given by power, and by nothing else."""

AsWiring = Callable[[str, Span, Mapping[str, int]], "Part"]
"""Makes wiring a part: its name, where it stands in the file, and what comes to it with the levels lost on the way."""


@dataclass(frozen=True, slots=True)
class BlockType:
    """What a kind of thing is, whatever is wired to it (rule W1). Two are the same if their words are."""

    word: str
    meaning: str = field(compare=False)
    solid: bool = asked(
        "whether it is a solid block: it can be powered, carries dust and torches, and stops light", bool
    )
    facing: Facing = asked("which way it may face", Facing)
    held: tuple[Direction, ...] = asked(
        "on which sides it may be held, the usual one first; none if it needs no hold", tuple
    )
    lies: bool = asked("whether it lies on what is under it", bool)
    light: str = asked("as which thing light meets it (rules G2, G3)", str)
    wiring: Wiring = asked("what it is to the circuit", Wiring)
    directed: bool = asked("whether it points, so that it can lock what it points into", bool)
    gives: Gives = asked("what it gives to", Gives)
    joins: Joins = asked("where dust beside it points into it", Joins)
    tells: Tells = asked("what its change updates", Tells)
    pushed: Pushed = asked("what becomes of it when a piston pushes it", Pushed)
    placed: Placed = asked("when it is placed within a stage", Placed)
    ground: Ground = asked("what it looks like", Ground)
    shows: bool = asked("whether people see of it whether it is on", bool)
    reads: tuple[Read, ...] = asked("which of its options come from which places around it", tuple)
    shapes: tuple[str, ...] = field(default=(), compare=False)
    """The words of which one may say its shape."""
    ends: tuple[str, ...] = field(default=(), compare=False)
    """At which ends of its place it may be, if it fills only half of one."""
    called: str = field(default="", compare=False)
    """What people call it, where that is not its word."""
    counted: bool = field(default=True, compare=False)
    """Whether people count it: a torch, two torches; but dust, and water."""
    synonyms: tuple[str, ...] = field(default=(), compare=False)
    """Other words that one may reach for."""
    as_wiring: AsWiring | None = field(default=None, compare=False)
    """How it is made a part, of dust and of blocks that power passes through."""
    form: Form | None = field(default=None, compare=False)
    """Its own shape in three dimensions; None for the one that its other answers lead to."""

    @property
    def is_fed(self) -> bool:
        """Whether it does nothing, or always the same, while nothing feeds it."""
        return any(each.how in FED for each in self.reads)

    @property
    def drawn_as(self) -> Form:
        """Its shape in three dimensions."""
        if self.form is not None:
            return self.form
        if self.solid:
            return Form.COLUMN if self.shows else Form.BLOCK
        if self.lies and self.facing is Facing.AROUND:
            return Form.ONE_ARROW
        if self.facing is not Facing.NONE:
            return Form.WEDGE
        return Form.POLE if self.held else Form.LUMP


def answer_types() -> dict[str, type]:
    """Of what sort the answer to each question is."""
    return {each.name: each.metadata["sort"] for each in fields(BlockType) if "sort" in each.metadata}


def unanswered(block_type: BlockType) -> dict[str, str]:
    """The questions that a block type leaves open: each by the name under which it is answered."""
    return {each.name: each.metadata["asked"] for each in fields(block_type) if getattr(block_type, each.name) is OPEN}


def inert(
    word: str,
    meaning: str,
    light: str,
    ground: Ground,
    *,
    pushed: Pushed = Pushed.BREAKS,
    placed: Placed = Placed.BY_ITSELF,
    held: tuple[Direction, ...] = (),
    ends: tuple[str, ...] = (),
    called: str = "",
    counted: bool = True,
    synonyms: tuple[str, ...] = (),
    form: Form | None = None,
) -> BlockType:
    """Something that is no part: no power comes to it, and it gives none."""
    return BlockType(
        word,
        meaning,
        solid=False,
        facing=Facing.NONE,
        held=held,
        lies=False,
        light=light,
        wiring=Wiring.NOTHING,
        directed=False,
        gives=Gives.NOTHING,
        joins=Joins.NONE,
        tells=Tells.NOBODY,
        pushed=pushed,
        placed=placed,
        ground=ground,
        shows=False,
        reads=(),
        ends=ends,
        called=called,
        counted=counted,
        synonyms=synonyms,
        form=form,
    )
