"""What must be so of every input, whatever it holds: it is read or told, judged, and written in words and in data."""

from __future__ import annotations

import json
import re
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from circuitcheck.checks.watches import longest_debt
from circuitcheck.diagnostics import Diagnostic
from circuitcheck.language.load import Loaded, load_text
from circuitcheck.model.claims import Study
from circuitcheck.report.exchange.data import document
from circuitcheck.report.terminal.verdict_lines import report_lines
from circuitcheck.verify import FileReport, report_on

from .seeds import FOLDER

MOST_MISTAKES = 20
MOST_PARTS = 60
"""Of all studies of a file together: larger ones are only read."""
LATEST = 2000
"""The last gt of a check that is still run, with what may be owed to claims by then."""
LONGEST_RUNS = 10_000
"""How many gt all checks of a file may take together."""
STATES = 300
"""How many states are looked at for each claim."""
MOST_SECONDS = 20.0
"""Of CPU time, for each stage of one input: more than any budget of the program needs, on a busy machine too."""
AGAIN = 1.0
"""After how much more of it a stage is stopped once more, if it was not the first time."""

GOOD = {"holds", "proved", "unbroken", "fails_as_said"}
UNDECIDED = {"not_met", "vacuous", "undecided"}
NEITHER = {"skipped"}
"""What the language reference counts as good, as undecided, and as neither; all else is a failure."""


class Wrong(Exception):
    """Something came out that must not. The text says what, alike for all inputs with which it happens."""


class TooLong(BaseException):
    """A stage took too much CPU time. No Exception, so that nothing catches it on its way."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What came of one input."""

    valid: bool
    verified: bool
    came_to: tuple[str, ...]
    """The codes of mistakes; or verdicts, rules of findings, kinds of parts and of claims: to tell what is new."""


def check(text: str) -> Seen:
    """Puts one input through everything. Raises Wrong, TooLong, or whatever the program raises and should not."""
    with limited("reading"):
        loaded = load_text(text, folder=FOLDER)
    _check_diagnostics(loaded)
    if not loaded.valid:
        _check_reports(report_on(loaded))
        return Seen(False, False, tuple(sorted({each.code for each in loaded.diagnostics})))
    if not small(loaded.studies):
        return Seen(True, False, ("large",))
    with limited("judging"):
        report = report_on(loaded, states=STATES)
    _check_exit(report)
    _check_reports(report)
    return Seen(True, True, _came_to(loaded, report))


def _came_to(loaded: Loaded, report: FileReport) -> tuple[str, ...]:
    said = {each.verdict.name.lower() for each in report.outcomes} | {each.rule for each in report.findings}
    for study in loaded.studies:
        said.update(type(part).__name__ for part in study.circuit.parts)
        said.update(type(claim.body).__name__ for claim in study.claims)
        said.update(type(each.body).__name__ for check in study.checks for each in check.throughout)
    return tuple(sorted(said))


def small(studies: tuple[Study, ...]) -> bool:
    """Whether a file is verified here: it has few parts, and none of its checks takes long."""
    if sum(len(study.circuit.parts) for study in studies) > MOST_PARTS:
        return False
    lengths = []
    for study in studies:
        owed = [longest_debt(claim) for claim in study.claims]
        for each in study.checks:
            lengths.append(each.until + max([*owed, *map(longest_debt, each.throughout)], default=0))
    return max(lengths, default=0) <= LATEST and sum(lengths) <= LONGEST_RUNS


@contextmanager
def limited(stage: str) -> Iterator[None]:
    """Raises TooLong when what is inside has used up its CPU time."""

    def stop(number: int, frame: object) -> None:
        raise TooLong(f"{stage} takes more than {MOST_SECONDS:.0f} s of CPU time")

    before = signal.signal(signal.SIGPROF, stop)
    # It rings again: what is raised while the collector of garbage calls back is lost.
    signal.setitimer(signal.ITIMER_PROF, MOST_SECONDS, AGAIN)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def _require(holds: bool, what: str) -> None:
    if not holds:
        raise Wrong(what)


def _check_diagnostics(loaded: Loaded) -> None:
    _require(loaded.valid is not bool(loaded.diagnostics), "valid is not the same as without mistakes")
    _require(not (loaded.diagnostics and loaded.studies), "a file with mistakes has studies")
    _require(len(loaded.diagnostics) <= MOST_MISTAKES, "more mistakes are told than 20")
    _require(len(set(loaded.diagnostics)) == len(loaded.diagnostics), "a mistake is told twice")
    for each in loaded.diagnostics:
        _check_diagnostic(each, loaded.sources)


def _check_diagnostic(each: Diagnostic, sources: dict[str, tuple[str, ...]]) -> None:
    span = each.span
    _require(re.fullmatch(r"CKT[0-9]{3}", each.code) is not None, "a mistake has no code")
    _require(bool(each.message.strip()), f"{each.code} has no message")
    _require(span.file in sources, f"{each.code} names no file that was read")
    lines = sources[span.file]
    _require(1 <= span.line <= len(lines), f"{each.code} stands in no line of its file")
    _require(1 <= span.column <= len(lines[span.line - 1]) + 1, f"{each.code} stands in no column of its line")
    _require(span.end_column >= span.column, f"{each.code} ends before it begins")


def _check_exit(report: FileReport) -> None:
    verdicts = {each.verdict.name.lower() for each in report.outcomes}
    failing = verdicts - GOOD - UNDECIDED - NEITHER or any(each.forbidden for each in report.findings)
    expected = 1 if failing else 3 if verdicts & UNDECIDED else 0
    _require(int(report.exit) == expected, f"exit {int(report.exit)} where the outcomes make it {expected}")


def _check_reports(report: FileReport) -> None:
    with limited("reporting"):
        for width, quiet in ((80, False), (30, True)):
            for line in report_lines(report, width, quiet):
                _require(not any("\n" in piece.text or "\x1b" in piece.text for piece in line), "a line is broken")
        written = json.loads(json.dumps(document([report]), allow_nan=False))
    _require(written["exit"]["code"] == int(report.exit), "the data has another exit code")
    _require(len(written["files"][0]["diagnostics"]) == len(report.diagnostics), "the data has other mistakes")
