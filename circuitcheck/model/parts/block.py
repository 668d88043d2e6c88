"""The solid block: strongly powered by parts, weakly by dust, never by a block (rule P4)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.diagnostics import NOWHERE, Span
from circuitcheck.model.block_type import BlockType, Form, Gives, Ground, Joins, Placed, Pushed, Tells, Wiring
from circuitcheck.model.directions import Facing
from circuitcheck.model.parts.base import Conducts, Part, Port, no_adjustments, no_changes
from circuitcheck.model.parts.kinds import Kind, Request, from_option


@dataclass(frozen=True, slots=True, kw_only=True)
class Block(Part):
    """A solid block. What feeds it decides its strength: dust powers it weakly, everything else strongly."""

    feeds: tuple[str, ...]
    word: ClassVar[str] = "block"
    powered_by: ClassVar[tuple[str, ...]] = ("feeds",)
    conducts: ClassVar[Conducts] = Conducts.BLOCK
    behaves: ClassVar[bool] = False
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = False
    light: ClassVar[int] = 0

    def ports(self) -> tuple[Port, ...]:
        return (Port("power", self.feeds),)

    faults = mistakes = no_changes
    adjustments = no_adjustments


def build(request: Request) -> tuple[Part, ...]:
    return (Block(name=request.name, span=request.span, feeds=request.feeds("from")),)


def powered_block(name: str, span: Span, comes: Mapping[str, int]) -> Part:
    """A block of a drawing, through which the power of what comes to it passes."""
    return Block(name=name, span=span, feeds=tuple(comes))


BLOCK_TYPE = BlockType(
    "block",
    "a solid block; one that is fixed can't be moved",
    solid=True,
    facing=Facing.NONE,
    held=(),
    lies=False,
    light="solid",
    wiring=Wiring.BLOCK,
    directed=False,
    gives=Gives.NOTHING,
    joins=Joins.NONE,
    tells=Tells.NOBODY,
    pushed=Pushed.MOVES,
    placed=Placed.BY_ITSELF,
    ground=Ground.SOLID,
    shows=False,
    reads=(),
    shapes=("fixed",),
    called="solid block",
    synonyms=("solid", "stone"),
    as_wiring=powered_block,
    form=Form.BLOCK,
)
KIND = Kind(
    "block",
    "a solid block: passes the power of parts to all beside it, that of dust to all but dust",
    (from_option("what powers it: a torch under it, a repeater into it, a lever on it, dust on it"),),
    build,
    (Block(name="x", span=NOWHERE, feeds=("y",)),),
    block_type=BLOCK_TYPE,
)
