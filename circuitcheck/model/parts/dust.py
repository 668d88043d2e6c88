"""Dust: a line that loses one level a dust, joined both ways to every line it names (rules P2, P3, P5)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from circuitcheck.diagnostics import NOWHERE, Span
from circuitcheck.model.block_type import BlockType, Form, Gives, Ground, Joins, Placed, Pushed, Tells, Wiring
from circuitcheck.model.directions import Facing
from circuitcheck.model.parts.base import Adjustment, Change, Conducts, Part, Port, no_adjustments, no_changes
from circuitcheck.model.parts.kinds import Kind, Option, Request, Takes, from_option
from circuitcheck.model.rules import CARRIES


@dataclass(frozen=True, slots=True, kw_only=True)
class Dust(Part):
    """A line of `length` dust. It is fed at its first dust and read at its last.

    A source that is itself dust touches the first dust with its own last one: the two are one wire.
    """

    feeds: tuple[str, ...]
    length: int
    word: ClassVar[str] = "dust"
    powered_by: ClassVar[tuple[str, ...]] = ("feeds",)
    conducts: ClassVar[Conducts] = Conducts.LINE
    behaves: ClassVar[bool] = False
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = False
    light: ClassVar[int] = 0

    def ports(self) -> tuple[Port, ...]:
        return (Port("start", self.feeds),)

    @property
    def dust(self) -> int:
        return self.length

    def faults(self) -> tuple[Change, ...]:
        return (Change(f"the line '{self.name}' is one dust longer", replace(self, length=self.length + 1)),)

    def mistakes(self) -> tuple[Change, ...]:
        words = f"the line '{self.name}' is too long: its signal dies on the way (P2)"
        return (Change(words, replace(self, length=self.length + CARRIES), likely=6),)

    def adjustments(self) -> tuple[Adjustment, ...]:
        if self.length == 1 and len(self.feeds) != 1:
            return ()  # one dust where several things meet
        return (Adjustment("length", self.length, tuple(range(1, CARRIES + 2)), timed=False, slows=False),)


@dataclass(frozen=True, slots=True, kw_only=True)
class Run(Part):
    """Dust as it is read at one place of a drawing: what reaches it, and how many levels are lost on the way.

    Which ways power takes in space is computed once (`circuitcheck.space`), so that a run needs no length.
    """

    feeds: tuple[str, ...]
    lost: tuple[int, ...]
    """For each of `feeds`, the levels lost before it comes here."""
    word: ClassVar[str] = "dust"
    powered_by: ClassVar[tuple[str, ...]] = ("feeds",)
    conducts: ClassVar[Conducts] = Conducts.RUN
    behaves: ClassVar[bool] = False
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = False
    light: ClassVar[int] = 0

    def ports(self) -> tuple[Port, ...]:
        return (Port("start", self.feeds),)

    def rewired(self, old: str, new: str | None) -> Part:
        ways = zip(self.feeds, self.lost, strict=True)
        kept = [(name if name != old else new, lost) for name, lost in ways if name != old or new is not None]
        return replace(self, feeds=tuple(str(name) for name, _ in kept), lost=tuple(lost for _, lost in kept))

    @property
    def losses(self) -> Mapping[str, int]:
        return dict(zip(self.feeds, self.lost, strict=True))

    faults = mistakes = no_changes
    adjustments = no_adjustments


def build_line(request: Request) -> tuple[Part, ...]:
    length = request.numbers["length"]
    return (Dust(name=request.name, span=request.span, feeds=request.feeds("from"), length=length),)


def build_junction(request: Request) -> tuple[Part, ...]:
    return (Dust(name=request.name, span=request.span, feeds=request.feeds("joins"), length=1),)


def run_of_dust(name: str, span: Span, comes: Mapping[str, int]) -> Part:
    """Dust of a drawing as it is read at one place."""
    return Run(name=name, span=span, feeds=tuple(comes), lost=tuple(comes.values()))


BLOCK_TYPE = BlockType(
    "dust",
    "dust; as a dot, it points nowhere while it is alone",
    solid=False,
    facing=Facing.NONE,
    held=(),
    lies=True,
    light="dust",
    wiring=Wiring.DUST,
    directed=False,
    gives=Gives.NOTHING,
    joins=Joins.NONE,
    tells=Tells.TWO_STEPS,
    pushed=Pushed.BREAKS,
    placed=Placed.JOINING,
    ground=Ground.OPEN,
    shows=False,
    reads=(),
    shapes=("dot",),
    counted=False,
    as_wiring=run_of_dust,
    form=Form.TRACK,
)
LINE = Kind(
    "dust",
    "a line of dust: fed at its first dust, read at its last",
    (
        from_option("what stands beside its first dust; another line there is joined both ways"),
        Option("length", Takes.COUNT, "how many dust", default=1, most=10_000),
    ),
    build_line,
    (Dust(name="x", span=NOWHERE, feeds=("y",), length=1), Run(name="x", span=NOWHERE, feeds=("y",), lost=(1,))),
    block_type=BLOCK_TYPE,
)
JUNCTION = Kind(
    "junction",
    "one dust where lines and sources meet, power running both ways",
    (Option("joins", Takes.SOURCES, "the lines and sources that meet", required=True),),
    build_junction,
    (Dust(name="x", span=NOWHERE, feeds=("y",), length=1),),
    block_type=None,
)
