"""A trace run by the engine over every open order and start, for what lamps are seen to do; and what would slow it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from circuitcheck.checks.finding import Cure
from circuitcheck.checks.flashing import (
    DARK,
    HARMFUL_FLASHES,
    LIT,
    NO_FLASHES,
    Change,
    Flashes,
    lamps_of,
    most_flashes,
)
from circuitcheck.checks.race import inserted
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Recording, record
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import Start, TooManyStarts, starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, TooManyStates, choices, run_game_tick
from circuitcheck.engine.work import Undecided
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Act
from circuitcheck.model.duration import GAME_TICKS_PER_SECOND, show
from circuitcheck.model.making import made_one
from circuitcheck.prove.cut import ProofScope

MOST_TRACES = 1_000
"""How many ways that differ in what is seen, or in where they stand, are followed side by side."""
MOST_CURES = 60
"""How many changes are tried."""
TRIED_FOR = 10 * GAME_TICKS_PER_SECOND
"""For how many gt a changed circuit is watched."""
SHOWN_AFTER = 4


class Second(NamedTuple):
    """The worst second of a run."""

    flashes: Flashes
    recording: Recording | None


class _Trace(NamedTuple):
    start: Start
    simulator: Simulator
    seen: tuple[Change, ...]


def worst_second(program: Program, acts: Sequence[Act], since: int, until: int) -> Second:
    """The second with the most flashes from a gt on, on any trace. Raises TooManyStarts, -Orders and -States."""
    traces = _traces(program, acts, since, until)
    flashes, trace = max(((most_flashes(trace.seen), trace) for trace in traces), key=lambda each: each[0].number)
    if flashes.number <= HARMFUL_FLASHES:
        return Second(flashes, None)
    script = [order.devices for order in choices(trace.simulator.log)]
    actions = [(act.at, Action(program.number[act.name], act.verb, act.level)) for act in acts]
    return Second(flashes, record(program, trace.start.levels, actions, script, flashes.ends + SHOWN_AFTER))


def _traces(program: Program, acts: Sequence[Act], since: int, until: int) -> list[_Trace]:
    lamps = sorted(lamps_of(program))
    traces = [
        _Trace(start, told, ())
        for start in starts(program)
        for told in Simulator(program, 0, start.levels).tell_everyone()
    ]
    for at in range(until + 1):
        actions = [Action(program.number[act.name], act.verb, act.level) for act in acts if act.at == at]
        if at and not actions and all(trace.simulator.next_due() != at for trace in traces):
            continue
        following: dict[tuple[tuple[tuple[str, int], ...], State, tuple[Change, ...]], _Trace] = {}
        for trace in traces:
            before = bytes(trace.simulator.levels)
            trace.simulator.now = at
            for after in run_game_tick([trace.simulator], actions):
                change = _change(at, lamps, before, after.levels) if at >= since else None
                seen = trace.seen if change is None else (*trace.seen, change)
                following.setdefault((trace.start.tried, after.snapshot(), seen), _Trace(trace.start, after, seen))
        traces = list(following.values())
        if len(traces) > MOST_TRACES:
            raise TooManyStates
    return traces


def _change(at: int, lamps: Sequence[int], before: Sequence[int], after: Sequence[int]) -> Change | None:
    changed = tuple(lamp for lamp in lamps if (before[lamp] > 0) != (after[lamp] > 0))
    if not changed:
        return None
    return Change(at, sum({LIT if after[lamp] else DARK for lamp in changed}), changed)


def mended(circuit: Circuit, acts: Sequence[Act], flashes: Flashes, since: int) -> Cure | None:
    """The least delay, in one place, after which the same run flashes no more than is harmless, and still does."""
    program = Program(circuit)
    names = [program.names[lamp] for lamp in flashes.lamps]
    for tries, (changed, words) in enumerate(_slower(circuit, program, names)):
        if tries >= MOST_CURES:
            break
        try:
            second = worst_second(Program(changed), acts, since, since + TRIED_FOR)
        except (TooManyStarts, TooManyOrders, Undecided):
            continue
        if NO_FLASHES.number < second.flashes.number <= HARMFUL_FLASHES:
            return Cure(words)
    return None


def _slower(circuit: Circuit, program: Program, lamps: Sequence[str]) -> Iterator[tuple[Circuit, str]]:
    """Circuits with more delay on a loop that the lamps depend on, the least first."""
    everything = tuple(range(len(program.devices)))
    scope = ProofScope(program, everything, (), (), ())
    number = program.number
    upstream = [name for name in circuit.upstream(lamps) if name in number and scope.loops(number[name])]
    (settings,) = made_one("repeater", "added").adjustments()
    for more in settings.values:
        for name in upstream:
            part = circuit.by_name[name]
            for each in part.adjustments():
                if each.slows and each.chosen + more in each.values:
                    words = f"{part.word} '{name}' at {show(each.chosen + more)} instead of {show(each.chosen)}"
                    yield circuit.with_part(part, part.adjusted(each, each.chosen + more)), words
        for name in upstream:
            words = f"a repeater of {show(more)} behind '{name}', before all that it feeds"
            yield inserted(circuit, name, more), words
