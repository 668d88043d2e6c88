"""The button: gives a pulse of fixed length when pressed (rule O1)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.block_type import BlockType, Form, Gives, Ground, Joins, Placed, Pushed, Tells, Wiring
from circuitcheck.model.directions import ABOVE, AROUND, BELOW, Facing
from circuitcheck.model.duration import GAME_TICKS_PER_TICK
from circuitcheck.model.parts.base import Adjustment, Conducts, Device, Part, Reason, no_changes
from circuitcheck.model.parts.kinds import Kind, Option, Request, Takes
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import ALL_ELSE, wait_of
from circuitcheck.model.rules import FULL_POWER, RuleSet

SHORT_HOLD = 10 * GAME_TICKS_PER_TICK
LONG_HOLD = 15 * GAME_TICKS_PER_TICK


@dataclass(frozen=True, slots=True, kw_only=True)
class Button(Part):
    hold: int
    """How long it stays pressed, in gt."""
    word: ClassVar[str] = "button"
    verbs: ClassVar[frozenset[str]] = frozenset({"press"})
    powered_by: ClassVar[tuple[str, ...]] = ()
    conducts: ClassVar[Conducts] = Conducts.LEVEL
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = False
    light: ClassVar[int] = 0

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return ButtonDevice(self, index, self.hold)

    faults = mistakes = no_changes

    def adjustments(self) -> tuple[Adjustment, ...]:
        return (Adjustment("hold", self.hold, (SHORT_HOLD, LONG_HOLD), timed=True, slows=False),)


class ButtonDevice(Device):
    __slots__ = ("hold",)

    def __init__(self, part: Part, index: int, hold: int) -> None:
        super().__init__(part, index, ())
        self.hold = hold

    def drive(self, simulator: SimulatorView, verb: str, level: int) -> None:
        if simulator.waiting[self.index]:
            return  # a press while it is held is ignored
        simulator.begin(self.index, wait_of(self.hold, ALL_ELSE))
        simulator.set_level(self.index, FULL_POWER)

    def act(self, simulator: SimulatorView) -> int:
        return 0

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        return frozenset({wait_of(self.hold, ALL_ELSE)})

    def reason(self, level: int) -> Reason:
        return Reason("O1", "the button is pressed" if level else "the button's hold is over")


def build(request: Request) -> tuple[Part, ...]:
    if len(request.flags) != 1:
        request.fail("CKT303", "a button is either short or long", "write 'short' (holds 10t) or 'long' (holds 15t)")
    hold = LONG_HOLD if "long" in request.flags else SHORT_HOLD
    return (Button(name=request.name, span=request.span, hold=hold),)


BLOCK_TYPE = BlockType(
    "button",
    "a button",
    solid=False,
    facing=Facing.NONE,
    held=(BELOW, *AROUND, ABOVE),
    lies=False,
    light="air",
    wiring=Wiring.PART,
    directed=False,
    gives=Gives.AROUND_AND_HOLDER,
    joins=Joins.ALL,
    tells=Tells.HOLDER,
    pushed=Pushed.BREAKS,
    placed=Placed.BY_HAND,
    ground=Ground.OPEN,
    shows=False,
    reads=(),
    form=Form.KNOB,
)
KIND = Kind(
    "button",
    "gives 15 for a fixed time when it is pressed",
    (
        Option("short", Takes.FLAG, "it holds 10t"),
        Option("long", Takes.FLAG, "it holds 15t"),
    ),
    build,
    (Button(name="x", span=NOWHERE, hold=SHORT_HOLD),),
    block_type=BLOCK_TYPE,
)
