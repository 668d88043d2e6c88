"""A shortest run without end that breaks a claim: a way in, and a round that leads back to where it began.

Bounded model checking of A. Biere, A. Cimatti, E. Clarke and Y. Zhu, "Symbolic model checking without BDDs" (TACAS
1999), with the state that the round begins in kept aside, as in V. Schuppan and A. Biere, "Efficient reduction of
finite state model checking to reachability analysis" (STTT 2004). The round is one of the formula, which allows more
than the engine: the engine must go it again before it is believed.
"""

from __future__ import annotations

from collections.abc import Sequence

from circuitcheck.prove.compose import Stimulus
from circuitcheck.prove.forever import Lasso
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.symbolic.induction import Unrolled
from circuitcheck.prove.symbolic.rounds import Rounds
from circuitcheck.prove.symbolic.system import System, stimulus_of


class Loops:
    """The runs of a system that come back to where they were while something is owed, one gt longer at a time."""

    def __init__(self, system: System, rounds: Rounds, known: list[tuple[int, int]], meter: Meter) -> None:
        self._system, self._rounds = system, rounds
        self._runs = Unrolled(system, known, meter)
        self._runs.start(0, system.starts)
        self._kept = [self._runs.fresh() for _ in system.state]
        """The state in which the round begins."""
        self._in_round: list[int] = []
        """Of each step so far a literal for: it is one of the round."""
        self.none_to = 0
        """Within how many gt there is none."""
        self._held: list[int] = []
        """Of each condition taken to hold again and again a literal for: it has held in the round."""

    def deepen(self, most: int) -> Lasso | None:
        """A shortest such run of at most so many gt; None if there is none. Raises OverBudget."""
        while len(self._in_round) < most:
            self._step()
            asked = [self._in_round[-1], *self._held, self._back()]
            if self._runs.ask(asked):
                return self._lasso(asked)
            self.none_to = len(self._in_round)
        return None

    def _same(self, step: int) -> int:
        """A literal that has a state be the one that is kept, where it is true."""
        guard = self._runs.fresh()
        for kept, variable in zip(self._kept, self._system.state, strict=True):
            now = self._runs.literal(step, variable)
            self._runs.add(-guard, -kept, now)
            self._runs.add(-guard, kept, -now)
        return guard

    def _back(self) -> int:
        return self._same(len(self._in_round))

    def _step(self) -> None:
        """One gt more, in which the round may begin."""
        runs, at = self._runs, len(self._in_round)
        begins = self._same(at)
        within = runs.fresh()
        before = [self._in_round[-1]] if at else []
        runs.add(-within, begins, *before)
        if before:
            runs.add(-before[0], within)
        runs.deepen()
        runs.add(-within, runs.literal(at, self._rounds.owed_then))
        held = []
        for number, given in enumerate(self._rounds.held):
            now = runs.fresh()
            earlier = [self._held[number]] if at else []
            runs.add(-now, within, *earlier)
            runs.add(-now, runs.literal(at, given), *earlier)
            held.append(now)
        self._in_round.append(within)
        self._held = held

    def _lasso(self, asked: Sequence[int]) -> Lasso:
        """The run that was found, with no action that it can do without."""
        model = self._runs.calmed(asked)
        stimulus: Stimulus = stimulus_of(self._system, self._runs.steps(model))
        way = next(step for step, literal in enumerate(self._in_round) if literal in model)
        # The world is asked from gt 0 on, so that a round can't begin before it.
        return Lasso(stimulus[:way], stimulus[way:]) if way else Lasso(stimulus, stimulus)
