"""The piston: it pushes a block out, and a sticky one pulls it back (rule O3)."""

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
from circuitcheck.model.parts.base import Conducts, Device, Part, Port, Reason, no_adjustments, no_changes
from circuitcheck.model.parts.drawn_piston import DrawnPiston
from circuitcheck.model.parts.kinds import Kind, Option, Request, Takes, from_option, start_option
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.stuck_piston import TRAVEL, StuckPiston, heard, travel_option
from circuitcheck.model.parts.waits import ALL_ELSE, CALLED, wait_of
from circuitcheck.model.rules import FULL_POWER, RuleSet

STILL, CALLED_TO_MOVE, MOVING, CUT_SHORT, CALLED_TO_LET_GO, LETTING_GO = range(6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Piston(Part):
    """A piston. Its level says whether it is out; where its block is, its `PushedBlock` says.

    In a drawing it may also answer to what powers the place above it: `above`, which it can't feel change but looks at
    whenever it gets an update, be that a change of its power or of one of those it `hears` (rules W9, D2).
    """

    feeds: tuple[str, ...]
    sticky: bool
    travel: int
    above: tuple[str, ...] = ()
    hears: tuple[str, ...] = ()
    word: ClassVar[str] = "piston"
    powered_by: ClassVar[tuple[str, ...]] = ("feeds", "above")
    conducts: ClassVar[Conducts] = Conducts.NOTHING
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = True
    light: ClassVar[int] = 0
    powerless: ClassVar[str] = "is a piston and carries no power"

    @property
    def lag(self) -> int:
        return self.travel

    def ports(self) -> tuple[Port, ...]:
        power = Port("power", self.feeds)
        if not self.above:
            return (power,)
        return (power, Port("above", self.above, silent=True), *heard(self.hears))

    def in_a_drawing(self) -> Part:
        return DrawnPiston(
            name=self.name, span=self.span, start=self.start, feeds=self.feeds, above=self.above, travel=self.travel
        )

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return PistonDevice(self, index, ports, self, rules)

    faults = mistakes = no_changes
    adjustments = no_adjustments


@dataclass(frozen=True, slots=True, kw_only=True)
class PushedBlock(Part):
    """The block in front of a piston: 15 while it is out of its home place."""

    piston: str
    word: ClassVar[str] = "pushed block"
    powered_by: ClassVar[tuple[str, ...]] = ()
    conducts: ClassVar[Conducts] = Conducts.NOTHING
    behaves: ClassVar[bool] = True
    graded: ClassVar[bool] = False
    measures: ClassVar[bool] = False
    directed: ClassVar[bool] = False
    indicates: ClassVar[bool] = False
    burns_out: ClassVar[bool] = False
    ends: ClassVar[bool] = True
    light: ClassVar[int] = 0
    powerless: ClassVar[str] = "is a piston and carries no power"

    def ports(self) -> tuple[Port, ...]:
        return (Port("piston", (self.piston,), watches=True),)

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return PushedBlockDevice(self, index, ports)

    faults = mistakes = no_changes
    adjustments = no_adjustments


class PushedBlockDevice(Device):
    """It has no will of its own: its piston moves it, while it acts itself."""

    __slots__ = ()
    zero_delay = True
    beside = -1

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (low[self.ports[0]], high[self.ports[0]])

    def reason(self, level: int) -> Reason:
        return Reason("O3", f"the piston {'pushes its block out' if level else 'pulls its block home'}")


class PistonDevice(Device):
    """Its mark says where it is in its move, and whether the power that sent it out went before it arrived."""

    __slots__ = ("lets_go", "powers", "sticky", "travel")

    beside = 1

    def __init__(self, part: Part, index: int, ports: Sequence[int], settings: Piston, rules: RuleSet) -> None:
        super().__init__(part, index, ports)
        self.sticky, self.travel = settings.sticky, settings.travel
        self.powers = self.ports[: 2 if settings.above else 1]
        self.lets_go = rules.sticky_lets_go

    @property
    def _block(self) -> int:
        return self.index + self.beside  # its PushedBlock is built right after it

    def _powered(self, simulator: SimulatorView) -> bool:
        return any(simulator.readings[port] for port in self.powers)

    def _disagrees(self, simulator: SimulatorView) -> bool:
        return self._powered(simulator) is not (simulator.levels[self.index] > 0)

    def on_input_change(self, simulator: SimulatorView) -> int:
        index = self.index
        phase = simulator.device_state[index]
        if phase == STILL and self._disagrees(simulator):
            simulator.device_state[index] = CALLED_TO_MOVE
            return simulator.call
        if phase == MOVING and not simulator.levels[index] and not self._powered(simulator):
            # A pulse as long as the travel ends in the gt of the arrival, and is not shorter than it.
            arrives_now = simulator.holds(index, wait_of(0, ALL_ELSE))
            simulator.device_state[index] = MOVING if arrives_now else CUT_SHORT
        return 0

    def act(self, simulator: SimulatorView) -> int:
        phase = simulator.device_state[self.index]
        if phase in (CALLED_TO_MOVE, CALLED_TO_LET_GO):
            self._start(simulator, LETTING_GO if phase == CALLED_TO_LET_GO else MOVING)
            return simulator.levels[self.index]
        if simulator.levels[self.index]:
            self._arrive_home(simulator, phase == LETTING_GO)
            return 0
        self._arrive_out(simulator, phase == CUT_SHORT)
        return FULL_POWER

    def _start(self, simulator: SimulatorView, phase: int) -> None:
        if self._disagrees(simulator):
            simulator.device_state[self.index] = phase
            simulator.begin(self.index, wait_of(self.travel, ALL_ELSE))
        else:
            simulator.device_state[self.index] = STILL

    def _arrive_out(self, simulator: SimulatorView, cut_short: bool) -> None:
        index = self.index
        was_out = simulator.levels[self._block] > 0
        simulator.device_state[index] = STILL
        if not was_out:
            simulator.set_level(self._block, FULL_POWER)
        if not self._powered(simulator):
            lets_go = cut_short and not was_out and self.lets_go
            simulator.device_state[index] = CALLED_TO_LET_GO if lets_go else CALLED_TO_MOVE
            simulator.begin(index, simulator.call)

    def _arrive_home(self, simulator: SimulatorView, let_go: bool) -> None:
        index = self.index
        simulator.device_state[index] = STILL
        if self.sticky and not let_go and simulator.levels[self._block]:
            simulator.set_level(self._block, 0)
        if self._powered(simulator):
            simulator.device_state[index] = CALLED_TO_MOVE
            simulator.begin(index, simulator.call)

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        least, most = any(low[port] for port in self.powers), any(high[port] for port in self.powers)
        return (FULL_POWER if least else 0, FULL_POWER if most else 0)

    def waits_on_change(self, rising: bool | None) -> frozenset[int]:
        return frozenset({wait_of(0, CALLED), wait_of(1, CALLED)})

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        return frozenset({wait_of(0, CALLED), wait_of(self.travel, ALL_ELSE)})

    def reason(self, level: int) -> Reason:
        return Reason("O3", f"the piston has travelled {'out' if level else 'home'}")


def build(request: Request) -> tuple[Part, ...]:
    name, span = request.name, request.span
    if request.feeds("arming"):
        # In a drawing: only what powers the place above it can power it (rules W9, D2).
        return (
            StuckPiston(
                name=name,
                span=span,
                start=request.start,
                arming=request.feeds("arming"),
                hears=request.feeds("hears"),
                travel=request.numbers["travel"],
            ),
        )
    piston = Piston(
        name=name,
        span=span,
        start=request.start,
        feeds=request.feeds("from"),
        sticky="sticky" in request.flags,
        travel=request.numbers["travel"],
        above=request.feeds("above"),
        hears=request.feeds("hears"),
    )
    return (piston, PushedBlock(name=f"{name}.block", span=span, start=request.start, piston=name))


BLOCK_TYPE = BlockType(
    "piston",
    "a piston, moving out the way it faces",
    solid=False,
    facing=Facing.ANY,
    held=(),
    lies=False,
    light="solid",
    wiring=Wiring.PART,
    directed=False,
    gives=Gives.NOTHING,
    joins=Joins.NONE,
    tells=Tells.STROKE,
    pushed=Pushed.MOVES,
    placed=Placed.BY_ITSELF,
    ground=Ground.OPEN,
    shows=True,
    reads=(Read("from", Reads.BESIDE, "power"), Read("above", Reads.OVERHEAD, "above")),
    form=Form.RAM,
)
KIND = Kind(
    "piston",
    "moves out while powered, 1.5t each way; NAME.block is 15 while its block is out",
    (
        from_option("what powers it"),
        Option("sticky", Takes.FLAG, "it pulls its block back"),
        travel_option(),
        start_option(),
    ),
    build,
    (
        Piston(name="x", span=NOWHERE, feeds=("y",), sticky=True, travel=TRAVEL, above=("z",), hears=("z",)),
        PushedBlock(name="x", span=NOWHERE, piston="y"),
        DrawnPiston(name="x", span=NOWHERE, feeds=("y",), above=("z",), travel=TRAVEL),
    ),
    members=lambda _words: ("block",),
    block_type=BLOCK_TYPE,
)
