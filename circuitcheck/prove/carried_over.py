"""Clauses of invariants that were found for one claim, as guesses for the next: claims of a circuit share most of it.

They go by the names of what the systems hold. Nothing rests on them: what a step of the other system leads out of is
left out, and what is kept is proved again (`prove.certifying`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from circuitcheck.certificate.gates import Model
from circuitcheck.certificate.three_questions import Clause


class CarriedOver:
    """The clauses so far."""

    def __init__(self) -> None:
        self._clauses: dict[tuple[tuple[str, bool], ...], None] = {}

    def keep(self, model: Model, clauses: Iterable[Clause]) -> None:
        """Keeps the clauses of an invariant of a system."""
        names = {latch.literal >> 1: latch.name for latch in model.latches}
        for clause in clauses:
            self._clauses[tuple((names[abs(literal)], literal > 0) for literal in clause)] = None

    def about(self, model: Model) -> Iterator[Clause]:
        """The clauses that are about what a system holds, in its numbers."""
        numbers = {latch.name: latch.literal >> 1 for latch in model.latches}
        for clause in self._clauses:
            if all(name in numbers for name, _ in clause):
                yield tuple(numbers[name] if true else -numbers[name] for name, true in clause)
