"""The pulse detector: one pulse for each change of the one thing it watches (rule D1)."""

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
from circuitcheck.model.parts.base import Adjustment, Conducts, Device, Part, Port, Reason, no_changes
from circuitcheck.model.parts.kinds import Kind, Option, Request, Takes
from circuitcheck.model.parts.own_block import (
    HEAD_HEARS,
    HEARS_ITSELF,
    OWN_BLOCK,
    own_block_members,
    own_block_options,
)
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.stuck_piston import TRAVEL, StuckPiston, build_stuck_piston, travel_option
from circuitcheck.model.parts.waits import ALL_ELSE, wait_of
from circuitcheck.model.rules import FULL_POWER, RuleSet
from circuitcheck.model.unsure import reached

PULSES = tuple(range(GAME_TICKS_PER_TICK, 4 * GAME_TICKS_PER_TICK + 1, GAME_TICKS_PER_TICK))
"""The pulses that are tried where another is looked for."""

PULSE_OPTIONS = ("delay", "pulse", "rearm")
STUCK_OPTIONS = ("travel", "starts", OWN_BLOCK, HEARS_ITSELF, HEAD_HEARS)
IS_STUCK = "they belong to a detector that watches, and this is a stuck piston"
IDLE, CALLED_UP, PULSING, REARMING, MOVED_IN_PULSE = range(5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Detector(Part):
    """Durations in gt. `rearm` is how long after its pulse it misses changes (rule D3's one-pulse builds)."""

    watches: tuple[str, ...]
    delay: int
    pulse: int
    rearm: int
    word: ClassVar[str] = "detector"
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

    @property
    def lag(self) -> int:
        return self.delay

    def ports(self) -> tuple[Port, ...]:
        return (Port("watched", self.watches, watches=True, boolean=False),)

    def device(self, index: int, ports: Sequence[int], straight: bool, rules: RuleSet) -> Device:
        return DetectorDevice(self, index, ports, self, rules)

    faults = mistakes = no_changes

    def adjustments(self) -> tuple[Adjustment, ...]:
        return (Adjustment("pulse", self.pulse, PULSES, timed=True, slows=False),)


class DetectorDevice(Device):
    """Its mark says which of its four phases it is in."""

    __slots__ = ("called_up", "pulsing", "rearming", "rules")

    def __init__(self, part: Part, index: int, ports: Sequence[int], settings: Detector, rules: RuleSet) -> None:
        super().__init__(part, index, ports)
        self.rules = rules
        self.called_up = wait_of(settings.delay, ALL_ELSE)
        self.pulsing = wait_of(settings.pulse, ALL_ELSE)
        self.rearming = wait_of(settings.rearm, ALL_ELSE) if settings.rearm else 0

    def on_input_change(self, simulator: SimulatorView) -> int:
        if simulator.starting:
            return 0  # being updated at the start is no change of what it watches
        if simulator.device_state[self.index] != IDLE:
            simulator.note(self.index, "D1")
            return 0
        simulator.device_state[self.index] = CALLED_UP
        return self.called_up

    def act(self, simulator: SimulatorView) -> int:
        index = self.index
        phase = simulator.device_state[index]
        if phase == CALLED_UP:
            simulator.device_state[index] = PULSING
            # Its going off is fixed now, before those it feeds are updated (rule D1).
            simulator.begin(index, self.pulsing)
            return FULL_POWER
        rearms = phase == PULSING and self.rearming
        simulator.device_state[index] = REARMING if rearms else IDLE
        if rearms:
            simulator.begin(index, self.rearming)
        return 0

    def moved_off(self, simulator: SimulatorView) -> None:
        # A pulse ends with the start of the stroke, and then the landing gives none (rule M10).
        pulsing = simulator.device_state[self.index] == PULSING
        simulator.show(self.index, 0)
        simulator.device_state[self.index] = MOVED_IN_PULSE if pulsing else IDLE

    def landed(self, simulator: SimulatorView) -> int:
        gives_none = simulator.device_state[self.index] == MOVED_IN_PULSE
        if gives_none:
            reached(self.rules, "moved_in_pulse")
        simulator.device_state[self.index] = IDLE if gives_none else CALLED_UP
        return 0 if gives_none else self.called_up

    def settled(self, low: Mapping[int, int], high: Mapping[int, int]) -> tuple[int, int]:
        return (0, 0)

    def waits_on_change(self, rising: bool | None) -> frozenset[int]:
        return frozenset({self.called_up})

    def own_waits(self, rising: bool | None) -> frozenset[int]:
        waits = {self.pulsing} if rising else {self.rearming} if rising is False else {self.pulsing, self.rearming}
        return frozenset(waits - {0})

    def reason(self, level: int) -> Reason:
        return Reason("D1", "what it watches changed" if level else "the detector's pulse is over")


def build(request: Request) -> tuple[Part, ...]:
    if OWN_BLOCK in request.numbers and not request.feeds("watches"):
        from circuitcheck.model.parts.self_arming import build_self_arming  # few circuits have one

        request.refuse(PULSE_OPTIONS, IS_STUCK)
        return build_self_arming(request)
    if request.feeds("hears") or request.feeds("arming"):
        if OWN_BLOCK not in request.spans:
            request.refuse((HEARS_ITSELF, HEAD_HEARS), f"how it hears its own block goes with '{OWN_BLOCK}'")
        request.refuse(PULSE_OPTIONS, IS_STUCK)
        return build_stuck_piston(request)
    request.refuse(STUCK_OPTIONS, "they belong to a stuck piston, and this detector watches")
    watches = request.feeds("watches")
    if not watches:
        request.fail(
            "CKT303",
            "a detector needs either 'watches', or both 'arming' and 'hears'",
            "write for example: detector ripple watches pond",
        )
    elif len(watches) > 1:
        request.fail("CKT304", "a detector watches one thing", "give each thing a detector and join them", "watches")
    return (
        Detector(
            name=request.name,
            span=request.span,
            watches=watches,
            delay=request.numbers["delay"],
            pulse=request.numbers["pulse"],
            rearm=request.numbers["rearm"],
        ),
    )


def _self_arming() -> tuple[Part, ...]:
    from circuitcheck.model.parts.self_arming import SAMPLES

    return SAMPLES


BLOCK_TYPE = BlockType(
    "detector",
    "a pulse detector: watches behind it, gives the way it faces",
    solid=False,
    facing=Facing.ANY,
    held=(),
    lies=False,
    light="solid",
    wiring=Wiring.PART,
    directed=False,
    gives=Gives.FRONT,
    joins=Joins.FRONT,
    tells=Tells.FRONT,
    pushed=Pushed.MOVES,
    placed=Placed.BY_ITSELF,
    ground=Ground.OPEN,
    shows=False,
    reads=(Read("watches", Reads.WATCHED, "watched"),),
    form=Form.HORN,
)
KIND = Kind(
    "detector",
    "gives a pulse when what it watches changes; or, arming and hearing, a stuck piston",
    (
        Option("watches", Takes.SOURCES, "the one thing whose changes it feels"),
        Option("delay", Takes.DURATION, "from the change to the pulse", default=GAME_TICKS_PER_TICK),
        Option("pulse", Takes.DURATION, "how long the pulse lasts", default=GAME_TICKS_PER_TICK),
        Option("rearm", Takes.DURATION, "how long after its pulse it misses changes", default=0, least=0),
        Option("arming", Takes.SOURCES, "the power it takes on when it gets an update"),
        Option("hears", Takes.SOURCES, "the things whose changes are updates to it"),
        travel_option(),
        *own_block_options(),
        Option("starts", Takes.START, "a stuck piston's state at the start", starts={"on": FULL_POWER, "off": 0}),
    ),
    build,
    (
        Detector(name="x", span=NOWHERE, watches=("y",), delay=GAME_TICKS_PER_TICK, pulse=GAME_TICKS_PER_TICK, rearm=0),
        StuckPiston(name="x", span=NOWHERE, arming=("y",), hears=("z",), travel=TRAVEL),
    ),
    seldom=_self_arming,
    members=own_block_members,
    block_type=BLOCK_TYPE,
)
