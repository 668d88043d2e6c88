"""What verdicts come to where a rule that is not certain is otherwise than this program takes it (V6).

A verdict whose runs came to such a rule is looked at again under the rule's other value, one rule at a time, within
the budget that all of its file share. What comes to something else, and what could not be decided, is given the rule;
so is what came to a rule of which no other value is known.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from circuitcheck.checks.finding import Finding
from circuitcheck.checks.findings import as_author_says
from circuitcheck.checks.outcome import FAILING, GOOD, Given, Outcome, StudyResult, Verdict
from circuitcheck.diagnostics import Diagnostic
from circuitcheck.model.claims import Study, Timely
from circuitcheck.model.unsure import UNSURE, Unsure
from circuitcheck.space.circuit import under

Judge = Callable[[Study], Sequence[Outcome]]
"""Judges all that a study asks: its checks, then its claims."""
MOST_NAMED = 3
HINT = "nothing to mend: if you know how the rule is, set it in the file; or silence this with a reason"


def with_doubts(study: Study, result: StudyResult, judge: Judge) -> StudyResult:
    """The result of a study, with what its verdicts depend on given; `judge` judges it again under other rules."""
    asked = len(study.checks) + len(study.claims)
    outcomes = in_doubt(study, result.outcomes[:asked], judge)
    found = list(_findings(outcomes))
    if not found:
        return result
    findings = as_author_says(study, (*result.findings, *found))
    return replace(result, outcomes=(*outcomes, *result.outcomes[asked:]), findings=findings)


def in_doubt(study: Study, decided: Sequence[Outcome], judge: Judge) -> list[Outcome]:
    """What all that a study asks comes to, with what each verdict depends on given."""
    outcomes = list(decided)
    for key in UNSURE:
        at = [number for number, each in enumerate(outcomes) if key in each.relied and _decided(each)]
        others = _otherwise(study, UNSURE[key], at, judge) if at else {}
        for number in at:
            outcomes[number] = _given(outcomes[number], UNSURE[key], others.get(number))
    return [replace(each, verdict=_verdict(each)) if each.given else each for each in outcomes]


def _decided(outcome: Outcome) -> bool:
    return outcome.verdict in GOOD or outcome.verdict in FAILING


def _otherwise(study: Study, unsure: Unsure, at: Sequence[int], judge: Judge) -> dict[int, Outcome]:
    """What some of all that a study asks come to under the other value of a rule; nothing where there is none."""
    if not unsure.setting:
        return {}
    circuit = under(study.circuit, unsure.otherwise(study.circuit.rules))
    if isinstance(circuit, Diagnostic):
        return {}
    count = len(study.checks)
    claims = [number for number in at if number >= count]
    # A claim is watched in the runs of all checks, but one of how long it takes by chance.
    watched = any(not isinstance(study.claims[number - count].body, Timely) for number in claims)
    checks = list(range(count)) if watched else [number for number in at if number < count]
    other = study._replace(
        circuit=circuit,
        checks=tuple(study.checks[number] for number in checks),
        claims=tuple(study.claims[number - count] for number in claims),
        drawn=None,
        skipped=(),
    )
    return dict(zip([*checks, *claims], judge(other), strict=False))


def _given(outcome: Outcome, unsure: Unsure, other: Outcome | None) -> Outcome:
    """An outcome with a rule given, if it depends on it, or may."""
    if other is not None and (other.verdict in GOOD) == (outcome.verdict in GOOD) and _decided(other):
        return outcome
    given = Given(unsure.rule, unsure.takes, unsure.tried, None if other is None else other.verdict)
    return replace(outcome, given=(*outcome.given, given))


def _verdict(outcome: Outcome) -> Verdict:
    return Verdict.HOLDS_IF if outcome.verdict in GOOD else Verdict.FAILS_IF


def _findings(outcomes: Iterable[Outcome]) -> Iterator[Finding]:
    """One finding for each rule that verdicts depend on, or may, at the first of them."""
    resting: dict[Given, list[Outcome]] = {}
    for outcome in outcomes:
        for given in outcome.given:
            resting.setdefault(given, []).append(outcome)
    for given, mine in resting.items():
        named = ", ".join(f'"{each.title}"' for each in mine[:MOST_NAMED]) + (", …" if len(mine) > MOST_NAMED else "")
        message = f"that {given.takes} ({given.rule}) is not certain, and it decides: {named}; {_tried(given)}"
        yield Finding("V6", given.rule, mine[0].span, message, HINT)


def _tried(given: Given) -> str:
    if given.otherwise is None:
        return "nothing else can be tried"
    if given.otherwise in GOOD or given.otherwise in FAILING:
        return f'under "setting {given.tried}": {given.otherwise.value}'
    return f'under "setting {given.tried}" it was not decided'
