"""What the formula of one gt makes of a claim: proved, a shortest run that the engine must go again, or neither.

Induction is tried first, a few gt deep: with what is known of a circuit at rest that is enough for most logic. Then an
invariant is sought, which needs no depth; and last, induction goes on as deep as the budget lasts.
"""

from __future__ import annotations

from collections.abc import Sequence
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
    Relation,
    Response,
    Steady,
    Test,
    Until,
    atoms,
    conditions,
)
from circuitcheck.prove.compose import Stimulus
from circuitcheck.prove.cut import cone
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.piece import Deed
from circuitcheck.prove.space import seen_by
from circuitcheck.prove.symbolic.induction import Induction
from circuitcheck.prove.symbolic.invariants import invariants
from circuitcheck.prove.symbolic.reachability import Search
from circuitcheck.prove.symbolic.system import System
from circuitcheck.prove.symbolic.watched import assumed, claimed

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
    run: Stimulus | None = None
    """What is done from outside on a shortest run of the formula that breaks it."""


def decide(program: Program, body: Body, assumptions: Sequence[Assumption], meter: Meter) -> Decided:
    """Decides a claim on a circuit without burn-out. Raises TooMuch and OverBudget."""
    asked = [atom for condition in conditions(body) for atom in atoms(condition)]
    devices = cone(program, (device for atom in asked for device, _ in seen_by(atom, program)))
    system = System(program, devices, meter)
    assumed(system, assumptions)
    broken = claimed(system, body)
    known = invariants(system, meter)
    induction = Induction(system, broken, known, meter)
    found = induction.deepen(SHALLOW)
    deepest = DEEPEST
    if found is False:
        try:
            reached = Search(system, broken, known, meter.part(meter.left // SEARCHES)).run()
            if reached.run is None:
                return Decided(True, reached.depth, reached.clauses)
            deepest = len(reached.run)
        except OverBudget:
            if not meter.left:
                raise
        found = induction.deepen(deepest)
    if found is True:
        return Decided(True, induction.depth)
    return Decided(False, induction.depth, run=None if found is False else _stimulus(system, found))


def _stimulus(system: System, run: Sequence[set[int]]) -> Stimulus:
    names = system.program.names
    return [[Deed(names[each.device], each.verb, each.level) for each in system.actions(step)] for step in run]


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
