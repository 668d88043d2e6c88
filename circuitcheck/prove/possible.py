"""Whether something can always still be brought about: from every state, by the world, whatever order is unknown.

In the language of branching time, AG EF, where the world chooses and the unknown order (rule C5) is against it. A state
is *good* if the world can do something after which, whatever the order, what is wanted is so or the state is good. Good
states are found backwards from what is wanted, nearest first; what is left over when no more are found can't be helped.

Where the circuit is cut into pieces, orders between pieces are followed freely, more of them than can happen, and of
what feeds the root only such choices are counted as the world's whose outcome no order can change. Both err on one
side: what is found possible so is possible. What is not is looked at again without cuts.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import NamedTuple

from circuitcheck.model.claims import Condition
from circuitcheck.prove.compose import Stimulus
from circuitcheck.prove.meter import OverBudget
from circuitcheck.prove.space import Questions, Setting, Space

MOST = 1 << 60
"""A rank that no state has."""
STEP = 4
"""What a step costs to put together, in moves."""


class Reach(NamedTuple):
    """What came of it."""

    states: int
    depth: int
    """How many gt away the farthest state is."""
    possible: bool
    farthest: int
    """From the state where it takes longest, in how many gt it can be brought about at the latest."""
    trace: Stimulus | None
    """A shortest trace to a state where it is not possible any more, or else to one from which it takes longest."""
    back: Stimulus | None = None
    """From there, what brings it about soonest; where orders are open, one way it can go."""
    limit: str = ""


Group = tuple[tuple[int, int], ...]
"""Everything that one choice of the world can lead to: what is so then (1 if what is wanted is), and the state."""


class Possibility:
    """One wish, asked of every state: a condition, and, if `resting`, that nothing waits any more."""

    def __init__(self, setting: Setting, condition: Condition | None, resting: bool = False) -> None:
        questions = Questions()
        self._setting = setting
        holds = None if condition is None else questions.compiles(condition)
        self._space = Space(setting, questions.atoms, branching=True, resting=resting)
        busy = 1 << len(questions.atoms) if resting else 0

        def wanted(bits: int) -> bool:
            answers = questions.answers(bits)
            return not bits & busy and (holds is None or holds(answers, answers))

        self._wanted: Callable[[int], bool] = wanted
        self._depth = -1
        self._groups: dict[int, list[Group]] = {}
        self._parents: dict[int, int | None] = {}
        self._unmet: dict[int, None] = {}
        """States that can reach without what is wanted being so."""

    def run(self) -> Reach:
        """Explores, then looks back. Raises PieceTooLarge and TooMuch."""
        try:
            depth = self._explore()
        except OverBudget as over:
            return Reach(len(self._parents), self._depth, False, 0, None, limit=str(over))
        self._setting.meter.release()
        ranks = self._ranks()
        lost = next((state for state in self._unmet if state not in ranks), None)
        if lost is not None:
            return Reach(len(self._parents), depth, False, 0, self._trace(lost))
        farthest = max(self._unmet, key=lambda state: ranks[state], default=None)
        if farthest is None:
            return Reach(len(self._parents), depth, True, 0, None)
        trace, back = self._trace(farthest), self._back(farthest, ranks)
        return Reach(len(self._parents), depth, True, ranks[farthest], trace, back)

    def _explore(self) -> int:
        """Finds every state; how many gt away the farthest is."""
        layer: dict[int, None] = {}
        for bits, state in self._space.starts():
            self._meet(bits, state, None, layer)
        while layer:
            self._depth += 1
            following: dict[int, None] = {}
            for state in layer:
                successors = self._space.successors(state)
                self._setting.meter.count(1, len(successors))
                for bits, after in successors:
                    self._meet(bits, after, state, following)
                self._groups[state] = self._choices(state)
                self._setting.grown(len(self._parents))
            layer = following
        return self._depth

    def _meet(self, bits: int, state: int, before: int | None, layer: dict[int, None]) -> None:
        if state not in self._parents:
            self._parents[state] = before
            layer[state] = None
        if state not in self._unmet and not self._wanted(bits):
            self._unmet[state] = None

    def _choices(self, state: int) -> list[Group]:
        """What the world can do in a state, as what each choice can lead to."""
        steps = [step for step in self._space.steps(state) if all(edge.sure for edge in step.children)]
        found: dict[Group, None] = {}
        chosen = itertools.groupby(steps, key=lambda step: step.children)
        self._setting.meter.count(1, STEP * len(steps))
        for _, of_children in chosen:
            by_actions: dict[object, dict[tuple[int, int], None]] = {}
            for step in of_children:
                after = self._space.after(state, step)
                if after is not None:
                    met = int(self._wanted(step.bits))
                    by_actions.setdefault(step.move.actions, {})[met, after] = None
            found |= dict.fromkeys(tuple(outcomes) for outcomes in by_actions.values())
        return list(found)

    def _ranks(self) -> dict[int, int]:
        """For each good state, within how many gt what is wanted can be brought about."""
        needed_by: dict[int, list[tuple[int, int]]] = {}
        open_outcomes: dict[tuple[int, int], int] = {}
        ranks: dict[int, int] = {}
        good: list[int] = []
        for state, groups in self._groups.items():
            for number, group in enumerate(groups):
                unmet = {after for met, after in group if not met}
                open_outcomes[state, number] = len(unmet)
                for after in unmet:
                    needed_by.setdefault(after, []).append((state, number))
                if not unmet and state not in ranks:
                    ranks[state] = 1
                    good.append(state)
        for state in good:
            for before, number in needed_by.get(state, ()):
                open_outcomes[before, number] -= 1
                if not open_outcomes[before, number] and before not in ranks:
                    ranks[before] = ranks[state] + 1
                    good.append(before)
        return ranks

    def _trace(self, last: int) -> Stimulus:
        """What the world does on a shortest trace to a state."""
        return self._space.stimulus(self._path(last)[:-1], lambda step, after: after == last)

    def _path(self, last: int) -> list[int]:
        states = []
        state: int | None = last
        while state is not None:
            states.append(state)
            state = self._parents[state]
        return states[::-1]

    def _back(self, state: int, ranks: dict[int, int]) -> Stimulus:
        """What the world does from a state on to bring about what is wanted, as soon as can be."""
        there = self._path(state)
        states = list(there)
        while True:
            groups = self._groups[states[-1]]
            best = min(groups, key=lambda group: max((ranks.get(a, MOST) for met, a in group if not met), default=0))
            met, after = best[0]
            if met:
                break
            states.append(after)
        stimulus = self._space.stimulus(states, lambda step, last: last == after and self._wanted(step.bits))
        return stimulus[len(there) :]
