"""One circuit with one thing different, judged by the checks and claims of the one that was meant."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from circuitcheck.checks.outcome import FAILING, OPEN, Failure, Outcome, Verdict
from circuitcheck.engine import work
from circuitcheck.engine.record import edges_at
from circuitcheck.explain.cause import why
from circuitcheck.judging.door import judged_as_asked, judged_until_failing
from circuitcheck.model.claims import Delay, Expectation, Response, Study
from circuitcheck.model.duration import show
from circuitcheck.prove.meter import USUAL_STATES, Limits, Meter
from circuitcheck.sweeps.tasks import LEAST_JUDGED, MOST_WORK, STATE, spent_since


class Verdicts(NamedTuple):
    """What a variant came to: whether all holds (None if something is undecided), and the first that does not."""

    holds: bool | None
    title: str = ""
    at: int = 0
    """The gt in which it broke."""
    reason: str = ""
    tried: bool = True
    """Whether it was judged at all; where it was not, the reason says why."""


Task = tuple[Study, int, int]
"""A study, how many states are looked at for each of its claims, and how much work may be done for it."""


def work_for(states: int) -> int:
    """How much work a sweep does with so many states for each claim."""
    return MOST_WORK * states // USUAL_STATES


def share_of(states: int, variants: int) -> int:
    """How much of it may be done for one of so many variants: a third of them at least are judged."""
    return work_for(states) // max(LEAST_JUDGED, variants // 3)


def verdicts(task: Task) -> tuple[Verdicts, int]:
    """Judges one variant, and says how much work it was. Stands alone, so that it can be sent to another process."""
    return _judged(task, lambda study, limits, budget: judged_as_asked(study, limits, budget).outcomes)


def first_failing(task: Task) -> tuple[Verdicts, int]:
    """The same where it is only asked whether anything fails: of what fails, runs are reported before proofs."""
    return _judged(task, judged_until_failing)


def _judged(task: Task, judged: Callable[[Study, Limits, Meter], Sequence[Outcome]]) -> tuple[Verdicts, int]:
    study, states, most = task
    begun, limits = work.done(), Limits(min(states, most // STATE))
    budget = Meter(limits.states, limits.memory, "for one variant")
    try:
        with work.bounded(most):
            # Whether a variant is still what is drawn is not asked: it is not, and that shows nothing.
            outcomes = judged(study._replace(drawn=None), limits, budget)
    except work.Undecided as many:
        return Verdicts(None, reason=str(many)), spent_since(begun, budget.steps)
    return _verdicts(outcomes), spent_since(begun, budget.steps)


def _verdicts(outcomes: Sequence[Outcome]) -> Verdicts:
    bad = [each for each in outcomes if each.verdict in FAILING]
    if bad:
        # What stood in the way says more than what came too late: of several that break, such a one is reported.
        told = min(((*_reason(each), each) for each in bad), key=lambda each: each[:2])
        return Verdicts(False, told[-1].title, told[1], told[2])
    open_ = [each for each in outcomes if each.verdict in OPEN or _unproved(each)]
    if open_:
        proof = open_[0].proof
        limit = proof.limit if proof is not None and proof.limit else open_[0].detail
        return Verdicts(None, open_[0].title, 0, limit or "not proved within the budget")
    return Verdicts(True)


def _unproved(outcome: Outcome) -> bool:
    return outcome.verdict is Verdict.UNBROKEN


def _reason(outcome: Outcome) -> tuple[bool, int, str]:
    """Why something broke, in the shortest words: whether they are the weaker kind, the gt, and the words."""
    failure = outcome.failure
    if failure is None:
        return True, 0, outcome.detail
    if outcome.race is not None:
        return (
            False,
            failure.at,
            f"it depends on which is first, '{outcome.race.first}' or '{outcome.race.second}' (C5)",
        )
    if outcome.verdict is Verdict.OPEN_START:
        return False, failure.at, "it depends on a start that is not declared (L5)"
    found = [why(failure.recording, name, failure.at) for name in failure.signals]
    for each in found:
        if each.hindrances and (not each.changed or _is_missed(failure)):
            last = each.hindrances[-1]
            return False, failure.at, f"'{last.part}': {last.words} ({last.rule})"
    for each in found:
        edges = edges_at(failure.recording, failure.recording.program.probe(each.name))
        late = next((at for at, _ in edges if at > failure.at), None)
        if late is not None and _is_missed(failure):
            return True, failure.at, f"'{each.name}' changes at {show(late)} only"
        if each.steps:
            step = each.steps[-1]
            state = "on" if step.level else "off"
            return True, failure.at, f"'{step.part}' went {state} at {show(step.at)}: {step.words} ({step.rule})"
    return True, failure.at, outcome.detail or "nothing that it depends on changes in time"


def _is_missed(failure: Failure) -> bool:
    """Whether it broke because something did not come, or not in time."""
    broken = failure.broken
    return isinstance(broken, Expectation) or isinstance(broken.body, Response | Delay)
