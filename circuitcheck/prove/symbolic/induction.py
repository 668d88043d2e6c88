"""A claim on a system, one gt deeper at a time: the shortest run that breaks it, or induction over that many gt.

M. Sheeran, S. Singh and G. Stålmarck, "Checking safety properties using induction and a SAT-solver" (FMCAD 2000). Ours
leaves out that no state comes twice, and adds what is known to be so in every state (`prove.symbolic.invariants`): that
is what makes a few gt enough where inputs keep a pace.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from circuitcheck.prove.meter import Meter
from circuitcheck.prove.symbolic.formula import TRUE
from circuitcheck.prove.symbolic.sat import Sat
from circuitcheck.prove.symbolic.system import System


class Unrolled:
    """A system gt after gt, in one formula."""

    def __init__(self, system: System, known: Iterable[tuple[int, int]], meter: Meter) -> None:
        self._system = system
        self._known = [(system.valid,), *known]
        self._allowed = system.allowed
        self._clauses = list(system.formula.clauses)
        self._sat = Sat([(TRUE,)], meter)
        self._count = 1
        self._steps = [self._names({})]
        """Of each gt, what each variable is called in the whole formula."""
        self._write()

    def fresh(self) -> int:
        """A new variable of the whole formula."""
        self._count += 1
        return self._count

    def add(self, *literals: int) -> None:
        """One of these literals of the whole formula is true."""
        self._sat.add(*literals)

    def _names(self, state: dict[int, int]) -> list[int]:
        """Names for the variables of one gt, where those of its state have theirs."""
        names = [0, TRUE]
        for variable in range(2, self._system.formula.variables + 1):
            known = state.get(variable)
            names.append(self.fresh() if known is None else known)
        return names

    @property
    def last(self) -> int:
        """The number of the latest gt."""
        return len(self._steps) - 1

    def literal(self, step: int, literal: int) -> int:
        """A literal of one gt in the whole formula."""
        names = self._steps[step]
        return names[literal] if literal > 0 else -names[-literal]

    def _write(self) -> None:
        """The clauses of the latest gt, and what is known of its state."""
        names = self._steps[-1]
        self._sat.write(
            [
                [names[each] if each > 0 else -names[-each] for each in clause]
                for clause in (*self._clauses, *self._known)
            ]
        )

    def start(self, step: int, starts: Iterable[Iterable[int]]) -> None:
        """A gt begins in one of some states."""
        begins = []
        for start in starts:
            begins.append(self.fresh())
            for variable, bit in zip(self._system.state, start, strict=True):
                self._sat.add(-begins[-1], self.literal(step, variable if bit else -variable))
        self._sat.add(*begins)

    def deepen(self) -> None:
        """Adds a gt: an allowed step leads on from the latest state."""
        system, last = self._system, self.last
        self._sat.add(self.literal(last, self._allowed))
        following = zip(system.state, system.following, strict=True)
        self._steps.append(self._names({variable: self.literal(last, then) for variable, then in following}))
        self._write()

    def ask(self, literals: Sequence[int]) -> bool:
        """Whether some literals of the whole formula can all be true. Raises OverBudget."""
        return self._sat.ask(literals)

    def calmed(self, asked: Sequence[int]) -> set[int]:
        """What is true in a run of which this can be so, without the actions that it can do without.

        To be called after `ask` said yes to it. Raises OverBudget.
        """
        inputs = [part.driven for part in self._system.parts if part.verbs]
        actions = [self.literal(step, driven) for step in range(self.last) for driven in inputs]
        model = self._sat.model()
        for action in actions:
            if action in model:
                calm = [-each for each in actions if each not in model or each == action]
                if self.ask([*asked, *calm]):
                    model = self._sat.model()
        return model

    def steps(self, model: set[int]) -> tuple[set[int], ...]:
        """What is true in each step, by the names of one gt."""
        return tuple(
            {variable if (name in model) else -variable for variable, name in enumerate(names) if variable}
            for names in self._steps[:-1]
        )


class Induction:
    """One claim, deepened gt by gt; `broken` is a literal of a state."""

    def __init__(self, system: System, broken: int, known: list[tuple[int, int]], meter: Meter) -> None:
        self.depth = 0
        self.unbroken = 0
        """Up to how many gt it is known that nothing breaks the claim."""
        self._broken = broken
        self._base = Unrolled(system, known, meter)
        self._base.start(0, system.starts)
        self._step = Unrolled(system, known, meter)

    def deepen(self, most: int) -> tuple[set[int], ...] | bool:
        """Goes on to a depth: a shortest run that breaks the claim, or whether it is proved. Raises OverBudget."""
        while self.depth < most:
            for each in (self._base, self._step):
                each.add(each.literal(each.last, -self._broken))
                each.deepen()
            self.depth += 1
            breaks = self._base.literal(self._base.last, self._broken)
            if self._base.ask([breaks]):
                return self._base.steps(self._base.calmed([breaks]))
            self.unbroken = self.depth
            if not self._step.ask([self._step.literal(self._step.last, self._broken)]):
                return True
        return False
