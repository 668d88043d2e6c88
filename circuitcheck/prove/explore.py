"""One claim beside every state of a circuit, nearest first: the first trace found to break it is a shortest one."""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.checks.watches import Broken, watch
from circuitcheck.checks.watches import State as WatchState
from circuitcheck.engine.refused import RunRefused
from circuitcheck.model.claims import Body
from circuitcheck.prove.compose import Step, Stimulus
from circuitcheck.prove.meter import OverBudget
from circuitcheck.prove.space import FIELD, Questions, Setting, Space

SPACE = 3 * FIELD
"""Bits for the state of the circuit; the claim's watch stands above them."""
SPACE_MASK = (1 << SPACE) - 1
BROKEN = -1


class Result(NamedTuple):
    """What exploring came to."""

    states: int
    depth: int
    """How many gt away the farthest state is."""
    complete: bool
    """Whether everything that can be reached was seen, and nothing broke the claim."""
    triggered: bool
    """Whether what the claim refers to ever came up."""
    counterexample: Stimulus | None
    """What the world does on a shortest counterexample to the claim, gt by gt; None if none was found."""
    limit: str = ""
    """What was hit, if it is not complete and nothing broke."""
    led_there: Stimulus | None = None
    """Where a mistake of the drawing was hit: what the world does up to the gt before it."""


class Exploration:
    """One claim, explored with the cuts of one planner."""

    def __init__(self, setting: Setting, body: Body) -> None:
        self.questions = Questions()
        self.watch = watch(body, self.questions.compiles)
        self._answers = len(self.questions.atoms)
        self.space = Space(setting, self.questions.atoms)
        self._setting = setting
        self._watched: dict[WatchState, int] = {}
        self._watch_states: list[WatchState] = []
        self._table: dict[int, int] = {}
        self._parents: dict[int, int] = {}
        self.depth = 0
        self._looked_at = BROKEN
        """The state of which the successors are asked for."""

    @property
    def states(self) -> int:
        """How many states have been found so far."""
        return len(self._parents)

    def run(self) -> Result:
        """Explores. Raises PieceTooLarge and TooMuch."""
        try:
            last = self._explore()
        except OverBudget as over:
            return Result(self.states, self.depth, False, self.watch.triggered, None, str(over))
        except RunRefused as refused:
            led_there = self._counterexample(self._looked_at, breaks=False)
            return Result(self.states, self.depth, False, self.watch.triggered, None, str(refused), led_there)
        self._setting.meter.release()
        counterexample = None if last is None else self._counterexample(last)
        return Result(self.states, self.depth, counterexample is None, self.watch.triggered, counterexample)

    def _explore(self) -> int | None:
        """The state from which the claim can be broken in the next gt, BROKEN for the start; None if there is none."""
        layer: list[int] = []
        first = self._watch_number(self.watch.start())
        for bits, state in self.space.starts():
            watched = self._after(first, bits)
            if watched == BROKEN:
                return BROKEN
            self._meet(watched << SPACE | state, BROKEN, layer)
        while layer:
            following: list[int] = []
            for state in layer:
                if self._breaks(state, following):
                    return state
            layer = following
            self.depth += bool(layer)
        return None

    def _meet(self, state: int, parent: int, layer: list[int]) -> None:
        if state not in self._parents:
            self._parents[state] = parent
            layer.append(state)

    def _breaks(self, state: int, following: list[int]) -> bool:
        """Adds every new state that can follow; whether the claim can be broken in the next gt."""
        watched = state >> SPACE
        self._looked_at = state
        parents, table, answers = self._parents, self._table, self._answers
        successors = self.space.successors(state & SPACE_MASK)
        for bits, after in successors:
            watched_after = table.get(watched << answers | bits)
            if watched_after is None:
                watched_after = self._after(watched, bits)
            if watched_after < 0:
                return True
            new = watched_after << SPACE | after
            if new not in parents:
                parents[new] = state
                following.append(new)
        self._setting.meter.count(1, len(successors))
        self._setting.grown(len(parents))
        return False

    def _watch_number(self, state: WatchState) -> int:
        number = self._watched.get(state)
        if number is None:
            number = self._watched[state] = len(self._watch_states)
            self._watch_states.append(state)
        return number

    def _after(self, watched: int, bits: int) -> int:
        """The watch after a gt at whose end the questions are answered so."""
        answers = self.questions.answers(bits)
        after = self.watch.step(self._watch_states[watched], 0, 1, answers, answers)
        number = BROKEN if isinstance(after, Broken) else self._watch_number(after)
        self._table[watched << self._answers | bits] = number
        return number

    def _counterexample(self, last: int, breaks: bool = True) -> Stimulus:
        """What the world does on the way to a state, and to a break behind it where there is one."""
        states = []
        while last != BROKEN:
            states.append(last)
            last = self._parents[last]
        states.reverse()
        watched = [self._watch_number(self.watch.start()), *(state >> SPACE for state in states)]

        def does_break(step: Step, state: int | None) -> bool:
            return state is not None and self._after(watched[-1], step.bits) == BROKEN

        def seen_so(place: int, step: Step) -> bool:
            """Several steps may lead to one state of the circuit; the one meant is that which the watch saw."""
            return self._after(watched[place], step.bits) == watched[place + 1]

        passed = [state & SPACE_MASK for state in states]
        return self.space.stimulus(passed, does_break if breaks else None, seen_so)
