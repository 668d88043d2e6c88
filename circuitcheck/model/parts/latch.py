"""The latches, each out of real parts: set–reset of two torches (L1), data of a locked repeater (R5)."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from circuitcheck.diagnostics import NOWHERE, Span
from circuitcheck.model.duration import GAME_TICKS_PER_TICK
from circuitcheck.model.parts import base
from circuitcheck.model.parts.base import Conducts, Part, Port, no_adjustments, no_changes
from circuitcheck.model.parts.kinds import Kind, Option, Request, Takes, start_option
from circuitcheck.model.parts.repeater import Repeater
from circuitcheck.model.parts.torch import Torch
from circuitcheck.model.rules import FULL_POWER


@dataclass(frozen=True, slots=True, kw_only=True)
class Latch(Part):
    """The name and the two inputs of a set–reset latch; its two torches are parts of their own.

    The latch side is the torch of the latch's own name, the other is `NAME.inverse`.
    """

    set_by: tuple[str, ...]
    reset_by: tuple[str, ...]
    word: ClassVar[str] = "latch"
    powered_by: ClassVar[tuple[str, ...]] = ("set_by", "reset_by")
    conducts: ClassVar[Conducts] = Conducts.LEVEL
    behaves: ClassVar[bool] = False
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = True
    light: ClassVar[int] = 0

    @property
    def inverse(self) -> str:
        return f"{self.name}.inverse"

    @property
    def latch(self) -> base.Latch:
        return self

    def crossed(self, side: Part, inverse: Part) -> dict[Part, Part]:
        """Its two torches and itself, each torch powered by what should power the other."""
        return {
            side: replace(side, feeds=(*self.set_by, self.inverse)),  # type: ignore[call-arg]
            inverse: replace(inverse, feeds=(*self.reset_by, self.name)),  # type: ignore[call-arg]
            self: replace(self, set_by=self.reset_by, reset_by=self.set_by),
        }

    def flipped(self, side: Part, inverse: Part) -> dict[Part, Part]:
        """Its two torches and itself, started the other way, where a start is said."""
        if self.start is None:
            return {}
        start, other = (0, FULL_POWER) if self.start else (FULL_POWER, 0)
        return {
            side: replace(side, start=start),
            inverse: replace(inverse, start=other),
            self: replace(self, start=start),
        }

    def ports(self) -> tuple[Port, ...]:
        return (Port("set", self.set_by), Port("reset", self.reset_by))

    faults = mistakes = no_changes
    adjustments = no_adjustments


def _build_set_reset(request: Request) -> tuple[Part, ...]:
    name, span = request.name, request.span
    set_by, reset_by = request.feeds("set"), request.feeds("reset")
    start = request.start
    inverse_start = None if start is None else FULL_POWER - start
    latch = Latch(name=name, span=span, set_by=set_by, reset_by=reset_by, start=start)
    return (
        Torch(name=name, span=span, start=start, feeds=(*reset_by, latch.inverse)),
        Torch(name=latch.inverse, span=span, start=inverse_start, feeds=(*set_by, name)),
        latch,
    )


def _build_data(request: Request, span: Span) -> tuple[Part, ...]:
    lock = f"{request.name}.lock"
    delay = GAME_TICKS_PER_TICK
    return (
        Repeater(name=lock, span=span, feeds=request.feeds("locked"), delay=delay),
        Repeater(
            name=request.name,
            span=span,
            start=request.start,
            feeds=request.feeds("data"),
            delay=delay,
            locks=(lock,),
        ),
    )


def build(request: Request) -> tuple[Part, ...]:
    given = {"set", "reset", "data", "locked"} & set(request.sources)
    if given == {"set", "reset"}:
        return _build_set_reset(request)
    if given == {"data", "locked"}:
        return _build_data(request, request.span)
    request.fail(
        "CKT303",
        "a latch needs either both 'set' and 'reset', or both 'data' and 'locked by'",
        "write for example: latch gate set a reset b starts reset; or: latch kept data a locked by b starts off",
    )
    return ()


KIND = Kind(
    "latch",
    "remembers: set and reset (two torches, NAME and NAME.inverse), or data while unlocked (a locked repeater)",
    (
        Option("set", Takes.SOURCES, "what turns the latch side on"),
        Option("reset", Takes.SOURCES, "what turns the latch side off"),
        Option("data", Takes.SOURCES, "what a data latch follows while it is not locked"),
        Option("locked", Takes.SOURCES, "what locks a data latch, through a 1t repeater of its own, NAME.lock"),
        start_option("its state at the start", set=FULL_POWER, reset=0, on=FULL_POWER, off=0),
    ),
    build,
    (Latch(name="x", span=NOWHERE, set_by=("y",), reset_by=("z",)),),
    members=lambda words: ("lock",) if "data" in words else ("inverse",),
    block_type=None,
)
