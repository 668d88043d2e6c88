"""What is so in every state of a system, found by supposing it: clauses that hold together from step to step.

C. Flanagan and K. R. M. Leino, "Houdini, an annotation assistant for ESC/Java" (FME 2001): all clauses that might hold
are supposed at once, and those that a step can break are taken away, until what is left keeps itself. Ours supposes two
kinds of clauses, both about a pace. Where a device still waits for so long, the inputs changed at most so many gt ago,
and at least so many: this says when the circuit is at rest. And where the claim's watch has counted so far, they
changed at least, or at most, so long ago: this says that a claim with a deadline is asked about at rest. What counts
down since some of them changed is bounded as well. Together they are most of a proof. Of clauses that differ only in
how long ago, the strongest is supposed first, then the next, and so on.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from circuitcheck.prove.meter import Meter
from circuitcheck.prove.symbolic.sat import Sat
from circuitcheck.prove.symbolic.system import System


class Now(NamedTuple):
    """A literal of a state, and the same of the state a gt later."""

    now: int
    then: int


class _Bound:
    """Where something is so, something else is: of several such things, the strongest that is not refuted."""

    def __init__(self, where: Now, limits: Sequence[Now]) -> None:
        self._where = where
        self._limits = list(limits)

    @property
    def limit(self) -> Now | None:
        """What is supposed where it is so; None where nothing is left."""
        return self._limits[0] if self._limits else None

    @property
    def now(self) -> tuple[int, int]:
        """The clause that is supposed of a state."""
        return -self._where.now, self._limits[0].now

    @property
    def then(self) -> tuple[int, int]:
        """The same of the state a gt later."""
        return -self._where.then, self._limits[0].then

    def keep_to(self, model: set[int], later: bool) -> None:
        """Goes on to what is so in a model, in its state or in that a gt later."""
        while self._limits and model.isdisjoint(self.then if later else self.now):
            del self._limits[0]


def invariants(system: System, meter: Meter) -> list[tuple[int, int]]:
    """Clauses of two literals that hold in every state. Raises OverBudget."""
    formula = system.formula
    step = (system.valid, system.allowed)  # gates, which must be among the clauses that the solver begins with
    sat = Sat(formula.clauses, meter)
    bounds = list(_suspected(system))
    for model in _starts(system, sat):
        for bound in bounds:
            bound.keep_to(model, later=False)
    guards: dict[tuple[int, int], tuple[int, int]] = {}
    while bounds := [bound for bound in bounds if bound.limit is not None]:
        for bound in bounds:
            if bound.now not in guards:
                guard, broken = guards[bound.now] = formula.fresh(), formula.fresh()
                sat.add(-guard, *bound.now)
                for literal in bound.then:
                    sat.add(-broken, -literal)
        held = [guards[bound.now] for bound in bounds]
        some = formula.fresh()
        sat.add(-some, *(broken for _, broken in held))
        if not sat.ask([*(guard for guard, _ in held), *step, some]):
            break
        model = sat.model()
        for bound in bounds:
            bound.keep_to(model, later=True)
    return [bound.now for bound in bounds]


def _suspected(system: System) -> Iterator[_Bound]:
    """A counter's bits come on one after the other; and what waits and what counts is bounded by the pace."""
    for counter in (system.paces, system.watching, system.counting):
        for less, more in itertools.pairwise(counter):
            yield _Bound(Now(*more), (Now(*less),))
    recent = [Now(*each) for each in system.paces]
    long_ago = [Now(-now, -then) for now, then in system.paces]
    for each in (*system.waiting, *system.watching):
        yield _Bound(Now(*each), recent[::-1])
        yield _Bound(Now(*each), long_ago)
    for now, then in system.counting:
        yield _Bound(Now(now, then), recent[::-1])
        yield _Bound(Now(-now, -then), long_ago)


def _starts(system: System, sat: Sat) -> Iterator[set[int]]:
    """What is true at each start: of literals of a state, all that is."""
    for start in system.starts:
        literals = [variable if bit else -variable for variable, bit in zip(system.state, start, strict=True)]
        possible = sat.ask(literals)
        assert possible, "every state has a value for each of its gates"
        yield sat.model()
