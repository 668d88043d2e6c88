"""From circuit files to reports: reads, runs, judges. Never prints."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import IntEnum
from typing import TYPE_CHECKING, NamedTuple

from circuitcheck.checks.finding import Finding
from circuitcheck.checks.judge import findings_of, judge, places_of, try_out
from circuitcheck.checks.outcome import FAILING, GOOD, OPEN, Outcome, StudyResult
from circuitcheck.checks.run import RunBudget
from circuitcheck.checks.stopped import StudyStopped, left, open_again
from circuitcheck.checks.trial import Trial
from circuitcheck.diagnostics import Diagnostic, did_you_mean
from circuitcheck.errors import must_be_count, must_be_path, must_be_text
from circuitcheck.language.load import Loaded, load_file, load_text, load_with
from circuitcheck.model.claims import Check, Claim, Study
from circuitcheck.model.rules import LANGUAGE_VERSION
from circuitcheck.prove.meter import USUAL_STATES, Limits, Meter, seconds_from_now

if TYPE_CHECKING:
    from circuitcheck.model.drawing import At


class Budget(NamedTuple):
    """How much is done for a file, however many circuits, checks and claims it has."""

    proofs: Meter
    runs: RunBudget

    @classmethod
    def of(cls, states: int = USUAL_STATES, seconds: float | None = None) -> Budget:
        """A fresh budget, with so many states for each claim, and so many seconds for all of them."""
        return cls(Limits(states, until=seconds_from_now(seconds)).meter(), RunBudget())


class Exit(IntEnum):
    """What a whole call comes to, as its exit code.

    >>> int(circuitcheck.Exit.FAILS)
    1
    """

    HOLDS = 0
    FAILS = 1
    INVALID = 2
    UNDECIDED = 3
    INTERRUPTED = 130


class FileStopped(KeyboardInterrupt):
    """Ctrl-C while a file is verified, with the report on what was decided by then."""

    def __init__(self, report: FileReport) -> None:
        super().__init__()
        self.report = report


@dataclass(frozen=True, slots=True)
class FileReport:
    """Everything found about one file.

    >>> report = mill.verify()
    >>> report.rules, report.diagnostics
    ('newer', ())
    """

    path: str
    title: str
    rules: str
    language: int
    diagnostics: tuple[Diagnostic, ...]
    results: tuple[StudyResult, ...]
    sources: dict[str, tuple[str, ...]]
    """The lines of the files read, by path, to point into."""
    stopped: bool = False
    """Whether Ctrl-C came before all was judged; then no report is returned, but `KeyboardInterrupt` raised."""

    @property
    def outcomes(self) -> tuple[Outcome, ...]:
        """The outcomes of all studies, in order.

        >>> [(each.title, each.verdict.value) for each in mill.verify().outcomes]
        [('pulling the rope opens the sluice', 'holds')]
        """
        return tuple(outcome for result in self.results for outcome in result.outcomes)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """The findings of all studies, each once.

        >>> mill.verify().findings
        ()
        """
        return findings_of(self.results)

    @property
    def exit(self) -> Exit:
        """What the file comes to: a mistake in it outweighs a failure, and a failure what is undecided.

        >>> mill.verify().exit is circuitcheck.Exit.HOLDS
        True
        """
        if self.diagnostics:
            return Exit.INVALID
        outcomes = self.outcomes
        failing = any(each.verdict in FAILING for each in outcomes)
        if failing or any(each.forbidden for each in self.findings):
            return Exit.FAILS
        undecided = self.stopped or any(each.verdict in OPEN for each in outcomes)
        return Exit.UNDECIDED if undecided else Exit.HOLDS


def verify_file(
    path: str | os.PathLike[str],
    begins: Callable[[str], None] = lambda title: None,
    states: int = USUAL_STATES,
    root: str | os.PathLike[str] = "",
    seconds: int | None = None,
) -> FileReport:
    """Reads a file and judges all it asks. What is wrong with the file itself stands in the report's diagnostics.

    `begins` is called with the title of each check or claim that begins, for progress. `states` is how many are looked
    at to prove each claim; with 0, claims are only watched in the runs of checks. Files are used out of `root` and what
    is below it; without one, out of the file's own folder. `seconds` is for how long its claims are proved at most.

    >>> circuitcheck.verify_file("nowhere.circuit").exit.name
    'INVALID'
    """
    must_be_path(path)
    must_be_path(root)
    must_be_count(states)
    return report_on(load_file(path, root), begins, states, seconds)


def verify_text(
    text: str, path: str = "circuit", folder: str | os.PathLike[str] = ".", states: int = USUAL_STATES
) -> FileReport:
    """Like verify_file, for text; `use` lines look into `folder`.

    >>> circuitcheck.verify_text("lever rope\\nlamp open from rope").exit.name
    'HOLDS'
    """
    must_be_text(text)
    must_be_path(folder)
    must_be_count(states)
    return report_on(load_text(text, path, folder), states=states)


def report_on(
    loaded: Loaded,
    begins: Callable[[str], None] = lambda title: None,
    states: int = USUAL_STATES,
    seconds: float | None = None,
) -> FileReport:
    """Judges a file that has been read. Raises FileStopped on Ctrl-C."""
    budget = Budget.of(states, seconds)
    results: list[StudyResult] = []
    try:
        for study in loaded.studies:
            results.append(_with_box(study, judged(study, begins, states, budget)))
    except KeyboardInterrupt as stopped:
        if isinstance(stopped, StudyStopped):
            results.append(stopped.result)
        raise FileStopped(_report(loaded, results, True)) from None
    return _report(loaded, results)


def _with_box(study: Study, result: StudyResult) -> StudyResult:
    """A result with the box of what is drawn."""
    if study.drawn is None and study.circuit.drawing is None:
        return result
    from circuitcheck.checks.drawing.drawn_box import drawn_box  # only what is drawn has one

    return replace(result, box=drawn_box(study))


def _report(loaded: Loaded, results: Sequence[StudyResult], stopped: bool = False) -> FileReport:
    rules = loaded.rules.name
    return FileReport(
        loaded.path,
        loaded.title,
        rules,
        LANGUAGE_VERSION,
        loaded.diagnostics,
        tuple(results),
        loaded.sources,
        stopped,
    )


def judged(
    study: Study,
    begins: Callable[[str], None] = lambda title: None,
    states: int = USUAL_STATES,
    budget: Budget | None = None,
) -> StudyResult:
    """Judges all that is asked of one circuit: its checks, then its claims, then what is skipped.

    `budget` is the one that all studies of a file share. Raises StudyStopped on Ctrl-C.
    """
    result: StudyResult | None = None
    try:
        result = _judged(study, begins, states, budget := budget or Budget.of(states))
        return _in_doubt(study, result, begins, states, budget)
    except KeyboardInterrupt as stopped:
        # Once there is a result, what is stopped may be a study under other rules, whose own result is no matter.
        known = stopped.result if result is None and isinstance(stopped, StudyStopped) else result
        if known is None:
            raise
        raise StudyStopped(_not_tried_otherwise(study, known)) from None


def _not_tried_otherwise(study: Study, known: StudyResult) -> StudyResult:
    """What is known of a study where rules that are not certain were not tried otherwise.

    What holds and came to one is open again; what fails may depend on it.
    """
    if not any(outcome.relied for outcome in known.outcomes):
        return known
    from circuitcheck.judging.otherwise import with_doubts

    result = replace(known, outcomes=tuple(open_again(each) if each.relied else each for each in known.outcomes))

    def not_come_to(other: Study) -> list[Outcome]:
        asked: tuple[Check | Claim, ...] = (*other.checks, *other.claims)
        return [left(each) for each in asked]

    return with_doubts(study, result, not_come_to)


def _in_doubt(
    study: Study, result: StudyResult, begins: Callable[[str], None], states: int, budget: Budget
) -> StudyResult:
    """A result, with what ended runs early, and with what depends on rules that are not certain."""
    if any(outcome.refusal is not None for outcome in result.outcomes):
        from circuitcheck.checks.refusing import with_refusals  # few runs end so

        result = with_refusals(study, result)
    if not any(outcome.relied for outcome in result.outcomes):
        return result
    from circuitcheck.judging.otherwise import with_doubts  # few files come to a rule that is not certain

    return with_doubts(study, result, lambda other: _judged(other, begins, states, budget, False).outcomes)


def _judged(
    study: Study, begins: Callable[[str], None], states: int, budget: Budget, flashing: bool = True
) -> StudyResult:
    if not study.claims or not states:
        return judge(study, begins, budget.runs)
    from circuitcheck.judging import door  # only a file that claims something needs the prover

    limits = Limits(states, until=budget.proofs.until)
    judged = door.judged if flashing else door.judged_as_asked
    return judged(study, limits, budget.proofs, budget.runs, begins)


@dataclass(frozen=True, slots=True)
class Attempt:
    """What came of working a circuit's inputs from the command line."""

    path: str
    diagnostics: tuple[Diagnostic, ...]
    trial: Trial | None
    sources: dict[str, tuple[str, ...]]
    where: Mapping[str, At] = field(default_factory=dict)
    """Of a circuit that is drawn: where its parts stand."""

    @property
    def exit(self) -> Exit:
        """Whether all that the lines expected came about."""
        if self.diagnostics or self.trial is None:
            return Exit.INVALID
        verdict = self.trial.outcome.verdict
        return Exit.HOLDS if verdict in GOOD else Exit.UNDECIDED if verdict in OPEN else Exit.FAILS

    def unknown(self, names: Sequence[str]) -> str:
        """What is wrong with the first of these names that is no signal of the circuit; empty if all are."""
        if self.trial is None or self.trial.recording is None:
            return ""
        program = self.trial.recording.program
        circuit = program.circuit
        for name in names:
            if circuit.signal(name) is None and not program.is_water(name):
                return f"nothing is called '{name}'. {did_you_mean(name, circuit.signals)}".strip()
        return ""


def attempt(path: str | os.PathLike[str], lines: Sequence[str], root: str | os.PathLike[str] = "") -> Attempt:
    """Works the inputs of a file's own circuit as the lines of a check say."""
    return attempted(load_with(path, lines, root))


def attempted(loaded: Loaded) -> Attempt:
    """Runs the one check of a file that was read with lines of a call."""
    study = next((study for study in loaded.studies if not study.label), None)
    if study is None:
        return Attempt(loaded.path, loaded.diagnostics, None, loaded.sources)
    return Attempt(loaded.path, loaded.diagnostics, try_out(study), loaded.sources, places_of(study))


def overall(reports: Sequence[FileReport]) -> Exit:
    """The exit code for several files together: the gravest of theirs."""
    exits = {report.exit for report in reports}
    for grave in (Exit.INVALID, Exit.FAILS, Exit.UNDECIDED):
        if grave in exits:
            return grave
    return Exit.HOLDS
