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


class _Unrolled:
    """A system gt after gt, in one formula."""

    def __init__(self, system: System, broken: int, known: Iterable[tuple[int, int]], meter: Meter) -> None:
        self._system, self._broken = system, broken
        self._known = [(system.valid,), *known]
        self._allowed = system.allowed
        self._clauses = list(system.formula.clauses)
        self._sat = Sat([(TRUE,)], meter)
        self._count = 1
        self.names = [self._names({})]
        """Of each gt, what each variable is called in the whole formula."""
        self._write()

    def _names(self, state: dict[int, int]) -> list[int]:
        """Names for the variables of one gt, where those of its state have theirs."""
        names = [0, TRUE]
        for variable in range(2, self._system.formula.variables + 1):
            known = state.get(variable)
            if known is None:
                self._count += 1
                known = self._count
            names.append(known)
        return names

    def literal(self, step: int, literal: int) -> int:
        """A literal of one gt in the whole formula."""
        names = self.names[step]
        return names[literal] if literal > 0 else -names[-literal]

    def _write(self) -> None:
        """The clauses of the latest gt, and what is known of its state."""
        names = self.names[-1]
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
            self._count += 1
            begins.append(self._count)
            for variable, bit in zip(self._system.state, start, strict=True):
                self._sat.add(-self._count, self.literal(step, variable if bit else -variable))
        self._sat.add(*begins)

    def deepen(self) -> None:
        """Adds a gt: the latest state is unbroken, and an allowed step leads on from it."""
        system, last = self._system, len(self.names) - 1
        self._sat.add(self.literal(last, -self._broken))
        self._sat.add(self.literal(last, self._allowed))
        following = zip(system.state, system.following, strict=True)
        self.names.append(self._names({variable: self.literal(last, then) for variable, then in following}))
        self._write()

    def breaks(self, besides: Sequence[int] = ()) -> bool:
        """Whether the claim can be broken in the latest state, if more is so besides. Raises OverBudget."""
        return self._sat.ask([self.literal(len(self.names) - 1, self._broken), *besides])

    def calmed(self) -> tuple[set[int], ...]:
        """Of the run that was found, one of the same length with no action that it can do without.

        What is true in each step, by the names of one gt. Raises OverBudget.
        """
        inputs = [part.driven for part in self._system.parts if part.verbs]
        actions = [self.literal(step, driven) for step in range(len(self.names) - 1) for driven in inputs]
        model = self._sat.model()
        for action in actions:
            if action in model:
                calm = [-each for each in actions if each not in model or each == action]
                if self.breaks(calm):
                    model = self._sat.model()
        return self._run(model)

    def _run(self, model: set[int]) -> tuple[set[int], ...]:
        return tuple(
            {variable if (name in model) else -variable for variable, name in enumerate(names) if variable}
            for names in self.names[:-1]
        )


class Induction:
    """One claim, deepened gt by gt; `broken` is a literal of a state."""

    def __init__(self, system: System, broken: int, known: list[tuple[int, int]], meter: Meter) -> None:
        self.depth = 0
        self._base = _Unrolled(system, broken, known, meter)
        self._base.start(0, system.starts)
        self._step = _Unrolled(system, broken, known, meter)

    def deepen(self, most: int) -> tuple[set[int], ...] | bool:
        """Goes on to a depth: a shortest run that breaks the claim, or whether it is proved. Raises OverBudget."""
        while self.depth < most:
            self._base.deepen()
            self._step.deepen()
            self.depth += 1
            if self._base.breaks():
                return self._base.calmed()
            if not self._step.breaks():
                return True
        return False
