"""What a proof depends on: whether a claim holds without each of the assumptions as well.

That is asked once every claim has its verdict, of what the claims have left of their budget, in equal shares.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from circuitcheck.checks.outcome import GOOD, OPEN, Outcome, Verdict
from circuitcheck.checks.proof import Leaning
from circuitcheck.model.claims import Assumption, Claim, Study
from circuitcheck.prove.meter import Limits, Meter
from circuitcheck.prove.prover import Prover

LEANING_BUDGET = 100_000
"""How many states are looked at, at most, to see whether a claim holds without one of the assumptions as well."""
PROVED = (Verdict.PROVED, Verdict.HOLDS_IF)


def with_leanings(
    study: Study, outcomes: Sequence[Outcome], limits: Limits, budget: Meter, grown: Callable[[int], None]
) -> Iterator[Outcome]:
    """The outcomes of a study's claims, in order, with what each proof depends on.

    As they were where nothing is proved, where nothing is assumed, and where no budget is left.
    """
    asked = [_asked(study, outcome) for outcome in outcomes]
    for place, (claim, outcome) in enumerate(zip(study.claims, outcomes, strict=False)):
        share = budget.left // max(sum(asked[place:]), 1)
        if not asked[place] or not share or budget.full or outcome.proof is None:
            yield outcome
            continue
        own = budget.part(share, "for what one proof depends on")
        found = tuple(_leaning(study, claim, each, limits, own, grown) for each in study.assumptions)
        yield replace(outcome, proof=replace(outcome.proof, leanings=found))


def _asked(study: Study, outcome: Outcome) -> bool:
    return outcome.verdict in PROVED and outcome.proof is not None and bool(study.assumptions)


def _leaning(
    study: Study, claim: Claim, left_out: Assumption, limits: Limits, budget: Meter, grown: Callable[[int], None]
) -> Leaning:
    rest = tuple(each for each in study.assumptions if each is not left_out)
    fewer = limits._replace(states=min(limits.states, LEANING_BUDGET))
    prover = Prover(study._replace(assumptions=rest), fewer, False, grown, budget, False)
    verdict = prover.prove(claim._replace(fails_because="")).verdict
    return Leaning(left_out.words, True if verdict in GOOD else None if verdict in OPEN else False)
