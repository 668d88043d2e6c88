"""The lever: on or off until it is thrown back (rule O1)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.block_type import BlockType, Form, Gives, Ground, Joins, Placed, Pushed, Tells, Wiring
from circuitcheck.model.directions import ABOVE, AROUND, BELOW, Facing
from circuitcheck.model.parts.base import Conducts, Device, Part, Reason, no_adjustments, no_changes
from circuitcheck.model.parts.kinds import Kind, Request, start_option
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.rules import FULL_POWER, RuleSet


@dataclass(frozen=True, slots=True, kw_only=True)
class Lever(Part):
    word: ClassVar[str] = "lever"
    verbs: ClassVar[frozenset[str]] = frozenset({"on", "off", "throw"})
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
        return LeverDevice(self, index, ports)

    faults = mistakes = no_changes
    adjustments = no_adjustments


class LeverDevice(Device):
    __slots__ = ()

    def drive(self, simulator: SimulatorView, verb: str, level: int) -> None:
        before = simulator.levels[self.index]
        after = {"on": FULL_POWER, "off": 0, "throw": FULL_POWER - before}[verb]
        if after != before:
            simulator.set_level(self.index, after)

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)

    def reason(self, level: int) -> Reason:
        return Reason("O1", "the lever is thrown")


def build(request: Request) -> tuple[Part, ...]:
    return (Lever(name=request.name, span=request.span, start=request.start),)


BLOCK_TYPE = BlockType(
    "lever",
    "a lever",
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
    form=Form.HANDLE,
)
KIND = Kind(
    "lever",
    "gives 15 while it is on; stays until it is thrown back",
    (start_option(),),
    build,
    (Lever(name="x", span=NOWHERE),),
    block_type=BLOCK_TYPE,
)
