"""Who is first of two parts that change in one gt (rules C2, C3), where no order is kept from one gt to the next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from circuitcheck.certificate.gates import NO, YES, Gates

STRAIGHT, GOING_OFF, GOING_ON, ALL_ELSE = 1, 2, 3, 4
"""The classes of rule C3."""
HANDS_FIRST, WAITS, CELLS, PISTONS, HANDS_LAST = 0, 1, 2, 3, 4
"""The moments of rule C2 that matter here; one of those for hands is used, as the circuit is set."""


class Turn(NamedTuple):
    """When in a gt a part changes, under a condition. Of a part with no moment that is not known."""

    when: int
    moment: int | None
    order_class: int = 0
    length: int = 0
    """Of a wait: within a class the longer one began earlier, and so is first."""

    @property
    def place(self) -> tuple[int, int, int]:
        """Where it is in a gt: what has the smaller place is first."""
        return self.moment or 0, self.order_class, -self.length


class Turns:
    """Literals for: one changes before another. They say nothing where one of the two does not change."""

    def __init__(self, gates: Gates) -> None:
        self._gates = gates
        self._ties: dict[tuple[str, str], int] = {}

    def before(self, one: str, its: Sequence[Turn], other: str, others: Sequence[Turn]) -> int:
        """`one` changes before `other` does."""
        gates = self._gates
        if any(turn.moment is None for turn in (*its, *others)):
            return self._free(one, other)
        return gates.any(
            gates.all((mine.when, theirs.when, self._first(one, mine, other, theirs)))
            for mine in its
            for theirs in others
        )

    def _first(self, one: str, mine: Turn, other: str, theirs: Turn) -> int:
        if mine.place != theirs.place:
            return YES if mine.place < theirs.place else NO
        return self._tie(one, other)

    def _tie(self, one: str, other: str) -> int:
        """`one` is first of two turns of one place, which either may be."""
        pair = (min(one, other), max(one, other))
        if pair not in self._ties:
            self._ties[pair] = self._gates.input(f"{pair[0]} before {pair[1]}")
        return self._ties[pair] ^ int(one > other)

    def _free(self, one: str, other: str) -> int:
        return self._gates.input(f"{one} before {other} this time")
