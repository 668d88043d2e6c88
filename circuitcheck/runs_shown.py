"""The runs that a page can play: those of checks, and those that break claims."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.checks.judge import try_out
from circuitcheck.checks.outcome import Outcome, StudyResult, Verdict, full_title
from circuitcheck.checks.trial import Trial
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Recording
from circuitcheck.explain.noteworthy import noteworthy, signals_of
from circuitcheck.model.claims import Check, Study


class Ran(NamedTuple):
    """A check of a study, and what came of running it."""

    study: Study
    check: Check
    trial: Trial

    @property
    def title(self) -> str:
        """What tells the check from all others of its file."""
        return full_title(self.study.label, self.check.title)

    @property
    def recording(self) -> Recording | None:
        """The run to show; None where it was given up."""
        return self.trial.shown

    @property
    def verdict(self) -> Verdict:
        """What came of it."""
        return self.trial.outcome.verdict

    @property
    def signals(self) -> list[str]:
        """The signals to draw of its run, those most important first; none where it was given up."""
        return [] if self.trial.shown is None else signals_of(self.trial, self.trial.shown)

    @property
    def broken_at(self) -> int | None:
        """The gt in which what was expected is broken, if it is."""
        failure = self.trial.outcome.failure
        return None if failure is None else failure.at


class Counterexample(NamedTuple):
    """A run that breaks a claim, found by proving or in no check's own run."""

    label: str
    outcome: Outcome

    @property
    def title(self) -> str:
        """What tells the claim from all others of its file."""
        return full_title(self.label, self.outcome.title)

    @property
    def recording(self) -> Recording | None:
        """The run."""
        return None if self.outcome.failure is None else self.outcome.failure.recording

    @property
    def verdict(self) -> Verdict:
        """What came of the claim."""
        return self.outcome.verdict

    @property
    def signals(self) -> list[str]:
        """The signals to draw, causes first."""
        failure = self.outcome.failure
        return [] if failure is None else list(noteworthy(failure, self.outcome.undetermined).signals)

    @property
    def broken_at(self) -> int | None:
        """The gt in which the claim is broken."""
        return None if self.outcome.failure is None else self.outcome.failure.at


Shown = Ran | Counterexample
"""What has a run that can be played."""


def counterexamples(results: Sequence[StudyResult], runs: Iterable[Ran]) -> Iterator[Counterexample]:
    """The runs that break claims, but for those that are runs of checks, which are shown as such."""
    checked = {(ran.study.label, ran.check.title) for ran in runs}
    for result in results:
        for outcome in result.outcomes:
            failure = outcome.failure
            if failure is None:
                continue
            titles = {outcome.title, failure.check.title if failure.check is not None else outcome.title}
            if not any((result.label, title) in checked for title in titles):
                yield Counterexample(result.label, outcome)


def run_of(study: Study, check: Check, program: Program | None = None) -> Ran:
    """Runs a check; `program` is its circuit wired up, where that was done before."""
    return Ran(study, check, try_out(Study(study.circuit, (check,), ()), program))


def runs_of(asked: Iterable[tuple[Study, Check]]) -> Iterator[Ran]:
    """Runs checks, with each circuit wired up once."""
    programs: dict[int, Program] = {}
    for study, check in asked:
        if id(study.circuit) not in programs:
            programs[id(study.circuit)] = Program(study.circuit)
        yield run_of(study, check, programs[id(study.circuit)])
