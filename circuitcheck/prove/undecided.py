"""What is reported of an undecided claim, in this order: how far the search came, what ran out, what would help."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.checks.proof import Proof
from circuitcheck.checks.run import GivenUp
from circuitcheck.model.claims import Claim, ForEver, RateLimit, Study
from circuitcheck.model.duration import show
from circuitcheck.prove.meter import OUT_OF_TIME
from circuitcheck.prove.symbolic.decide import Decided
from circuitcheck.prove.symbolic.unending import Unending

BURNT_BEFORE = "a torch may burn out before (T4), and traces after a burn-out were not explored"


REFUSED = re.compile(r"\([MZ]\d+\)$")
"""How the words of what a run can't go on from end: with its rule."""


def undecided(claim: Claim, proof: Proof) -> Outcome:
    """The outcome of a claim that was not decided."""
    return Outcome(claim.title, claim.span, Verdict.UNDECIDED, detail=proof.limit, proof=proof)


def explained(outcome: Outcome, proof: Proof, claim: Claim, study: Study, states: int) -> Outcome:
    """An undecided outcome with its words; `states` is the budget that the claim had."""
    far = []
    if proof.states:
        nothing = "" if isinstance(claim.body, ForEver) else ", and nothing broke it"
        far.append(f"{proof.states:,} states were explored, up to {show(proof.depth)} away{nothing}")
    if proof.unbroken_to:
        far.append(f"of all runs, none breaks it within {show(proof.unbroken_to)}")
    if proof.no_round_to:
        far.append(f"no run that breaks it comes back within {show(proof.no_round_to)} to where it was")
    if proof.rounds_sought:
        most = "1 round" if proof.rounds_sought == 1 else f"{proof.rounds_sought} rounds"
        far.append(f"that it takes {most} at most could not be shown")
    if proof.clauses_sought:
        nearest = f"of {proof.clauses_sought:,} clauses that may be part of an invariant"
        far.append(f"{nearest}, {proof.clauses_kept:,} hold one step longer than the others")
    detail = "; ".join((*far, proof.limit))
    return replace(outcome, detail=detail, proof=replace(proof, hints=tuple(_hints(proof, claim, study, states))))


def with_far(proof: Proof, far: Decided | Unending | None) -> Proof:
    """A proof with how far the formula came, where it was asked."""
    if far is None or far.proved:
        return proof
    if isinstance(far, Decided):
        if far.run is not None:
            return proof
        return replace(proof, unbroken_to=far.depth, clauses_kept=far.kept, clauses_sought=far.sought)
    limits = [each for each in (proof.limit, far.limit) if each]
    proof = replace(proof, limit="; ".join(dict.fromkeys(limits)), no_round_to=far.no_round_to)
    return replace(proof, rounds_sought=far.rounds, clauses_kept=far.kept, clauses_sought=far.sought)


def _hints(proof: Proof, claim: Claim, study: Study, states: int) -> Iterator[str]:
    if proof.limit.startswith(BURNT_BEFORE) or REFUSED.search(proof.limit):
        return  # no budget helps
    if proof.limit.endswith("(C6)"):
        yield "how each of them starts, such as: starts off, or of a latch: starts reset"
        return
    inputs = any(part.verbs for part in study.circuit.by_name.values())
    if inputs and not any(isinstance(each, RateLimit) for each in study.assumptions):
        yield "a pace for the inputs, such as: assume at most 1 changes within 10t"
    yield "a claim about fewer parts"
    yield "more seconds: --seconds" if proof.limit.startswith(OUT_OF_TIME) else f"more states: --states {4 * states}"


def said(large: Exception) -> str:
    """What was too large, in words."""
    if isinstance(large, GivenUp):
        return f"a possible counterexample was found, but its run could not be followed: {large}"
    return str(large) or "the circuit has too many states to write down"
