"""Ctrl-C while a study is judged: what was decided by then stands, and what was not is open."""

from __future__ import annotations

from dataclasses import replace

from circuitcheck.checks.outcome import FAILING, Outcome, StudyResult, Verdict
from circuitcheck.model.claims import Check, Claim

LEFT = "not judged: stopped before"


class StudyStopped(KeyboardInterrupt):
    """An interrupt, with what was known of the study when it came."""

    def __init__(self, result: StudyResult) -> None:
        super().__init__()
        self.result = result


def left(asked: Check | Claim) -> Outcome:
    """The outcome of a check or claim that was not come to."""
    return Outcome(asked.title, asked.span, Verdict.UNDECIDED, detail=LEFT)


def is_left(outcome: Outcome) -> bool:
    """Whether something was not come to."""
    return outcome.verdict is Verdict.UNDECIDED and outcome.detail == LEFT


def open_again(outcome: Outcome) -> Outcome:
    """An outcome that something more was to be asked about, if it is no failure."""
    return outcome if outcome.verdict in FAILING else replace(outcome, verdict=Verdict.UNDECIDED, detail=LEFT)
