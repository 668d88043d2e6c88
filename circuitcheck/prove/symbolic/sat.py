"""A SAT solver whose work counts against a budget: the library python-sat, with its solver Glucose."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from circuitcheck.prove.interrupts import interruptible
from circuitcheck.prove.meter import MOVES_A_STATE, Meter, OverBudget

if TYPE_CHECKING:
    from pysat.solvers import Solver

SOLVER = "glucose4"
QUESTION = 8
"""How many states a question costs."""
CLAUSE, CONFLICT = 2, 128
"""What a clause and a conflict cost, in moves. So a budget of states lasts about as long as it does for a walk."""


def proof_of(clauses: Sequence[Iterable[int]], meter: Meter) -> str | None:
    """The proof that clauses have no answer, in the DRAT format; None where they have one. Raises OverBudget."""
    from pysat.solvers import Solver

    meter.count(QUESTION, CLAUSE * len(clauses))
    with Solver(name=SOLVER, bootstrap_with=clauses, with_proof=True) as solver:
        solver.conf_budget(meter.left * MOVES_A_STATE // CONFLICT + 1)
        with interruptible():
            possible: bool | None = solver.solve_limited()
        meter.count(0, solver.accum_stats()["conflicts"] * CONFLICT)
        if possible is None:
            raise OverBudget("the solver's share of the budget ran out")
        if possible:
            return None
        lines = [*solver.get_proof()]
        if lines[-1:] != ["0"]:  # clauses that contradict one another at once leave nothing to be learned
            lines.append("0")
        return "\n".join(lines) + "\n"


class Sat:
    """Clauses, and questions about them. Each method that adds or asks may raise OverBudget."""

    def __init__(self, clauses: Sequence[Iterable[int]], meter: Meter) -> None:
        from pysat.solvers import Solver

        self._meter = meter
        meter.count(0, CLAUSE * len(clauses))
        self._solver: Solver = Solver(name=SOLVER, bootstrap_with=clauses)
        self._conflicts = 0

    def add(self, *literals: int) -> None:
        """One of these literals is true."""
        self._solver.add_clause(literals)

    def write(self, clauses: Sequence[Iterable[int]]) -> None:
        """Adds many clauses."""
        self._meter.count(0, CLAUSE * len(clauses))
        for clause in clauses:
            self._solver.add_clause(clause)

    def ask(self, assumptions: Sequence[int]) -> bool:
        """Whether all of this can be true together."""
        answer = self._solved(assumptions, self._meter.left * MOVES_A_STATE // CONFLICT + 1)
        if answer is None:
            raise OverBudget("the solver's share of the budget ran out")
        return answer

    def excludes(self, assumptions: Sequence[int], conflicts: int) -> bool:
        """Whether this can't be true together, as far as so many conflicts show it."""
        most = self._meter.left * MOVES_A_STATE // CONFLICT + 1
        answer = self._solved(assumptions, min(conflicts, most))
        if answer is None and most < conflicts:
            raise OverBudget("the solver's share of the budget ran out")
        return answer is False

    def _solved(self, assumptions: Sequence[int], most: int) -> bool | None:
        """Whether all of this can be true together; None where so many conflicts don't decide it."""
        self._meter.count(QUESTION)
        self._solver.conf_budget(most)
        with interruptible():
            answer: bool | None = self._solver.solve_limited(assumptions=assumptions)
        conflicts = self._solver.accum_stats()["conflicts"]
        spent, self._conflicts = conflicts - self._conflicts, conflicts
        self._meter.count(0, spent * CONFLICT)
        return answer

    def model(self) -> set[int]:
        """After yes: what is true."""
        return set(self._solver.get_model())

    def core(self) -> set[int]:
        """After no: assumptions that can't be true together."""
        return set(self._solver.get_core() or ())
