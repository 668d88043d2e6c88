"""What is so in every state of a system, found by supposing it: clauses that hold together from step to step.

C. Flanagan and K. R. M. Leino, "Houdini, an annotation assistant for ESC/Java" (FME 2001): all clauses that might hold
are supposed at once, and those that a step can break are taken away, until what is left keeps itself. Ours supposes one
kind of clause: where a device waits, the inputs changed not longer ago than so. Under a pace that lets a circuit come
to rest this says when it is at rest, which is what most proofs about it begin with.
"""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.prove.meter import Meter
from circuitcheck.prove.symbolic.sat import Sat
from circuitcheck.prove.symbolic.system import System


class Either(NamedTuple):
    """A clause of two literals of a state, and the same of the state a gt later."""

    now: tuple[int, int]
    then: tuple[int, int]


def invariants(system: System, meter: Meter) -> list[tuple[int, int]]:
    """Clauses of two literals that hold in every state. Raises OverBudget."""
    formula = system.formula
    sat = Sat(formula.clauses, meter)
    supposed = [each for each in _suspected(system) if _holds_at_starts(system, sat, each)]
    held = {formula.fresh(): each for each in supposed}
    breaks = {guard: formula.fresh() for guard in held}
    for guard, each in held.items():
        sat.add(-guard, *each.now)
        for literal in each.then:
            sat.add(-breaks[guard], -literal)
    while held:
        some = formula.fresh()
        sat.add(-some, *(breaks[guard] for guard in held))
        if not sat.ask([*held, system.valid, system.allowed, some]):
            break
        model = sat.model()
        held = {guard: each for guard, each in held.items() if not model.isdisjoint(each.then)}
    return [each.now for each in held.values()]


def _suspected(system: System) -> list[Either]:
    return [
        Either((-waits, pace), (-waits_then, pace_then))
        for waits, waits_then in system.waiting
        for pace, pace_then in system.paces
    ]


def _holds_at_starts(system: System, sat: Sat, clause: Either) -> bool:
    starts = [
        [variable if bit else -variable for variable, bit in zip(system.state, start, strict=True)]
        for start in system.starts
    ]
    return all(not sat.ask([*start, *(-literal for literal in clause.now)]) for start in starts)
