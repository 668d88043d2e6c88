"""What the formula of one gt makes of a claim about runs without end: proved, a lasso to be gone again, or neither.

First a short lasso is looked for, then a bound on the rounds that a run can go while something is owed. Inputs that
keep a pace only wait for rest where that is enough (`prove.symbolic.rest`); that it is proves that it comes to rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from circuitcheck.engine.program import Program
from circuitcheck.model.claims import Assumption, ForEver, Resting
from circuitcheck.prove.cut import cone
from circuitcheck.prove.forever import Lasso
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.symbolic.decide import named
from circuitcheck.prove.symbolic.invariants import invariants
from circuitcheck.prove.symbolic.reachability import Search
from circuitcheck.prove.symbolic.rest import apart, rests_within_pace, waits_for_rest
from circuitcheck.prove.symbolic.rounds import Rounds
from circuitcheck.prove.symbolic.shortest_lassos import Loops
from circuitcheck.prove.symbolic.system import System
from circuitcheck.prove.symbolic.watched import alone_and_in_one_gt, paced

LONGEST = 40
"""Up to how many gt a lasso is looked for."""
PARTS = 4
"""The share of the budget that this has, and what comes before it: one part in so many."""
MOST_ROUNDS = (1, 4, 16, 64)
"""How many rounds are supposed to be the most, one number after the other."""


class Unending(NamedTuple):
    """What came of it."""

    proved: bool
    depth: int = 0
    """Up to how many gt away the frames of the search went."""
    clauses: int = 0
    """Of how many clauses the invariant is that proves it."""
    rounds: int = 0
    """How many rounds a run can go, at most, while the same thing is owed; where that was not proved, the most that was
    tried."""
    lasso: Lasso | None = None
    no_round_to: int = 0
    """Where neither came of it: within how many gt no run comes back to where it was while something is owed."""
    kept: int = 0
    """Then, how many of the clauses that came nearest to an invariant a step keeps."""
    sought: int = 0
    """How many clauses those are."""
    limit: str = ""
    """What ran out before anything came of it."""


def decide_unending(program: Program, body: ForEver, assumptions: Sequence[Assumption], meter: Meter) -> Unending:
    """Decides a claim on a circuit without burn-out, or says how far that came. Raises TooMuch.

    Raises OverBudget where the budget does not last for the formula itself.
    """
    devices = range(len(program.devices)) if isinstance(body, Resting) else cone(program, named(program, body))
    system = System(program, devices, meter)
    counts = alone_and_in_one_gt(system, assumptions)
    rests = _rests(system, assumptions, meter.part(meter.left // PARTS))
    if rests and isinstance(body, Resting):
        return Unending(True)
    known: list[tuple[int, int]] = []
    if rests:
        system.require(waits_for_rest(system))
    else:
        paced(system, assumptions, counts)
        known = invariants(system, meter)
    rounds = Rounds(system, body, rests)
    loops = Loops(system, rounds, known, meter.part(meter.left // PARTS))
    try:
        lasso = loops.deepen(LONGEST)
        if lasso is not None:
            return Unending(False, lasso=apart(lasso, assumptions) if rests else lasso)
    except OverBudget as over:
        if not meter.left:
            return Unending(False, no_round_to=loops.none_to, limit=str(over))
    return _bounded(system, rounds, known, meter)._replace(no_round_to=loops.none_to)


def _rests(system: System, assumptions: Sequence[Assumption], meter: Meter) -> bool:
    try:
        return rests_within_pace(system, assumptions, meter)
    except OverBudget:
        return False


def _bounded(system: System, rounds: Rounds, known: list[tuple[int, int]], meter: Meter) -> Unending:
    """A proof that a run goes no more than so many rounds while something is owed, or how near it came to one."""
    tried, nearest, limit = 0, (0, 0), ""
    search: Search | None = None
    for most in MOST_ROUNDS:
        share = meter.left if most == MOST_ROUNDS[-1] else meter.left // 2
        try:
            search = Search(system, rounds.at_least(most + 1), known, meter.part(share))
            found = search.run()
        except OverBudget as over:
            tried, limit = most, str(over)
            nearest = nearest if search is None else max(nearest, search.nearest())
            if not meter.left:
                break
            continue
        if found.run is None:
            return Unending(True, found.depth, found.clauses, most)
        tried, limit = most, f"no bound of up to {most} rounds was proved"
    return Unending(False, rounds=tried, kept=nearest[0], sought=nearest[1], limit=limit)
