"""The comparator: passes or subtracts levels, 1t late (rule K1)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.block_type import (
    BlockType,
    Form,
    Gives,
    Ground,
    Joins,
    Placed,
    Pushed,
    Read,
    Reads,
    Tells,
    Wiring,
)
from circuitcheck.model.directions import Facing
from circuitcheck.model.duration import GAME_TICKS_PER_TICK
from circuitcheck.model.parts.base import Conducts, Device, Part, Port, Reason, no_adjustments, no_changes
from circuitcheck.model.parts.kinds import Kind, Option, Request, Takes, from_option, start_option
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import ALL_ELSE, GOING_ON, wait_of
from circuitcheck.model.rules import RuleSet

DELAY = GAME_TICKS_PER_TICK


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparator(Part):
    feeds: tuple[str, ...]
    sides: tuple[str, ...]
    subtracts: bool
    word: ClassVar[str] = "comparator"
    powered_by: ClassVar[tuple[str, ...]] = ("feeds", "sides")
    conducts: ClassVar[Conducts] = Conducts.LEVEL
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = True
    measures: ClassVar[bool] = True
    directed: ClassVar[bool] = True
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = False
    light: ClassVar[int] = 0

    @property
    def lag(self) -> int:
        return DELAY

    def ports(self) -> tuple[Port, ...]:
        return self.all_ports() if self.sides else self.all_ports()[:1]

    def all_ports(self) -> tuple[Port, ...]:
        return (Port("back", self.feeds, boolean=False), Port("side", self.sides, boolean=False, inverts=True))

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return ComparatorDevice(self, index, ports, self.subtracts, straight)

    faults = mistakes = no_changes
    adjustments = no_adjustments


class ComparatorDevice(Device):
    __slots__ = ("back", "side", "subtracts", "wait")

    def __init__(self, part: Part, index: int, ports: Sequence[int], subtracts: bool, straight: bool) -> None:
        super().__init__(part, index, ports)
        self.back = ports[0]
        self.side = ports[1] if len(ports) > 1 else -1
        self.subtracts = subtracts
        self.wait = wait_of(DELAY, GOING_ON if straight else ALL_ELSE)

    def _value(self, back: int, side: int) -> int:
        if self.subtracts:
            return max(back - side, 0)
        return back if back >= side else 0

    def _says(self, simulator: SimulatorView) -> int:
        side = simulator.readings[self.side] if self.side >= 0 else 0
        return self._value(simulator.readings[self.back], side)

    def on_input_change(self, simulator: SimulatorView) -> int:
        index = self.index
        if self._says(simulator) != simulator.levels[index]:
            return 0 if simulator.waiting[index] else self.wait
        if simulator.waiting[index] and simulator.holds(index, self.wait):
            simulator.note(index, "V3")
        return 0

    def act(self, simulator: SimulatorView) -> int:
        value = self._says(simulator)
        if value == simulator.levels[self.index]:
            simulator.note(self.index, "K1")
        return value

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        least_side, most_side = (low[self.side], high[self.side]) if self.side >= 0 else (0, 0)
        least_back, most_back = low[self.back], high[self.back]
        # Both modes rise with the back and fall with the side.
        return (self._value(least_back, most_side), self._value(most_back, least_side))

    def waits_on_change(self, rising: bool | None) -> frozenset[int]:
        return frozenset({self.wait})

    def reason(self, level: int) -> Reason:
        return Reason("K1", f"its inputs make {level}")


def build(request: Request) -> tuple[Part, ...]:
    if len(request.flags) > 1:
        request.fail("CKT303", "a comparator either compares or subtracts", "keep one of 'compare' and 'subtract'")
    return (
        Comparator(
            name=request.name,
            span=request.span,
            start=request.start,
            feeds=request.feeds("from"),
            sides=request.feeds("side"),
            subtracts="subtract" in request.flags,
        ),
    )


BLOCK_TYPE = BlockType(
    "comparator",
    "a comparator, giving the way it faces",
    solid=False,
    facing=Facing.AROUND,
    held=(),
    lies=True,
    light="air",
    wiring=Wiring.PART,
    directed=True,
    gives=Gives.FRONT,
    joins=Joins.ALL,
    tells=Tells.FRONT,
    pushed=Pushed.BREAKS,
    placed=Placed.HELD,
    ground=Ground.OPEN,
    shows=False,
    reads=(Read("from", Reads.BEHIND, "back"), Read("side", Reads.SIDES, "side")),
    form=Form.TWO_ARROWS,
)
KIND = Kind(
    "comparator",
    "gives its back level if no side is stronger (compare) or less the stronger side (subtract)",
    (
        from_option("what stands behind it"),
        Option("side", Takes.SOURCES, "what stands at its sides"),
        Option("compare", Takes.FLAG, "compare mode, the usual one"),
        Option("subtract", Takes.FLAG, "subtract mode"),
        start_option("its level at the start", on=15, off=0, **{str(level): level for level in range(16)}),
    ),
    build,
    (Comparator(name="x", span=NOWHERE, feeds=("y",), sides=("z",), subtracts=False),),
    block_type=BLOCK_TYPE,
)
