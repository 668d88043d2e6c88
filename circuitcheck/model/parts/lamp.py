"""The lamp: on at once, dark 2t after its power goes; also a solid block (rule O2)."""

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
from circuitcheck.model.parts.kinds import Kind, Request, from_option
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import ALL_ELSE, wait_of
from circuitcheck.model.rules import FULL_POWER, RuleSet

GOES_DARK_AFTER = 2 * GAME_TICKS_PER_TICK
WAIT = wait_of(GOES_DARK_AFTER, ALL_ELSE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lamp(Part):
    feeds: tuple[str, ...]
    word: ClassVar[str] = "lamp"
    powered_by: ClassVar[tuple[str, ...]] = ("feeds",)
    conducts: ClassVar[Conducts] = Conducts.BLOCK
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = True
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = True
    light: ClassVar[int] = 15

    @property
    def late(self) -> int:
        return GOES_DARK_AFTER

    def ports(self) -> tuple[Port, ...]:
        return (Port("power", self.feeds),)

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return LampDevice(self, index, ports)

    faults = mistakes = no_changes
    adjustments = no_adjustments


class LampDevice(Device):
    """Its level is whether it is lit; what it passes on as a block is its power, not its light."""

    __slots__ = ()
    zero_delay = True
    waits = frozenset({WAIT})

    def on_input_change(self, simulator: SimulatorView) -> int:
        index = self.index
        lit = simulator.levels[index]
        if simulator.readings[self.ports[0]]:
            if not lit:
                simulator.set_level(index, FULL_POWER)
            return 0
        return WAIT if lit and not simulator.waiting[index] else 0

    def act(self, simulator: SimulatorView) -> int:
        return FULL_POWER if simulator.readings[self.ports[0]] else 0

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        port = self.ports[0]
        return (FULL_POWER if low[port] else 0, FULL_POWER if high[port] else 0)

    def reason(self, level: int) -> Reason:
        return Reason("O2", "the lamp is powered" if level else "the lamp's power is gone")


def build(request: Request) -> tuple[Part, ...]:
    return (Lamp(name=request.name, span=request.span, feeds=request.feeds("from")),)


BLOCK_TYPE = BlockType(
    "lamp",
    "a lamp, which is a solid block",
    solid=True,
    facing=Facing.NONE,
    held=(),
    lies=False,
    light="solid",
    wiring=Wiring.PART,
    directed=False,
    gives=Gives.NOTHING,
    joins=Joins.NONE,
    tells=Tells.BESIDE,
    pushed=Pushed.MOVES,
    placed=Placed.BY_ITSELF,
    ground=Ground.SOLID,
    shows=True,
    reads=(Read("from", Reads.AS_BLOCK, "power"),),
    form=Form.COLUMN,
)
KIND = Kind(
    "lamp",
    "lit at once, dark 2t after its power first goes; a solid block as well",
    (from_option("what powers it"),),
    build,
    (Lamp(name="x", span=NOWHERE, feeds=("y",)),),
    block_type=BLOCK_TYPE,
)
