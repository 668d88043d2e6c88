"""Formulas as clauses: gates and truth tables over numbered variables.

A literal is a whole number, as in the DIMACS format: a variable, or minus it for its negation. TRUE is variable 1.
Gates are given the clauses of G. S. Tseitin, "On the complexity of derivation in propositional calculus" (1968). A
truth table becomes a decision diagram first, as in R. E. Bryant, "Graph-based algorithms for Boolean function
manipulation" (1986); ours is not kept canonical where the table leaves rows out, since any value will do there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

TRUE = 1
FALSE = -1

Bits = tuple[int, ...]


class Formula:
    """Variables and clauses; equal gates are one."""

    def __init__(self) -> None:
        self.clauses: list[tuple[int, ...]] = [(TRUE,)]
        self._count = 1
        self._gates: dict[tuple[int, int, int], int] = {}

    @property
    def variables(self) -> int:
        """How many variables there are."""
        return self._count

    @property
    def gates(self) -> dict[int, tuple[int, int, int]]:
        """What each gate is, by its variable: a condition, the literal where it is so, and that where it is not."""
        return {known: key for key, known in self._gates.items() if known > 0}

    def fresh(self) -> int:
        """A new variable."""
        self._count += 1
        return self._count

    def add(self, *literals: int) -> None:
        """One of these literals is true."""
        if TRUE not in literals:
            self.clauses.append(tuple(literal for literal in literals if literal != FALSE))

    def choose(self, condition: int, then: int, other: int) -> int:
        """A literal for `then` where the condition is true, and for `other` where it is not."""
        if condition < 0:
            condition, then, other = -condition, other, then
        if condition == TRUE or then == other:
            return then
        if then == condition:
            then = TRUE
        elif then == -condition:
            then = FALSE
        if other == condition:
            other = FALSE
        elif other == -condition:
            other = TRUE
        if then == TRUE and other == FALSE:
            return condition
        if then == FALSE and other == TRUE:
            return -condition
        key = (condition, then, other)
        known = self._gates.get(key)
        if known is None:
            known = self._gates[key] = self.fresh()
            self._gates[condition, -then, -other] = -known
            self.add(-condition, -then, known)
            self.add(-condition, then, -known)
            self.add(condition, -other, known)
            self.add(condition, other, -known)
        return known

    def both(self, one: int, other: int) -> int:
        """A literal for: both are true."""
        if abs(one) > abs(other):
            one, other = other, one
        return self.choose(one, other, FALSE)

    def all(self, literals: Iterable[int]) -> int:
        """A literal for: all are true."""
        found = TRUE
        for literal in sorted(set(literals), key=abs):
            found = self.both(found, literal)
        return found

    def any(self, literals: Iterable[int]) -> int:
        """A literal for: at least one is true."""
        return -self.all(-literal for literal in literals)

    def same(self, one: int, other: int) -> int:
        """A literal for: the two are equal."""
        return self.choose(one, other, -other)

    def table(self, inputs: Sequence[int], rows: Mapping[Bits, int]) -> int:
        """A literal for the value that the rows give to the inputs' bits; where there is no row, any value."""
        return self._decide(inputs, 0, list(rows.items()))

    def _decide(self, inputs: Sequence[int], place: int, rows: list[tuple[Bits, int]]) -> int:
        first = rows[0][1]
        if all(value == first for _, value in rows):
            return TRUE if first else FALSE
        low = [row for row in rows if not row[0][place]]
        high = [row for row in rows if row[0][place]]
        if not low or not high:
            return self._decide(inputs, place + 1, low or high)
        return self.choose(inputs[place], self._decide(inputs, place + 1, high), self._decide(inputs, place + 1, low))


def code(number: int, width: int) -> Bits:
    """The bits of a number, lowest first."""
    return tuple(number >> place & 1 for place in range(width))


def thermometer(number: int, width: int) -> Bits:
    """As many ones as the number says: of counters, so that a clause can say `at least so many` with one literal."""
    return tuple(int(number > place) for place in range(width))


def width_of(count: int) -> int:
    """How many bits tell so many things apart."""
    return max(count - 1, 0).bit_length()
