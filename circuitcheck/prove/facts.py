"""What is worth knowing of every circuit without being asked: can it always be set, reset, come to rest, come home.

*Home* is rest with everything that remembers as it was at the start. What still ticks when nobody touches the circuit
is found by letting it run until it comes to a state it was in before.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from circuitcheck.checks.outcome import Outcome
from circuitcheck.engine.machine import Machine
from circuitcheck.engine.moment import Moment, thaw
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.start import Start, TooManyStarts, starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import TooManyStates, merge, run_game_tick
from circuitcheck.model.claims import AllOf, Atom, Claim, Condition, Possible, Study, Test
from circuitcheck.prove.cut import Sight
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
    """In gt; None if it did not come back to a state it was in before, or hangs on an order or start."""


def facts(study: Study, limits: Limits, grown: Callable[[int], None] = lambda states: None) -> Iterator[Outcome]:
    """What can always be brought about, one by one; all of it within a budget of its own, that of one claim."""
    each = limits._replace(states=min(limits.states, MOST_STATES))
    prover = Prover(
        study, each, leaning=False, grown=grown, budget=Meter(limits.states, limits.memory, until=limits.until)
    )
    circuit = study.circuit
    span = circuit.span
    asked: list[Claim] = []
    for latch in circuit.latches:
        for test, word in ((Test.SET, "set"), (Test.RESET, "reset")):
            asked.append(Claim(f"'{latch}' can always be {word}", Possible(Atom(latch, test)), span))
    asked.append(Claim("it can always come to rest", Possible(None, rest=True), span))
    home = _home(prover.machine)
    if home is not None:
        asked.append(Claim("it can always be brought home", Possible(home, rest=True), span))
    yield from map(prover.prove, asked)


def _home(machine: Machine) -> Condition | None:
    """Everything that remembers as at the start; None where nothing does, or the start is open."""
    try:
        found = starts(machine)
    except TooManyStarts:
        return None
    everything = tuple(range(len(machine.devices)))
    sight = Sight(machine, everything, (), (), ())
    loops = [device for device in everything if sight.loops(device)]
    if len(found) != 1 or not loops:
        return None
    levels = found[0].levels
    return AllOf(tuple(Atom(machine.names[device], Test.LEVEL, levels[device]) for device in loops))


def ticking(machine: Machine) -> Ticking:
    """What still ticks at rest."""
    try:
        return _ticking(machine)
    except (TooManyStarts, TooManyOrders, TooManyStates):
        return Ticking((), None)


def _ticking(machine: Machine) -> Ticking:
    moments = [later for start in starts(machine) for later in _begin(machine, start)]
    seen: dict[State, int] = {}
    history: list[bytes] = []
    if len(moments) != 1:
        return Ticking((), None if any(moment.next_due() for moment in moments) else 0)
    state = moments[0].freeze()
    while state.waits and state not in seen and len(history) < LONGEST_RUN:
        seen[state] = len(history)
        history.append(state.levels)
        moment = thaw(machine, state)
        moment.now = 1
        after = merge(run_game_tick([moment], ()))
        if len(after) != 1:
            return Ticking((), None)
        state = after[0].freeze()
    if not state.waits:
        return Ticking((), 0)
    if state not in seen:
        return Ticking((), None)
    cycle = history[seen[state] :]
    changing = [name for number, name in enumerate(machine.names) if len({levels[number] for levels in cycle}) > 1]
    return Ticking(tuple(changing), len(cycle))


def _begin(machine: Machine, start: Start) -> list[Moment]:
    return merge(Moment(machine, 0, start.levels).tell_everyone())
