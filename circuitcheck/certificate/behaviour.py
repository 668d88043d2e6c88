"""What every kind of part has in a transition system: what it sees, its waits, and what others read of it.

A part sees of each input what it reads when the gt begins, as the part acts, and when the gt ends, and whether a dip of
it is noticed: a change that is undone within the gt. A wait is held as a row of bits, the k-th for: it has k gt to go
or more. Nothing waits before gt 0, in which each part gets its first update (rule C6); so what is not at rest then is
called by what it reads as that gt begins. Later that never happens to a part that does not wait.

Levels are held as rows of bits as well, one for each level that a part may give: it gives as much or more. Most parts
give all or nothing, and have one bit.

Wherever the rules leave something open, or this page knows less than they say, a free input decides.
"""

from __future__ import annotations

import itertools
from bisect import bisect_left
from collections.abc import Sequence
from typing import NamedTuple, Protocol

from circuitcheck.certificate.gates import NO, YES, Gates
from circuitcheck.certificate.power_ways import FULL, Ways
from circuitcheck.certificate.turns import ALL_ELSE, WAITS, Turn
from circuitcheck.model.parts.base import Part


class Measured(NamedTuple):
    """Whether an input is at a level or above it."""

    level: int
    first: int
    acting: int
    between: int
    """At some moment of the gt, after the part has acted if it does: the same moment for all its inputs and levels."""
    last: int


class Sight(NamedTuple):
    """What a part sees at one input."""

    first: int
    acting: int
    last: int
    dips: int
    changed: int = NO
    """Its level is another at the end than at the beginning; told only where levels are felt."""
    changed_since: int = NO
    """Its level is another at the end than as the part acts."""
    measured: tuple[Measured, ...] = ()
    """Each level that it can have, lowest first; told only where levels are measured."""
    possible: int = YES
    """There is a moment as that in between."""


class Bench(Protocol):
    """What a part is built on."""

    gates: Gates
    outside_first: bool
    straight: frozenset[str]

    def level(self, part: str, least: int = 1) -> int:
        """Whether a part gives at least a level: a bit that is held, and at the start is as the part starts."""

    def steps(self, part: str) -> tuple[int, ...]:
        """The levels above none that a part may give, lowest first."""

    def held(self, name: str) -> int:
        """A bit that is held, and is none at the start."""

    def becomes(self, held: int, then: int) -> None:
        """What a bit that is held is in the next gt."""

    def require(self, literal: int) -> None:
        """Only steps count in which this is so."""


class Source(Protocol):
    """What is read of a part by those that it feeds."""

    @property
    def name(self) -> str: ...
    @property
    def on(self) -> int: ...
    @property
    def then(self) -> int: ...
    @property
    def dipped(self) -> int: ...
    def turns(self) -> list[Turn]: ...
    def at_level(self, level: int) -> Source: ...


class Behaviour:
    """A part in the system. `then` is whether it is on when the gt ends."""

    levels = False
    """Whether it feels each change of a level, and not only whether there is power."""
    measures = False
    """Whether what it gives depends on how high a level is."""
    steps: tuple[int, ...] = (FULL,)
    """The levels above none that it may give, lowest first."""

    def __init__(self, bench: Bench, part: Part, ports: Sequence[Ways]) -> None:
        self.bench, self.gates = bench, bench.gates
        self.part, self.name, self.ports = part, part.name, ports
        self.on = bench.level(part.name, self.lowest())
        self.then = NO
        self.driven = NO
        self.dipped = NO
        """It is on, goes off and comes on again within the gt, or the other way round."""
        self.waits: list[int] = []
        longest = self.longest()
        if longest:
            self.waits = [bench.held(f"{part.name} waits {gt} gt or more") for gt in range(1, longest + 1)]
        self.declare()

    # What each kind says of itself

    def longest(self) -> int:
        """The longest wait that it may begin."""
        return 0

    def lowest(self) -> int:
        """The level from which on it counts as on."""
        return 1

    def declare(self) -> None:
        """Gives it what others read of it."""
        self.then = self.gates.input(f"{self.name} is on in the end")

    def turns(self) -> list[Turn]:
        """When it may change."""
        return self.acts()

    def acts(self) -> list[Turn]:
        """When it acts."""
        return [Turn(YES, WAITS, ALL_ELSE, self.longest())]

    def build(self, sights: Sequence[Sight]) -> None:
        """Says what it becomes."""
        raise NotImplementedError

    # What they share

    def at_level(self, level: int) -> Source:
        """It, as one that is on where it gives at least a level."""
        return self

    @property
    def waiting(self) -> int:
        """It waits."""
        return self.waits[0] if self.waits else NO

    @property
    def due(self) -> int:
        """Its wait is over in this gt."""
        return self.gates.both(self.waits[0], (self.waits[1] if len(self.waits) > 1 else NO) ^ 1)

    @property
    def free_to_wait(self) -> int:
        """It does not wait, or its wait ends."""
        return self.gates.any((self.waiting ^ 1, self.due))

    def starts_if(self, literal: int) -> int:
        """This is so while it does not wait: it is called by its first update."""
        return self.gates.both(self.waiting ^ 1, literal)

    def begins(self, *waits: tuple[int, int]) -> None:
        """Its wait goes on, or one of these begins: a condition and a length."""
        for place, held in enumerate(self.waits):
            later = self.waits[place + 1] if place + 1 < len(self.waits) else NO
            new = [condition for condition, length in waits if length > place]
            self.bench.becomes(held, self.gates.any((later, *new)))

    def ends_as(self, on: int) -> None:
        """Whether it is on in the end."""
        self.bench.becomes(self.on, self.then)
        self.bench.require(self.gates.same(self.then, on))


class AtLevel(NamedTuple):
    """A part as one that is on where it gives at least a level."""

    part: Behaviour
    on: int
    then: int
    dipped: int

    @property
    def name(self) -> str:
        return self.part.name

    def turns(self) -> list[Turn]:
        return self.part.turns()

    def at_level(self, level: int) -> Source:
        return self.part.at_level(level)


class Graded(Behaviour):
    """A part that gives levels between none and full."""

    def lowest(self) -> int:
        self.steps = self.bench.steps(self.name)
        return self.steps[0]

    def declare(self) -> None:
        name = self.name
        self.gives = [self.on, *(self.bench.level(name, step) for step in self.steps[1:])]
        """Of each step whether it gives as much when the gt begins."""
        self.to_give = [self.gates.input(f"{name} gives {step} or more in the end") for step in self.steps]
        self.then = self.to_give[0]

    def at_level(self, level: int) -> Source:
        place = bisect_left(self.steps, level)
        if place == len(self.steps):
            return AtLevel(self, NO, NO, NO)
        return AtLevel(self, self.gives[place], self.to_give[place], self.dipped)

    def in_order(self, row: Sequence[int]) -> None:
        """What gives a level gives all lower ones."""
        for lower, higher in itertools.pairwise(row):
            self.bench.require(self.gates.both(higher, lower ^ 1) ^ 1)

    def ends_at(self, levels: Sequence[int]) -> None:
        """Of each step whether it gives as much in the end."""
        for held, then, level in zip(self.gives, self.to_give, levels, strict=True):
            self.bench.becomes(held, then)
            self.bench.require(self.gates.same(then, level))


class FreeAtAnyTime(Behaviour):
    """What the two kinds of part below share: each may change at any time, and go there and back within a gt."""

    def declare(self) -> None:
        super().declare()
        self.dipped = self.gates.input(f"{self.name} goes there and back")

    def turns(self) -> list[Turn]:
        return [Turn(YES, None)]


class LeftFree(FreeAtAnyTime):
    """A part that may do anything: be on or off when the gt ends, and there and back within it, at any time."""

    def build(self, sights: Sequence[Sight]) -> None:
        self.bench.becomes(self.on, self.then)


class LevelLeftFree(FreeAtAnyTime, Graded):
    """A part that may give any level, and go through any others within the gt, at any time."""

    def build(self, sights: Sequence[Sight]) -> None:
        self.ends_at(self.to_give)
        self.in_order(self.gives)
        self.in_order(self.to_give)
