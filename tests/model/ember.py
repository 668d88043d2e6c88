"""A kind of part made up for the tests: an ember, which is lit at once and glows for long after its power has gone.

It stands in this file alone, as a kind does that somebody adds, and names things otherwise than the lamp it is like.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.block_type import BlockType, Gives, Ground, Joins, Placed, Pushed, Read, Reads, Tells, Wiring
from circuitcheck.model.directions import Facing
from circuitcheck.model.duration import show
from circuitcheck.model.parts.base import Adjustment, Change, Conducts, Device, Part, Port, Reason, no_changes
from circuitcheck.model.parts.kinds import Kind, Option, Request, Takes, from_option
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import ALL_ELSE, wait_of
from circuitcheck.model.rules import FULL_POWER, RuleSet

GLOWS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Ember(Part):
    heated_by: tuple[str, ...]
    glows: int
    word: ClassVar[str] = "ember"
    powered_by: ClassVar[tuple[str, ...]] = ("heated_by",)
    conducts: ClassVar[Conducts] = Conducts.BLOCK
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = True
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = True
    light: ClassVar[int] = 12

    @property
    def late(self) -> int:
        return self.glows

    def ports(self) -> tuple[Port, ...]:
        return (Port("heat", self.heated_by),)

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return EmberDevice(self, index, ports, self.glows)

    mistakes = no_changes

    def faults(self) -> tuple[Change, ...]:
        return (Change(f"the ember '{self.name}' glows twice as long", replace(self, glows=2 * self.glows)),)

    def adjustments(self) -> tuple[Adjustment, ...]:
        return (Adjustment("glows", self.glows, (4, 8, 12), timed=True, slows=False),)


class EmberDevice(Device):
    __slots__ = ("wait",)
    zero_delay = True

    def __init__(self, part: Part, index: int, ports: Sequence[int], glows: int) -> None:
        super().__init__(part, index, ports)
        self.wait = wait_of(glows, ALL_ELSE)

    def on_input_change(self, simulator: SimulatorView) -> int:
        lit = simulator.levels[self.index]
        if simulator.readings[self.ports[0]]:
            if not lit:
                simulator.set_level(self.index, FULL_POWER)
            return 0
        return self.wait if lit and not simulator.waiting[self.index] else 0

    def act(self, simulator: SimulatorView) -> int:
        return FULL_POWER if simulator.readings[self.ports[0]] else 0

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        port = self.ports[0]
        return (FULL_POWER if low[port] else 0, FULL_POWER if high[port] else 0)

    def waits_on_change(self, rising: bool | None) -> frozenset[int]:
        return frozenset({self.wait})

    def reason(self, level: int) -> Reason:
        return Reason("O2", "the ember is heated" if level else f"the ember has glowed for {show(self.wait >> 3)}")


def build(request: Request) -> tuple[Part, ...]:
    return (
        Ember(name=request.name, span=request.span, heated_by=request.feeds("from"), glows=request.numbers["glows"]),
    )


BLOCK_TYPE = BlockType(
    "ember",
    "an ember, which is a solid block",
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
    reads=(Read("from", Reads.AS_BLOCK, "heat"),),
    synonyms=("coal",),
)
KIND = Kind(
    "ember",
    "lit at once, glows on after its power has gone; a solid block as well",
    (from_option("what heats it"), Option("glows", Takes.DURATION, "how long it glows on", default=GLOWS)),
    build,
    (Ember(name="x", span=NOWHERE, heated_by=("y",), glows=GLOWS),),
    block_type=BLOCK_TYPE,
)
