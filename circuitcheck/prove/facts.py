"""What is worth knowing of every circuit without being asked: can it always be set, reset, come to rest, come home.

*Home* is rest with everything that remembers as it was at the start. What still ticks when nobody touches the circuit
is found by letting it run until it comes to a state it was in before.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from circuitcheck.checks.outcome import Outcome
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator, restore
from circuitcheck.engine.start import Start, TooManyStarts, starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import merge, run_game_tick
from circuitcheck.engine.work import Undecided
from circuitcheck.model.claims import AllOf, Atom, Claim, Condition, Possible, Study, Test
from circuitcheck.prove.cut import ProofScope
from circuitcheck.prove.meter import Limits, Meter
from circuitcheck.prove.prover import Prover

MOST_STATES = 50_000
"""How many states are looked at, at most, for each thing that nobody asked for."""
LONGEST_RUN = 5_000
"""For how many gt a circuit is left alone to see what still ticks."""


@dataclass(frozen=True, slots=True)
class Ticking:
    """What goes on changing while nobody touches the circuit."""

    parts: tuple[str, ...]
    period: int | None
    """In gt; None if it did not come back to a state it was in before, or depends on an order or start."""


def facts(study: Study, limits: Limits, grown: Callable[[int], None] = lambda states: None) -> Iterator[Outcome]:
    """What can always be brought about, one by one; all of it within a budget of its own, that of one claim."""
    each = limits._replace(states=min(limits.states, MOST_STATES))
    prover = Prover(
        study, each, solving=False, grown=grown, budget=Meter(limits.states, limits.memory, until=limits.until)
    )
    circuit = study.circuit
    span = circuit.span
    asked: list[Claim] = []
    for latch in circuit.latches:
        for test, word in ((Test.SET, "set"), (Test.RESET, "reset")):
            asked.append(Claim(f"'{latch}' can always be {word}", Possible(Atom(latch, test)), span))
    asked.append(Claim("it can always come to rest", Possible(None, rest=True), span))
    home = _home(prover.program)
    if home is not None:
        asked.append(Claim("it can always return to its start", Possible(home, rest=True), span))
    yield from map(prover.prove, asked)


def _home(program: Program) -> Condition | None:
    """Everything that remembers as at the start; None where nothing does, or the start is open."""
    try:
        found = starts(program)
    except TooManyStarts:
        return None
    everything = tuple(range(len(program.devices)))
    scope = ProofScope(program, everything, (), (), ())
    loops = [device for device in everything if scope.loops(device)]
    if len(found) != 1 or not loops:
        return None
    levels = found[0].levels
    return AllOf(tuple(Atom(program.names[device], Test.LEVEL, levels[device]) for device in loops))


def ticking(program: Program) -> Ticking:
    """What still ticks at rest."""
    try:
        return _ticking(program)
    except (TooManyStarts, TooManyOrders, Undecided):
        return Ticking((), None)


def _ticking(program: Program) -> Ticking:
    simulators = [later for start in starts(program) for later in _begin(program, start)]
    seen: dict[State, int] = {}
    history: list[bytes] = []
    if len(simulators) != 1:
        return Ticking((), None if any(simulator.next_due() for simulator in simulators) else 0)
    state = simulators[0].snapshot()
    while state.waits and state not in seen and len(history) < LONGEST_RUN:
        seen[state] = len(history)
        history.append(state.levels)
        simulator = restore(program, state)
        simulator.now = 1
        after = merge(run_game_tick([simulator], ()))
        if len(after) != 1:
            return Ticking((), None)
        state = after[0].snapshot()
    if not state.waits:
        return Ticking((), 0)
    if state not in seen:
        return Ticking((), None)
    cycle = history[seen[state] :]
    changing = [name for number, name in enumerate(program.names) if len({levels[number] for levels in cycle}) > 1]
    return Ticking(tuple(changing), len(cycle))


def _begin(program: Program, start: Start) -> list[Simulator]:
    return merge(Simulator(program, 0, start.levels).tell_everyone())
