"""A study judged whole: its checks by running them, and its claims, where no run breaks them, by proving them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from time import monotonic

from circuitcheck.checks.findings import with_caution
from circuitcheck.checks.judge import judge, outcomes_of_runs
from circuitcheck.checks.outcome import FAILING, Outcome, StudyResult, Verdict
from circuitcheck.checks.run import RunBudget
from circuitcheck.checks.stopped import StudyStopped, left
from circuitcheck.judging.responses import in_time
from circuitcheck.model.claims import Claim, Study, Watched
from circuitcheck.model.unsure import collected
from circuitcheck.prove.flashing_by_itself import flashing
from circuitcheck.prove.leaning import with_leanings
from circuitcheck.prove.meter import OUT_OF_TIME, Limits, Meter
from circuitcheck.prove.prover import Prover

FLASHING_BUDGET = 25_000
"""How many states are looked at, at most, for flashing that a circuit makes by itself."""
UNSETTLED = (Verdict.UNBROKEN, Verdict.NOT_MET, Verdict.UNDECIDED, Verdict.HOLDS_AGAINST_WORD)
"""What runs may leave a claim at, so that it is worth proving."""


def prover_of(
    study: Study,
    limits: Limits,
    solving: bool = True,
    grown: Callable[[int], None] = lambda states: None,
    budget: Meter | None = None,
    burn_outs: bool = True,
) -> Prover:
    """A prover of every kind of claim, those about responses among them."""
    return Prover(study, limits, solving, grown, budget, burn_outs, in_time)


def proved(prover: Prover, study: Study, claim: Claim, limits: Limits) -> Outcome:
    """What proving one claim comes to, with the rules that are not certain and that it depends on given (V6).

    However many of them are tried otherwise, that is done within one more budget for one claim.
    """
    with collected() as relied:
        outcome = prover.prove(claim)
    if not relied:
        return outcome
    from circuitcheck.judging.otherwise import in_doubt  # few claims come to such a rule

    alone = study._replace(checks=(), claims=(claim,))
    outcome = replace(outcome, relied=frozenset(relied))
    tries = prover.budget.part(limits.states, "for one claim, with all that is tried otherwise")
    return in_doubt(alone, [outcome], lambda other: [prover_of(other, limits, False, budget=tries).prove(claim)])[0]


def leaned(
    prover: Prover,
    study: Study,
    outcomes: Sequence[Outcome],
    limits: Limits,
    grown: Callable[[int], None] = lambda states: None,
) -> Iterator[Outcome]:
    """The outcomes of claims that a prover has judged, with what each proof depends on, as long as its budget lasts."""
    return with_leanings(study, outcomes, limits, prover.budget, grown)


def judged(
    study: Study,
    limits: Limits,
    budget: Meter | None = None,
    runs: RunBudget | None = None,
    begins: Callable[[str], None] = lambda title: None,
) -> StudyResult:
    """Judges all that is asked in a study, within the budgets that all of its file share, and looks for flashing.

    Raises StudyStopped on Ctrl-C.
    """
    result = judged_as_asked(study, limits, budget, runs, begins)
    try:
        return with_flashing(study, result, limits)
    except KeyboardInterrupt:
        raise StudyStopped(result) from None


def judged_as_asked(
    study: Study,
    limits: Limits,
    budget: Meter | None = None,
    runs: RunBudget | None = None,
    begins: Callable[[str], None] = lambda title: None,
) -> StudyResult:
    """Judges what is asked in a study, and nothing else. Raises StudyStopped on Ctrl-C."""
    result = judge(study, begins, runs)
    first = len(study.checks)
    outcomes, claims = list(result.outcomes), list(result.outcomes[first : first + len(study.claims)])
    decided = 0
    try:
        prover = prover_of(study, limits, solving=False, budget=budget)
        for decided, claim in enumerate(study.claims):
            claims[decided] = _proved(prover, claim, claims[decided], begins)
    except KeyboardInterrupt:
        outcomes[first : first + len(claims)] = [
            each if place < decided or each.verdict in FAILING else left(claim)
            for place, (each, claim) in enumerate(zip(claims, study.claims, strict=True))
        ]
        raise StudyStopped(replace(result, outcomes=tuple(outcomes))) from None
    outcomes[first : first + len(claims)] = claims
    return replace(result, outcomes=tuple(outcomes))


def _proved(prover: Prover, claim: Claim, watched: Outcome, begins: Callable[[str], None]) -> Outcome:
    """What a claim comes to that runs have watched."""
    with collected() as relied:
        if watched.verdict is Verdict.OPEN_START:
            found = prover.over_starts(claim, watched)
        elif watched.verdict in UNSETTLED:
            begins(claim.title)
            found = _together(watched, prover.prove(claim), claim)
        else:
            found = watched
    return replace(found, relied=watched.relied | relied)


def judged_until_failing(study: Study, limits: Limits, budget: Meter) -> tuple[Outcome, ...]:
    """What runs show of all that is asked in a study; if nothing fails there, its claims are proved until one fails.

    That is enough to know whether anything fails. What can burn out before a claim is decided is not looked for. No
    claim is begun once the time of `limits` is over: it is undecided.
    """
    outcomes = list(outcomes_of_runs(study))
    settled = [outcome for place, outcome in enumerate(outcomes) if place < len(study.checks) or not _provable(outcome)]
    if any(outcome.verdict in FAILING for outcome in settled):
        return tuple(outcomes)
    prover = prover_of(study, limits, solving=False, budget=budget, burn_outs=False)
    for place, claim in enumerate(study.claims, len(study.checks)):
        if _provable(outcomes[place]) and limits.until and monotonic() > limits.until:
            outcomes[place] = replace(outcomes[place], verdict=Verdict.UNDECIDED, detail=OUT_OF_TIME)
        elif _provable(outcomes[place]):
            outcomes[place] = _together(outcomes[place], prover.prove(claim), claim)
            if outcomes[place].verdict in FAILING:
                break
    return tuple(outcomes)


def _provable(outcome: Outcome) -> bool:
    return outcome.verdict in UNSETTLED


def with_flashing(study: Study, result: StudyResult, limits: Limits) -> StudyResult:
    """The result with what the circuit flashes by itself (rule S1)."""
    search = flashing(study, limits._replace(states=min(limits.states, FLASHING_BUDGET)))
    caution = search.finding
    findings = result.findings if caution is None else with_caution(study, result.findings, caution)
    return replace(result, findings=findings, flashing=search)


def _together(watched: Outcome, proved: Outcome, claim: Claim) -> Outcome:
    """The verdict on a claim out of what was seen in runs and what exploring came to."""
    watchable = isinstance(claim.body, Watched)
    if watchable and watched.verdict is Verdict.NOT_MET and proved.verdict is Verdict.UNDECIDED:
        detail = f"{watched.detail}; not proved: {proved.detail}"
        return replace(watched, detail=detail, proof=proved.proof)
    return replace(proved, runs=watched.runs)
