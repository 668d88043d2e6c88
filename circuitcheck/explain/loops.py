"""Feedback loops and what they are: latches, with their table and the pulses they need, and clocks, with their period.

Nothing is looked up: a loop is cut out of its circuit, its inputs are replaced by levers or by detectors that give
pulses of a chosen length, and what it does is found by running it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache

from circuitcheck.engine.program import Program
from circuitcheck.engine.record import record
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.step import Action
from circuitcheck.explain.paths import without_joins
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.making import Options, made_one
from circuitcheck.model.parts.base import Part
from circuitcheck.model.rules import FULL_POWER, RuleSet

LONGEST_PULSE = 20
"""The longest pulse tried on a latch, in gt."""
REST = 40
"""How long a latch is left alone after a pulse, in gt; far more than its own 4."""
LONGEST_PERIOD = 400
"""How long a clock is watched for its period, in gt."""


class LoopKind(Enum):
    """What a feedback loop is."""

    LATCH = "latch"
    CLOCK = "ring clock"
    UNKNOWN = "loop"


@dataclass(frozen=True, slots=True)
class LatchFacts:
    """What a latch of two torches was found to do."""

    side: str
    inverse: str
    table: tuple[tuple[str, str, str], ...]
    """(set, reset, what becomes of the latch), each input on or off."""
    set_by_hand: int | None
    """The shortest set pulse by hand that latches, in gt; None if none up to LONGEST_PULSE does."""
    set_by_part: int | None
    """The same out of a detector."""
    reset_by_hand: int | None
    reset_by_part: int | None


@dataclass(frozen=True, slots=True)
class Loop:
    """A feedback loop: the parts that can all reach one another."""

    kind: LoopKind
    parts: tuple[str, ...]
    latch: LatchFacts | None = None
    period: int | None = None
    """Of a clock, in gt; None if it doesn't run for LONGEST_PERIOD."""
    why_unknown: str = ""
    """Why it was not found out what the loop does."""


def loops(program: Program) -> tuple[Loop, ...]:
    """Every feedback loop of a circuit, largest strongly connected components whole, in the order of the file."""
    import networkx

    circuit = program.circuit
    # Two lines that meet are no loop of feedback, though power runs both ways along them.
    powered = without_joins(circuit, circuit.graph)
    places = {name: place for place, name in enumerate(circuit.by_name)}
    found = []
    for component in networkx.strongly_connected_components(powered):
        names = tuple(sorted(component, key=places.__getitem__))
        if len(names) > 1 or powered.has_edge(names[0], names[0]):
            found.append(_loop(program, names))
    return tuple(sorted(found, key=lambda loop: places[loop.parts[0]]))


def _loop(program: Program, names: tuple[str, ...]) -> Loop:
    circuit = program.circuit
    pair = _latch_in(circuit, names)
    if pair is not None:
        return Loop(LoopKind.LATCH, names, latch=latch_facts(circuit, *pair))
    try:
        period = clock_period(program, names)
    except TooManyStarts as many:
        return Loop(LoopKind.UNKNOWN, names, why_unknown=f"{many}; then its period could be found")
    return Loop(LoopKind.UNKNOWN if period is None else LoopKind.CLOCK, names, period=period)


def _latch_in(circuit: Circuit, names: Sequence[str]) -> tuple[str, str] | None:
    """Two torches in a loop, each feeding the other's block; the declared latch side first."""
    for latch in circuit.latches.values():
        if latch.name in names and latch.inverse in names:
            return latch.name, latch.inverse  # in a drawing, dust and blocks stand between the two
    torches = {name: part for name in names if (part := circuit.by_name[name]).inverter}
    for name, part in torches.items():
        for other in part.powers:
            if other in torches and other != name and name in torches[other].powers:
                return (other, name) if other in circuit.latches else (name, other)
    return None


# Latches


def latch_facts(circuit: Circuit, side: str, inverse: str) -> LatchFacts:
    """Cuts two torches out of a circuit and tries them: the side goes on when the other torch's input is on."""
    latch = circuit.latches.get(side)
    fed = tuple(
        any(source != other for source in circuit.by_name[name].powers)
        for name, other in ((side, inverse), (inverse, side))
    )
    if latch is not None:
        fed = (bool(latch.reset_by), bool(latch.set_by))
    table, lengths = _tried(circuit.rules, fed)
    return LatchFacts(side, inverse, table, *lengths)


@lru_cache
def _tried(rules: RuleSet, fed: tuple[bool, ...]) -> tuple[tuple[tuple[str, str, str], ...], tuple[int | None, ...]]:
    """Tries a pair of torches once for all that are alike: under the same rules, fed from outside at the same ones."""
    side_fed, inverse_fed = fed
    torches = (
        made_one("torch", "side", Options(sources={"from": ("inverse", *(("r",) if side_fed else ()))})),
        made_one("torch", "inverse", Options(sources={"from": ("side", *(("s",) if inverse_fed else ()))})),
    )
    pair = Circuit("latch", torches, rules=rules)
    lengths = tuple(
        _shortest(pair, "side", "inverse", setting, by_part) for setting in (True, False) for by_part in (False, True)
    )
    return _table(pair, "side", "inverse"), lengths


def _cut_out(circuit: Circuit, side: str, inverse: str, is_set: bool, pulse: int) -> Program:
    """The two torches alone. Levers `s` and `r` set and reset them, by hand (pulse 0) or each through a detector."""
    torches: list[Part] = []
    for name in (side, inverse):
        torch, hand = circuit.by_name[name], "s" if name == inverse else "r"
        fed = torch.rewired(hand, f"{hand}.pulse") if pulse else torch
        torches.append(replace(fed, start=FULL_POWER if is_set is (name == side) else 0))
    inputs = [made_one("lever", name) for name in ("s", "r")]
    if pulse:
        settings = [Options(sources={"watches": (name,)}, numbers={"pulse": pulse}) for name in ("s", "r")]
        inputs += [made_one("detector", f"{name}.pulse", each) for name, each in zip(("s", "r"), settings, strict=True)]
    return Program(replace(circuit, parts=(*inputs, *torches), outputs=()))


def _state_after(program: Program, side: str, inverse: str, actions: Sequence[tuple[int, str, str]], until: int) -> str:
    worked = [(at, Action(program.number[name], verb)) for at, name, verb in actions]
    levels = record(program, starts(program)[0].levels, worked, (), until).levels_at(until)
    on, off = levels[program.number[side]], levels[program.number[inverse]]
    return {(True, False): "set", (False, True): "reset", (False, False): "both off", (True, True): "both on"}[
        on > 0, off > 0
    ]


def _table(circuit: Circuit, side: str, inverse: str) -> tuple[tuple[str, str, str], ...]:
    rows = []
    for set_on, reset_on in ((False, False), (True, False), (False, True), (True, True)):
        ends = []
        for was_set in (False, True):
            program = _cut_out(circuit, side, inverse, was_set, 0)
            acts = [(10 + 20 * place, name, "on") for place, name in enumerate("sr") if (set_on, reset_on)[place]]
            ends.append(_state_after(program, side, inverse, acts, 30 + REST))
        result = ends[0] if ends[0] == ends[1] else "holds" if ends == ["reset", "set"] else " or ".join(ends)
        rows.append(("on" if set_on else "off", "on" if reset_on else "off", result))
    return tuple(rows)


def _shortest(circuit: Circuit, side: str, inverse: str, setting: bool, by_part: bool) -> int | None:
    """The least length from which on every pulse latches."""
    shortest = None
    for length in range(LONGEST_PULSE, 0, -1):
        program = _cut_out(circuit, side, inverse, not setting, length if by_part else 0)
        name = "s" if setting else "r"
        acts = [(10, name, "on")] + ([] if by_part else [(10 + length, name, "off")])
        if _state_after(program, side, inverse, acts, 10 + length + REST) != ("set" if setting else "reset"):
            break
        shortest = length
    return shortest


# Clocks


def clock_period(program: Program, names: Sequence[str]) -> int | None:
    """The period in which a loop goes on ticking when nobody touches the circuit, in gt; None if it comes to rest.

    Raises TooManyStarts.
    """
    start = starts(program)[0]
    recording = record(program, start.levels, (), (), LONGEST_PERIOD)
    for name in names:
        number = program.number.get(name)
        rises = [change.at for change in recording.changes if change.device == number and change.level > change.before]
        if len(rises) > 3 and recording.until - rises[-1] <= rises[-1] - rises[-2] == rises[-2] - rises[-3]:
            return rises[-1] - rises[-2]
    return None
