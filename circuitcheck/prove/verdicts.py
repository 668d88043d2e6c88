"""A study judged whole: its checks by running them, and its claims, where no run breaks them, by proving them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from circuitcheck.checks.findings import with_caution
from circuitcheck.checks.judge import judge
from circuitcheck.checks.outcome import Outcome, StudyResult, Verdict
from circuitcheck.model.claims import Claim, Possible, Study, Timely, Unburnt, Unraced
from circuitcheck.prove.flashing import flashing
from circuitcheck.prove.prover import Limits, Prover

UNSETTLED = (Verdict.UNBROKEN, Verdict.NOT_MET, Verdict.UNDECIDED, Verdict.HOLDS_AGAINST_WORD)
"""What runs may leave a claim at, so that it is worth proving."""
FLASHING_BUDGET = 5_000
"""How many states are looked at, at most, for flashing that a circuit makes by itself."""
ONLY_PROVED = (Possible, Unraced, Unburnt, Timely)
"""What no single run can show."""


def judged(study: Study, states: int, begins: Callable[[str], None] = lambda title: None) -> StudyResult:
    """Judges all that is asked in a study. `states` is how many are looked at for each claim."""
    result = judge(study, begins)
    prover = Prover(study, Limits(states), leaning=False)
    outcomes = list(result.outcomes)
    for place, claim in enumerate(study.claims, len(study.checks)):
        if outcomes[place].verdict in UNSETTLED:
            begins(claim.title)
            outcomes[place] = _together(outcomes[place], prover.prove(claim), claim)
        elif outcomes[place].verdict is Verdict.OPEN_START:
            outcomes[place] = prover.over_starts(claim, outcomes[place])
    return with_flashing(study, replace(result, outcomes=tuple(outcomes)), states)


def with_flashing(study: Study, result: StudyResult, states: int) -> StudyResult:
    """The result with what the circuit flashes by itself (rule S1)."""
    search = flashing(study, Limits(min(states, FLASHING_BUDGET)))
    caution = search.finding
    findings = result.findings if caution is None else with_caution(study, result.findings, caution)
    return replace(result, findings=findings, flashing=search)


def _together(watched: Outcome, proved: Outcome, claim: Claim) -> Outcome:
    """The verdict on a claim out of what was seen in runs and what exploring came to."""
    if proved.verdict is Verdict.UNDECIDED and not isinstance(claim.body, ONLY_PROVED):
        detail = watched.detail
        if watched.verdict is Verdict.NOT_MET:
            detail = f"{detail}; not proved: {proved.detail}"
        return replace(watched, detail=detail, proof=proved.proof)
    return replace(proved, runs=watched.runs)
