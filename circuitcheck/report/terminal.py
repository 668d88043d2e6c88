"""The report for people: calm, aligned, the same words with and without colour."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from circuitcheck.checks.outcome import GOOD, Failure, Finding, Outcome, Race, StudyResult, Verdict
from circuitcheck.diagnostics import Diagnostic
from circuitcheck.explain.cause import Why, sentence, why
from circuitcheck.model.claims import Claim
from circuitcheck.model.duration import show
from circuitcheck.model.rules import LANGUAGE_VERSION
from circuitcheck.report import words
from circuitcheck.report.lines import Line, Piece, Style, line, safe, wrapped
from circuitcheck.report.picture import picture, window
from circuitcheck.verify import FileReport

LABELS: dict[Verdict, tuple[str, Style]] = {
    Verdict.HOLDS: ("holds", Style.GOOD),
    Verdict.UNBROKEN: ("unbroken", Style.GOOD),
    Verdict.FAILS_AS_SAID: ("as said", Style.GOOD),
    Verdict.FAILS: ("FAILS", Style.BAD),
    Verdict.RACE: ("RACE", Style.BAD),
    Verdict.OPEN_START: ("START", Style.BAD),
    Verdict.HOLDS_AGAINST_WORD: ("HOLDS", Style.BAD),
    Verdict.FAILS_OTHERWISE: ("FAILS", Style.BAD),
    Verdict.NOT_MET: ("open", Style.DOUBT),
    Verdict.UNDECIDED: ("open", Style.DOUBT),
}
MOST_SIGNALS_EXPLAINED = 2
MOST_STEPS_SHOWN = 10


def report_lines(report: FileReport, width: int, quiet: bool = False) -> Iterator[Line]:
    """Everything about one file. `quiet` leaves out what holds and what only informs."""
    if report.diagnostics:
        yield line(Piece(safe(report.path), Style.STRONG))
        for diagnostic in report.diagnostics:
            yield from diagnostic_lines(diagnostic, report.sources, width)
        yield line()
        return
    shown = [result for result in report.results if not quiet or _speaks(result)]
    findings = [finding for finding in report.findings if not (quiet and not finding.forbidden)]
    if quiet and not shown and not findings:
        return
    yield from _head(report)
    for result in shown:
        yield from _study(result, width, quiet)
    yield from finding_lines(findings, width)
    yield line()


def _speaks(result: StudyResult) -> bool:
    return any(outcome.verdict not in GOOD for outcome in result.outcomes)


def _head(report: FileReport) -> Iterator[Line]:
    own = next((result for result in report.results if not result.label), None)
    title = f"  {safe(own.title)}" if own is not None and own.title else ""
    yield line(Piece(safe(report.path), Style.STRONG), title)
    parts = f", {own.parts} parts" if own is not None else ""
    yield line(Piece(f"  language {LANGUAGE_VERSION}, rules {safe(report.rules)}{parts}", Style.FAINT))


def _study(result: StudyResult, width: int, quiet: bool) -> Iterator[Line]:
    if result.label and result.outcomes:
        yield line(f"  {safe(result.label)}")
    for outcome in result.outcomes:
        if not (quiet and outcome.verdict in GOOD):
            yield from outcome_lines(outcome, width)


def outcome_lines(outcome: Outcome, width: int) -> Iterator[Line]:
    """One check or claim: its verdict, and where it did not hold, what was expected, what happened, and why."""
    label, style = LABELS[outcome.verdict]
    said = _said(outcome)
    yield line("  ", Piece(f"{label:<9}", style), safe(outcome.title), Piece(said, Style.FAINT))
    if outcome.verdict in GOOD:
        return
    if outcome.detail:
        yield from wrapped(safe(outcome.detail), width, "    ")
    if outcome.failure is not None:
        yield from _failure(outcome, outcome.failure, width)


def _said(outcome: Outcome) -> str:
    if outcome.verdict is Verdict.UNBROKEN:
        runs = "this run" if outcome.runs == 1 else f"these {outcome.runs} runs"
        return f"  (not broken in {runs}; not proved)"
    if outcome.verdict is Verdict.FAILS_AS_SAID:
        return f"  (fails {outcome.detail}, as the file says)"
    if outcome.verdict in (Verdict.FAILS, Verdict.FAILS_OTHERWISE) and outcome.failure is not None:
        return f"  at {show(outcome.failure.at)}"
    if outcome.verdict in (Verdict.RACE, Verdict.OPEN_START, Verdict.HOLDS_AGAINST_WORD):
        return f"  ({outcome.verdict.value})"
    return ""


def _failure(outcome: Outcome, failure: Failure, width: int) -> Iterator[Line]:
    span = failure.broken.span
    during = ""
    if isinstance(failure.broken, Claim) and failure.check is not None and failure.check.title != outcome.title:
        during = f', during "{safe(failure.check.title)}"'
    yield from _row("expected", f"{safe(words.expected(failure))}   [{safe(str(span))}]", width)
    yield from _row("happened", safe(words.happened(failure)) + during, width)
    if outcome.race is not None:
        yield from _race(outcome.race, width)
    if outcome.starts:
        started = ", ".join(f"{safe(name)} {'on' if level else 'off'}" for name, level in outcome.starts[:6])
        yield from _row("started", f"{started} (declare a start: L5, C6)", width)
    asked = words.signals(failure)[:MOST_SIGNALS_EXPLAINED]
    whys = [why(failure.recording, name, failure.at) for name in asked]
    names = words.drawn(failure, whys)
    first, last = window(failure.recording, names, failure.at)
    yield line()
    yield from picture(failure.recording, names, first, last, width, failure.at)
    yield line()
    for each in whys:
        yield from why_lines(each, width)


def _row(label: str, text: str, width: int) -> list[Line]:
    indent = f"    {label:<10}"
    return wrapped(text, width, indent, " " * len(indent))


def _race(race: Race, width: int) -> Iterator[Line]:
    who = "Worked" if race.by_hand else "Due"
    text = (
        f"{who} in one gt, {show(race.at)}: here '{safe(race.first)}' comes before '{safe(race.second)}', "
        "and the other way round it holds. Nothing but the build decides (C5)."
    )
    yield from _row("race", text, width)
    if race.cure is not None:
        yield from _row("cure", f"tried, and it holds over every order: {safe(race.cure.words)}", width)
    else:
        yield from _row("cure", "none of the small changes that were tried holds over every order", width)


def why_lines(each: Why, width: int) -> Iterator[Line]:
    """The causes of one signal's level, oldest first."""
    state = "on" if each.level == 15 else "off" if each.level == 0 else f"at {each.level}"
    if not each.steps and not each.hindrances:
        yield from _row("because", f"'{safe(each.name)}' has been {state} since the start", width)
        return
    yield from _row("because", f"'{safe(each.name)}' is {state}:", width)
    steps = each.steps[-MOST_STEPS_SHOWN:]
    longest = max((len(safe(step.part)) for step in steps), default=0)
    if len(each.steps) > len(steps):
        yield line("      … and before that ", str(len(each.steps) - len(steps)), " more steps")
    for step in steps:
        text = f"{safe(step.part):<{longest}}  {sentence(step)} ({step.rule})"
        yield from wrapped(text, width, f"      {show(step.at):>6}  ", " " * 14)
    for hindrance in each.hindrances:
        text = f"{safe(hindrance.part)}  {hindrance.words} ({hindrance.rule})"
        yield from wrapped(text, width, f"      {show(hindrance.at):>6}  ", " " * 14, Style.DOUBT)


def finding_lines(findings: Sequence[Finding], width: int) -> Iterator[Line]:
    """Each finding with its rule, its line and how to mend it; those silenced only counted."""
    silenced = [finding for finding in findings if finding.silenced]
    for finding in findings:
        if finding.silenced:
            continue
        label, style = ("FORBIDDEN", Style.BAD) if finding.forbidden else ("note", Style.FAINT)
        if finding.rule != "P5" and not finding.forbidden:
            label, style = "warning", Style.DOUBT
        yield line("  ", Piece(f"{label:<9}", style), f"line {finding.span.line}  {finding.rule}")
        yield from wrapped(safe(finding.message), width, "           ")
        if finding.mend:
            yield from wrapped(f"mend: {safe(finding.mend)}", width, "           ", "                 ")
    if silenced:
        rules = ", ".join(sorted({finding.rule for finding in silenced}))
        yield line(Piece(f"  silenced with a reason in the file: {len(silenced)} ({rules})", Style.FAINT))


def diagnostic_lines(each: Diagnostic, sources: dict[str, tuple[str, ...]], width: int) -> Iterator[Line]:
    """One mistake in a file: its code and place, the line with a caret, what is wrong, how to mend it."""
    span = each.span
    yield line("  ", Piece(f"{each.severity.value} {each.code}", Style.BAD), "  ", Piece(safe(str(span)), Style.STRONG))
    source = sources.get(span.file, ())
    if 0 < span.line <= len(source) and source[span.line - 1].strip():
        yield from _caret(source[span.line - 1], span.column, span.end_column, width)
    yield from wrapped(safe(each.message), width, "    ")
    if each.mend:
        yield from wrapped(f"mend: {safe(each.mend)}", width, "    ", "          ")


def _caret(text: str, column: int, end_column: int, width: int) -> Iterator[Line]:
    """The line with the faulty word marked; of a long line, the stretch around it."""
    room = max(width - 6, 20)
    shift = max(0, column - 1 - room // 2) if len(text) > room else 0
    shown = safe(text.replace("\t", " "))[shift : shift + room]
    length = max(1, min(end_column - column, room - (column - 1 - shift)))
    yield line("    | ", shown)
    yield line("    | ", " " * (column - 1 - shift), Piece("^" * length, Style.BAD))


def summary(reports: Sequence[FileReport]) -> Line:
    """All files in one line."""
    outcomes = [outcome for report in reports for outcome in report.outcomes]
    counts: dict[str, int] = {}
    for outcome in outcomes:
        word = "holds" if outcome.verdict in GOOD else "open" if LABELS[outcome.verdict][0] == "open" else "fails"
        counts[word] = counts.get(word, 0) + 1
    invalid = sum(1 for report in reports if report.diagnostics)
    warnings = sum(
        1 for report in reports for finding in report.findings if not finding.silenced and finding.rule != "P5"
    )
    said = [
        f"{counts.get('holds', 0)} of {len(outcomes)} checks and claims hold",
        *([f"{counts['fails']} fail"] if "fails" in counts else []),
        *([f"{counts['open']} open"] if "open" in counts else []),
        *([_count(warnings, "warning")] if warnings else []),
        *([f"{_count(invalid, 'file')} with mistakes"] if invalid else []),
        _count(len(reports), "file"),
    ]
    return line(Piece(", ".join(said[:-1]) + f" ({said[-1]})", Style.STRONG))


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
