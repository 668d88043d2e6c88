"""A first search for counterexamples where things move: inputs change now and then, and of each row only some cells.

Much can follow from what inputs may do in one gt there, while most mistakes need few changes. What is found is a run of
the circuit like any other; that nothing is found says nothing of what more changes can do.
"""

from __future__ import annotations

from circuitcheck.engine.program import Program
from circuitcheck.model.claims import Assumption, RateLimit
from circuitcheck.prove.world import Idle

FEW = RateLimit(2, 40, "at most 2 changes within 2s")
BUDGET = 60_000
"""How many states are looked at, at most."""
NONE_BY_FEW = "no counterexample has at most 2 changes within 2s of inputs and of the first and last cell of each row"


def few_changes(program: Program) -> tuple[Assumption, ...]:
    """What inputs are taken to do in this search."""
    rows: dict[str, list[str]] = {}
    for device in program.devices:
        if device.part.cell is not None:
            rows.setdefault(device.part.cell.row, []).append(device.part.name)
    return (FEW, Idle(tuple(name for row in rows.values() for name in row[1:-1]), 0, ""))


def are_few(assumptions: tuple[Assumption, ...]) -> bool:
    """Whether no more changes are assumed anyway."""
    return any(isinstance(each, RateLimit) and each.most <= FEW.most for each in assumptions)
