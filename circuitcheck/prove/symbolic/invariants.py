"""What is so in every state of a system, found by supposing it: clauses that hold together from step to step.

C. Flanagan and K. R. M. Leino, "Houdini, an annotation assistant for ESC/Java" (FME 2001): all clauses that might hold
are supposed at once, and those that a step can break are taken away, until what is left keeps itself. Ours supposes one
kind of clause: where a device waits, the inputs changed not longer ago than so. Under a pace that lets a circuit come
to rest this says when it is at rest, which is what most proofs about it begin with.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from circuitcheck.prove.meter import Meter
from circuitcheck.prove.symbolic.system import System

if TYPE_CHECKING:
    from pysat.solvers import Solver

SOLVER = "glucose4"
QUESTION = 8
"""How many states a question to the solver costs."""
CLAUSE, CONFLICT = 2, 128
"""What a clause and a conflict cost, in moves. So a budget of states lasts about as long as it does for a walk."""


class Either(NamedTuple):
    """A clause of two literals of a state, and the same of the state a gt later."""

    now: tuple[int, int]
    then: tuple[int, int]


def solver(clauses: list[tuple[int, ...]]) -> Solver:
    """A solver that begins with some clauses."""
    from pysat.solvers import Solver

    return Solver(name=SOLVER, bootstrap_with=clauses)


def invariants(system: System, meter: Meter) -> list[tuple[int, int]]:
    """Clauses of two literals that hold in every state. Raises OverBudget."""
    formula = system.formula
    asking = solver(formula.clauses)
    supposed = [each for each in _suspected(system) if _holds_at_starts(system, asking, each)]
    held = {formula.fresh(): each for each in supposed}
    breaks = {guard: formula.fresh() for guard in held}
    for guard, each in held.items():
        asking.add_clause([-guard, *each.now])
        for literal in each.then:
            asking.add_clause([-breaks[guard], -literal])
    while held:
        some = formula.fresh()
        asking.add_clause([-some, *(breaks[guard] for guard in held)])
        meter.count(QUESTION)
        if not asking.solve(assumptions=[*held, system.valid, system.allowed, some]):
            break
        model = set(asking.get_model())
        held = {guard: each for guard, each in held.items() if not model.isdisjoint(each.then)}
    return [each.now for each in held.values()]


def _suspected(system: System) -> list[Either]:
    return [
        Either((-waits, pace), (-waits_then, pace_then))
        for waits, waits_then in system.waiting
        for pace, pace_then in system.paces
    ]


def _holds_at_starts(system: System, asking: Solver, clause: Either) -> bool:
    starts = [
        [variable if bit else -variable for variable, bit in zip(system.state, start, strict=True)]
        for start in system.starts
    ]
    return all(not asking.solve(assumptions=[*start, *(-literal for literal in clause.now)]) for start in starts)
