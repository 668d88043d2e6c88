"""The plain explorer: one state at a time over the engine's own step, nothing left out, nothing taken together.

It is what the product's explorer is held against: the same verdict, and the same length of the shortest way.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from circuitcheck.checks.conditions import compiled
from circuitcheck.checks.watches import Broken, watch
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.step import Action, run_game_tick, step
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Assumption, Body, Holding, RateLimit

WITHOUT_BURN_OUT = -1


class TooManyStates(Exception):
    """There are more states than a test should look at."""


@dataclass(frozen=True)
class Explored:
    """What the plain explorer came to."""

    states: int
    broken_at: int | None
    """The gt in which the claim is broken at the earliest; None if it can't be."""
    triggered: bool


def quiet(circuit: Circuit) -> Circuit:
    """The circuit under rules without burn-out."""
    return replace(circuit, rules=replace(circuit.rules, burn_out_window=WITHOUT_BURN_OUT))


class Engine:
    """The engine that it stands on: the product's."""

    def __init__(self, program: Program) -> None:
        self._program = program

    def begun(self) -> Iterator[tuple[bytes, Any]]:
        """The levels of each start, and what gt 0 begins with."""
        for start in starts(self._program):
            for told in Simulator(self._program, 0, start.levels).tell_everyone():
                yield start.levels, told

    def first(self, told: Any, actions: Sequence[Action]) -> Iterable[Any]:
        """Every state at the end of gt 0."""
        return [simulator.snapshot() for simulator in run_game_tick([told.copy()], actions)]

    def after(self, state: Any, actions: Sequence[Action]) -> Iterable[Any]:
        """Every state that can follow."""
        return [outcome.state for outcome in step(self._program, state, actions)]

    @staticmethod
    def kept(state: Any) -> Sequence[int]:
        """What devices remember besides their levels."""
        kept: Sequence[int] = state.device_state
        return kept


def explored(
    circuit: Circuit,
    body: Body,
    assumptions: Sequence[Assumption] = (),
    most: int = 50_000,
    on: Callable[[Program], Engine] = Engine,
) -> Explored:
    """Looks at every state of the whole circuit with the claim's watch beside it. Raises TooManyStates."""
    program = Program(quiet(circuit))
    engine = on(program)
    watching = watch(body, partial(compiled, program=program))
    seen: set[Hashable] = set()
    layer: list[tuple[Any, Hashable, tuple[tuple[str, int], ...]]] = []

    def meet(state: Any, before: bytes, watched: Hashable, history: tuple[tuple[str, int], ...], at: int) -> bool:
        after = watching.step(watched, at, 1, state.levels, before)
        if isinstance(after, Broken):
            return True
        key = (state, after, history)
        if key not in seen:
            if len(seen) >= most:
                raise TooManyStates
            seen.add(key)
            layer.append(key)
        return False

    broken = False
    for levels, told in engine.begun():
        for actions, history in _choices(program, told.levels, engine.kept(told), (), assumptions):
            for state in engine.first(told, actions):
                broken |= meet(state, levels, watching.start(), history, 0)
    at = 0
    while layer and not broken:
        at += 1
        now, layer[:] = list(layer), []
        for state, watched, history in now:
            for actions, later in _choices(program, state.levels, engine.kept(state), history, assumptions):
                for following in engine.after(state, actions):
                    broken |= meet(following, state.levels, watched, later, at)
    return Explored(len(seen), at if broken else None, watching.triggered)


History = tuple[tuple[str, int], ...]
"""Changes of inputs that an assumption still counts: the input's name and how many gt ago."""


def _choices(
    program: Program, levels: Sequence[int], marks: Sequence[int], history: History, assumptions: Sequence[Assumption]
) -> Iterator[tuple[tuple[Action, ...], History]]:
    """Everything the world may do in the next gt, read off the assumptions as they are written."""
    inputs = [device for device in program.devices if device.part.verbs]
    ways: list[list[Action | None]] = []
    for device in inputs:
        number, verbs = device.index, device.part.verbs
        if "throw" in verbs:
            own = [Action(number, "throw")]
        elif "press" in verbs:
            own = [Action(number, "press")]  # while it is held, that is nothing
        elif "is" in verbs:
            own = [Action(number, "is", level) for level in range(16) if level != levels[number]]
        else:
            own = [Action(number, "off" if marks[number] else "on")]
        ways.append([None, *own])
    longest = max((_reach(each) for each in assumptions), default=0)
    aged = [(name, ago + 1) for name, ago in history if ago + 1 < longest]
    for chosen in itertools.product(*ways):
        actions = tuple(action for action in chosen if action is not None)
        later = tuple(sorted([*aged, *((program.names[action.device], 0) for action in actions)]))
        if all(_allows(each, later) for each in assumptions):
            yield actions, later if assumptions else ()


def _reach(assumption: Assumption) -> int:
    return assumption.at_least if isinstance(assumption, Holding) else assumption.within


def _allows(assumption: Assumption, changes: History) -> bool:
    if not any(ago == 0 for _, ago in changes):
        return True
    if isinstance(assumption, RateLimit):
        return sum(ago < assumption.within for _, ago in changes) <= assumption.most
    return all(
        sum(name == own and ago < assumption.at_least for own, ago in changes) <= 1
        for name in assumption.names
        if (name, 0) in changes
    )
