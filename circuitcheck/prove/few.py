"""A first search for counterexamples where things move: inputs change now and then, and of unlike rows only some cells.

Much can follow from what inputs may do in one gt there, while most mistakes need few changes. What is found is a run of
the circuit like any other; that nothing is found says nothing of what more changes can do.
"""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.engine.program import Program
from circuitcheck.model.claims import Assumption, RateLimit
from circuitcheck.prove.interchange import like_cells
from circuitcheck.prove.world import Idle


class FewChanges(NamedTuple):
    """One such search: what inputs are taken to do in it, and how many states are looked at, at most."""

    pace: tuple[RateLimit, ...]
    budget: int


SEARCHES = (
    FewChanges((RateLimit(2, 40, "at most 2 changes within 2s"),), 60_000),
    # One at a time: three that come in one gt lead to many orders, and seldom to more than three in a row do.
    FewChanges(
        (RateLimit(3, 40, "at most 3 changes within 2s"), RateLimit(1, 1, "at most 1 changes within 1gt")), 30_000
    ),
)
"""Each is made only if the one before was finished and found nothing."""
NONE_BY_FEW = "no counterexample has at most 2 changes within 2s of inputs"


def few_changes(program: Program, search: FewChanges) -> tuple[Assumption, ...]:
    """What inputs are taken to do in a search; of a row of cells that are not alike the first and last may change."""
    rows: dict[str, list[str]] = {}
    alike = like_cells(program)
    for device in program.devices:
        if device.part.cell is not None and device.part.name not in alike:
            rows.setdefault(device.part.cell.row, []).append(device.part.name)
    return (*search.pace, Idle(tuple(name for row in rows.values() for name in row[1:-1]), 0, ""))


def none_by_few(program: Program) -> str:
    """What a first search says that was finished and found nothing."""
    left_out = any(isinstance(each, Idle) and each.names for each in few_changes(program, SEARCHES[0]))
    return f"{NONE_BY_FEW} and of the first and last cell of each row" if left_out else NONE_BY_FEW


def are_few(assumptions: tuple[Assumption, ...]) -> bool:
    """Whether no more changes are assumed anyway."""
    most = SEARCHES[0].pace[0].most
    return any(isinstance(each, RateLimit) and each.most <= most for each in assumptions)
