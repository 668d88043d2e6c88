"""And-inverter graphs, and the AIGER format that they are written in.

A literal is a whole number: twice a variable, plus one where it is negated; 0 is false and 1 is true. The format is
that of A. Biere, K. Heljanko and S. Wieringa, "AIGER 1.9 And Beyond" (Johannes Kepler University Linz, 2011), in its
text form: latches with resets, one bad-state property, invariant constraints, and symbols.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

NO, YES = 0, 1


class Latch(NamedTuple):
    """What holds a bit from one step to the next; its reset is a bit, or None where it may begin as either."""

    name: str
    literal: int
    then: int
    reset: int | None


class Gates:
    """And-gates as they are asked for; equal gates are one."""

    def __init__(self) -> None:
        self._count = 0
        self.inputs: dict[int, str] = {}
        """What each input is called, by its variable."""
        self.ands: dict[int, tuple[int, int]] = {}
        self._known: dict[tuple[int, int], int] = {}

    def _fresh(self) -> int:
        self._count += 1
        return 2 * self._count

    def input(self, name: str) -> int:
        """A bit that nothing decides."""
        literal = self._fresh()
        self.inputs[literal // 2] = name
        return literal

    def held(self) -> int:
        """A bit that a latch will hold."""
        return self._fresh()

    def both(self, one: int, other: int) -> int:
        """Both are true."""
        low, high = sorted((one, other))
        if low == NO or high == low ^ 1:
            return NO
        if low in (YES, high):
            return high
        known = self._known.get((low, high))
        if known is None:
            known = self._known[low, high] = self._fresh()
            self.ands[known // 2] = (low, high)
        return known

    def all(self, literals: Iterable[int]) -> int:
        """All are true."""
        found = YES
        for literal in literals:
            found = self.both(found, literal)
        return found

    def any(self, literals: Iterable[int]) -> int:
        """At least one is true."""
        return self.all(literal ^ 1 for literal in literals) ^ 1

    def choose(self, condition: int, then: int, other: int) -> int:
        """`then` where the condition is true, and `other` where it is not."""
        return self.both(self.both(condition, then) ^ 1, self.both(condition ^ 1, other) ^ 1) ^ 1

    def same(self, one: int, other: int) -> int:
        """The two are equal."""
        return self.choose(one, other, other ^ 1)


@dataclass(frozen=True)
class Model:
    """A transition system in the numbering of its file: inputs first, then latches, then gates, each after its own."""

    inputs: tuple[str, ...]
    latches: tuple[Latch, ...]
    ands: tuple[tuple[int, int, int], ...]
    constraints: tuple[int, ...]
    """What is so in every step that counts."""
    bad: int

    @property
    def most(self) -> int:
        """The highest variable."""
        return len(self.inputs) + len(self.latches) + len(self.ands)

    def text(self, comment: Iterable[str] = ()) -> str:
        """The model as an AIGER file."""
        counts = (self.most, len(self.inputs), len(self.latches), 0, len(self.ands), 1, len(self.constraints))
        lines = ["aag " + " ".join(map(str, counts))]
        lines += [str(2 * (place + 1)) for place in range(len(self.inputs))]
        lines += [_latch_line(latch) for latch in self.latches]
        lines += [str(self.bad), *map(str, self.constraints)]
        lines += [f"{gate} {high} {low}" for gate, low, high in self.ands]
        lines += [f"i{place} {name}" for place, name in enumerate(self.inputs)]
        lines += [f"l{place} {latch.name}" for place, latch in enumerate(self.latches)]
        lines += ["b0 the claim is broken", "c", *comment]
        return "\n".join(lines) + "\n"

    def values(self, state: Sequence[int], inputs: Sequence[int]) -> list[int]:
        """The value of each variable in a step; that of variable 0 is false."""
        values = [0, *inputs, *state]
        for _, low, high in self.ands:
            values.append((values[low >> 1] ^ low & 1) & (values[high >> 1] ^ high & 1))
        return values


def _latch_line(latch: Latch) -> str:
    if latch.reset is None:
        return f"{latch.literal} {latch.then} {latch.literal}"
    return f"{latch.literal} {latch.then}" + (" 1" if latch.reset else "")


def numbered(gates: Gates, latches: Sequence[Latch], constraints: Sequence[int], bad: int) -> Model:
    """The part of a graph that latches, constraints and the property come from, in the numbering of its file."""
    kept = needed(gates, [*(latch.then for latch in latches), *constraints, bad])
    inputs = [variable for variable in gates.inputs if variable in kept]
    order = [*inputs, *(latch.literal // 2 for latch in latches)]
    order += [variable for variable in gates.ands if variable in kept]
    place = {0: 0, **{variable: number for number, variable in enumerate(order, 1)}}

    def moved(literal: int) -> int:
        return 2 * place[literal >> 1] | literal & 1

    ands = []
    for variable in order[len(inputs) + len(latches) :]:
        low, high = sorted(map(moved, gates.ands[variable]))
        ands.append((2 * place[variable], low, high))
    return Model(
        tuple(gates.inputs[variable] for variable in inputs),
        tuple(latch._replace(literal=moved(latch.literal), then=moved(latch.then)) for latch in latches),
        tuple(ands),
        tuple(map(moved, constraints)),
        moved(bad),
    )


def needed(gates: Gates, literals: Iterable[int]) -> set[int]:
    """The variables that some literals come from."""
    ands: Mapping[int, tuple[int, int]] = gates.ands
    found: set[int] = set()
    stack = [literal >> 1 for literal in literals]
    while stack:
        variable = stack.pop()
        if variable not in found:
            found.add(variable)
            stack += [literal >> 1 for literal in ands.get(variable, ())]
    return found
