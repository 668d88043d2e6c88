"""What the formula of one gt makes of a claim: proved, a shortest run that the engine must go again, or neither.

A claim is tried first of the devices that it names, with those left free that feed them, then with more and more around
them (localization: R. P. Kurshan, *Computer-Aided Verification of Coordinating Processes*, 1994; ours widens by what is
near, not by what a counterexample needs), and at last of all upstream.

Where there is a pace, and the claim sets a deadline, induction over one gt or two comes before all that, of all
upstream: with what is known of a circuit at rest that is enough for most logic without memory. Of the rest induction is
tried first, a few gt deep. Then an invariant is sought, which needs no depth; and last, induction goes on as deep as
the budget lasts.
"""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.engine.program import Program
from circuitcheck.model.claims import (
    Assumption,
    Atom,
    Body,
    Condition,
    Delay,
    Invariant,
    Lengths,
    RateLimit,
    Relation,
    Response,
    Steady,
    Test,
    Until,
    atoms,
    conditions,
)
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.prove.compose import Stimulus
from circuitcheck.prove.cut import cone
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.space import seen_by
from circuitcheck.prove.symbolic.by_depth import cuts_by_depth
from circuitcheck.prove.symbolic.induction import Induction
from circuitcheck.prove.symbolic.invariants import invariants
from circuitcheck.prove.symbolic.local import has_two_levels
from circuitcheck.prove.symbolic.reachability import Search
from circuitcheck.prove.symbolic.system import System, stimulus_of
from circuitcheck.prove.symbolic.watched import assumed, claimed

AT_REST = 2
"""How many gt deep induction goes where all that may help is what is known at rest."""
SHALLOW = 24
"""How many gt deep induction goes before an invariant is sought."""
DEEPEST = 120
"""How many gt deep it goes at most."""
SEARCHES = 3
"""The share of the budget that the search for an invariant has: one part in so many."""


class Decided(NamedTuple):
    """What came of it."""

    proved: bool
    depth: int
    """Up to how many gt nothing breaks the claim; of induction, over how many gt it went."""
    clauses: int = 0
    """Of how many clauses the invariant is that proves it, beside those that are known; 0 for induction."""
    parts: int = 0
    """How many devices it is proved of, whatever those do that feed them; 0 where that is all upstream."""
    run: Stimulus | None = None
    """What is done from outside on a shortest run of the formula that breaks it."""
    kept: int = 0
    """Where neither came of it: how many of the clauses that came nearest to an invariant a step keeps."""
    sought: int = 0
    """How many clauses those are."""
    limit: str = ""
    """What ran out before anything came of it."""


def deadline_at_rest(program: Program, body: Body, assumptions: Sequence[Assumption], meter: Meter) -> Decided | None:
    """The proof of a deadline by what a pace says of the circuit at rest, if there is one. Raises TooMuch, OverBudget.

    Other claims are not asked: on a shift register, and on a net of gates that waits for itself, asking took seconds
    and proved nothing.
    """
    return proved_at_rest(program, body, assumptions, meter) if isinstance(body, Response | Delay) else None


def proved_at_rest(program: Program, body: Body, assumptions: Sequence[Assumption], meter: Meter) -> Decided | None:
    """The proof of a claim by what a pace says of the circuit at rest, if there is one. Raises TooMuch, OverBudget."""
    if all(not isinstance(each, RateLimit) for each in assumptions):
        return None
    asked = _asked(program, _whole(program, body), body, assumptions, meter)
    return Decided(True, asked.induction.depth) if asked.induction.deepen(AT_REST) is True else None


def proved_of_little(program: Program, body: Body, assumptions: Sequence[Assumption], meter: Meter) -> Decided | None:
    """The proof of a claim of the devices it names and of what is near, if there is one. Raises TooMuch, OverBudget."""
    asked = dict.fromkeys(named(program, body))
    upstream = len(cone(program, asked))
    for around in _around(program, asked):
        if len(around.inside) + len(around.left_free) >= upstream:
            break
        found = _of_little(program, around, body, assumptions, meter)
        if found is not None:
            return found
    return None


def proved_by_depth(program: Program, body: Body, assumptions: Sequence[Assumption], meter: Meter) -> Decided | None:
    """The proof of a claim by how long ways without a loop take, if there is one. Raises TooMuch, OverBudget."""
    for apart in cuts_by_depth(program, named(program, body), assumptions):
        asked = _asked_of(apart.system(program, meter), body, assumptions, meter)
        if asked.induction.deepen(SHALLOW) is True:
            return Decided(True, asked.induction.depth)
    return None


def decide(program: Program, body: Body, assumptions: Sequence[Assumption], meter: Meter) -> Decided:
    """Decides a claim on a circuit without burn-out, or says how far that came. Raises TooMuch.

    Raises OverBudget where the budget does not last for the formula itself.
    """
    asked = _asked(program, _whole(program, body), body, assumptions, meter)
    search: Search | None = None
    limit = ""
    try:
        found = asked.induction.deepen(SHALLOW)
        deepest = DEEPEST
        if found is False:
            search = asked.search(meter.part(meter.left // SEARCHES))
            try:
                reached = search.run()
                if reached.run is None:
                    return Decided(True, reached.depth, reached.clauses)
                deepest = len(reached.run)
            except OverBudget:
                if not meter.left:
                    raise
            found = asked.induction.deepen(deepest)
    except OverBudget as over:
        found, limit = False, str(over)
    depth = asked.induction.depth
    if found is True:
        return Decided(True, depth)
    if found is not False:
        return Decided(False, depth, run=stimulus_of(asked.system, found))
    kept, sought = (0, 0) if search is None else search.nearest()
    unbroken = max(asked.induction.unbroken, 0 if search is None else search.unbroken)
    return Decided(False, unbroken, kept=kept, sought=sought, limit=limit or f"it goes {DEEPEST} gt deep at most")


class Around(NamedTuple):
    """Some devices, and those that feed them, which are left free."""

    inside: tuple[int, ...]
    left_free: tuple[int, ...]


def _whole(program: Program, body: Body) -> Around:
    """All upstream of what a claim names."""
    return Around(cone(program, named(program, body)), ())


def _around(program: Program, devices: Iterable[int]) -> Iterator[Around]:
    """Some devices, with more and more of what feeds them, each time twice as far away."""
    inside, steps = dict.fromkeys(devices), 1
    while True:
        left_free = fed_by(program, inside)
        if not left_free:
            return
        if all(has_two_levels(program, device) for device in left_free):
            yield Around(tuple(sorted(inside)), tuple(sorted(left_free)))
        for _ in range(steps):
            inside |= dict.fromkeys(fed_by(program, inside))
        steps *= 2


def fed_by(program: Program, inside: Container[int]) -> set[int]:
    """What feeds some devices and is none of them."""
    return {
        source
        for feeds, reader in zip(program.feeds, program.port_device, strict=True)
        if reader in inside
        for source, loss in feeds
        if source not in inside and loss < FULL_POWER
    }


def _of_little(
    program: Program, around: Around, body: Body, assumptions: Sequence[Assumption], meter: Meter
) -> Decided | None:
    """The proof of a claim on some devices, whatever those do that feed them; None where they can break it."""
    system = System(program, around.inside, meter, around.left_free)
    return _of_system(system, body, assumptions, meter, len(around.inside))


def _of_system(
    system: System, body: Body, assumptions: Sequence[Assumption], meter: Meter, parts: int = 0
) -> Decided | None:
    """The proof of a claim on a system that allows more than the circuit; None where that can break it."""
    asked = _asked_of(system, body, assumptions, meter)
    found = asked.induction.deepen(SHALLOW)
    if found is True:
        return Decided(True, asked.induction.depth, parts=parts)
    if found is not False:
        return None
    reached = asked.search(meter).run()
    return Decided(True, reached.depth, reached.clauses, parts) if reached.run is None else None


class _Asked(NamedTuple):
    """A claim in the formula, with what is known at rest, and the induction over it."""

    system: System
    broken: int
    known: list[tuple[int, int]]
    induction: Induction

    def search(self, meter: Meter) -> Search:
        """The search for an invariant."""
        return Search(self.system, self.broken, self.known, meter)


def _asked(program: Program, around: Around, body: Body, assumptions: Sequence[Assumption], meter: Meter) -> _Asked:
    return _asked_of(System(program, around.inside, meter, around.left_free), body, assumptions, meter)


def _asked_of(system: System, body: Body, assumptions: Sequence[Assumption], meter: Meter) -> _Asked:
    assumed(system, assumptions)
    broken = claimed(system, body)
    known = invariants(system, meter)
    return _Asked(system, broken, known, Induction(system, broken, known, meter))


def named(program: Program, body: Body) -> Iterator[int]:
    """The devices that a claim is about."""
    for condition in conditions(body):
        for atom in atoms(condition):
            yield from (device for device, _ in seen_by(atom, program))


def trigger_of(body: Body) -> Condition | None:
    """What must come up for a claim to say anything; None where it always says something."""
    if isinstance(body, Response | Until | Steady):
        return body.trigger
    if isinstance(body, Delay):
        return body.start
    if isinstance(body, Lengths):
        return Atom(body.name, Test.RISES if body.of_gaps else Test.FALLS)
    assert isinstance(body, Invariant | Relation), "other claims are not watched"
    return None
