"""Clauses of a formula while it is put together, with the two constants folded away.

"Exactly one of many" goes by a chain of helpers, each of which says that the chosen one has come by then (the ladder of
I. Gent and P. Nightingale, "A new encoding of AllDifferent into SAT", 2004). So the chain is at the same time an order
on what is chosen, as in the order encoding of N. Tamura et al., "Compiling finite linear CSP into SAT" (Constraints,
2009).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence

YES, NO = 1, -1
"""The constants: variable 1 is true."""


class Clauses:
    """A formula that grows; a literal is a number of DIMACS."""

    def __init__(self) -> None:
        self.count = 1
        self.all: list[list[int]] = [[YES]]

    def fresh(self) -> int:
        """A new variable."""
        self.count += 1
        return self.count

    def add(self, *literals: int) -> None:
        """One of these is true."""
        if YES not in literals:
            self.all.append([literal for literal in literals if literal != NO])

    def implied(self, premises: Sequence[int], *conclusions: int) -> None:
        """Where all the premises are true, one of the conclusions is."""
        self.add(*(-premise for premise in premises), *conclusions)

    def any_of(self, literals: Iterable[int]) -> int:
        """What is true exactly where one of these is."""
        among = [literal for literal in dict.fromkeys(literals) if literal != NO]
        if YES in among:
            return YES
        if len(among) < 2:
            return among[0] if among else NO
        whole = self.fresh()
        self.add(-whole, *among)
        for literal in among:
            self.add(whole, -literal)
        return whole

    def all_of(self, *literals: int) -> int:
        """What is true exactly where all of these are."""
        return -self.any_of(-literal for literal in literals)

    def at_most_one(self, literals: Sequence[int]) -> None:
        """At most one of a few is true."""
        for one, other in itertools.combinations([literal for literal in literals if literal != NO], 2):
            self.add(-one, -other)

    def exactly_one(self, literals: Sequence[int]) -> list[int]:
        """One of these is true; the answer says of each whether the true one is it or stands before it."""
        by_then: list[int] = []
        before = NO
        for literal in literals:
            now = self.any_of([before, literal])
            self.add(-before, -literal)
            by_then.append(now)
            before = now
        self.add(before)
        return by_then
