"""The report for people: calm, aligned, the same words with and without colour."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from circuitcheck.checks.finding import Finding
from circuitcheck.checks.outcome import FAILING, GOOD, OPEN, Given, Outcome, StudyResult, Verdict
from circuitcheck.diagnostics import Diagnostic
from circuitcheck.model.duration import show
from circuitcheck.model.rules import LANGUAGE_VERSION
from circuitcheck.report.like_findings import others, together
from circuitcheck.report.lines import Line, Piece, Style, beside_or_below, columns_of, line, safe, wrapped
from circuitcheck.report.wording import drawn_in, happened, place_in
from circuitcheck.verify import FileReport

if TYPE_CHECKING:
    from circuitcheck.model.drawing import At
    from circuitcheck.report.terminal.chains import Chains
    from circuitcheck.report.terminal.places import Places

LABELS: dict[Verdict, tuple[str, Style]] = {
    Verdict.HOLDS: ("holds", Style.GOOD),
    Verdict.PROVED: ("proved", Style.GOOD),
    Verdict.UNBROKEN: ("unbroken", Style.GOOD),
    Verdict.FAILS_AS_SAID: ("as said", Style.GOOD),
    Verdict.HOLDS_IF: ("holds if", Style.GOOD),
    Verdict.FAILS: ("FAILS", Style.BAD),
    Verdict.FAILS_IF: ("FAILS if", Style.BAD),
    Verdict.RACE: ("RACE", Style.BAD),
    Verdict.OPEN_START: ("START", Style.BAD),
    Verdict.HOLDS_AGAINST_WORD: ("HOLDS", Style.BAD),
    Verdict.FAILS_OTHERWISE: ("FAILS", Style.BAD),
    Verdict.NOT_MET: ("open", Style.DOUBT),
    Verdict.VACUOUS: ("vacuous", Style.DOUBT),
    Verdict.UNDECIDED: ("open", Style.DOUBT),
    Verdict.SKIPPED: ("skipped", Style.FAINT),
}


def report_lines(report: FileReport, width: int, quiet: bool = False) -> Iterator[Line]:
    """Everything about one file. `quiet` leaves out what holds and what only informs."""
    if report.diagnostics:
        yield line(Piece(safe(report.path), Style.STRONG))
        for diagnostic in report.diagnostics:
            yield from diagnostic_lines(diagnostic, report.sources, width)
        yield line()
        return
    shown = [result for result in report.results if not quiet or _speaks(result)]
    findings = [finding for finding in report.findings if not quiet or finding.forbidden or finding.cautions]
    if quiet and not shown and not findings:
        return
    yield from _head(report, width, quiet)
    for result in shown:
        yield from _study(result, width, quiet)
    if not report.outcomes:
        yield line("  there is no check and no claim here")
    yield from finding_lines(findings, report.path, width)
    for result in report.results:
        yield from _unlooked(result, width) if not quiet else ()
    yield line()


def _unlooked(result: StudyResult, width: int) -> Iterator[Line]:
    """How far it was looked for flashing, where not everywhere."""
    if result.flashing is not None and not result.flashing.complete:
        from circuitcheck.report.terminal.cautions import search_sentence

        text = f"flashing that it makes by itself (S1): {search_sentence(result.flashing)}"
        yield from wrapped(f"{safe(result.label)}: {text}" if result.label else text, width, "  ", style=Style.FAINT)


def _speaks(result: StudyResult) -> bool:
    return any(outcome.verdict in FAILING | OPEN for outcome in result.outcomes)


def _head(report: FileReport, width: int, quiet: bool) -> Iterator[Line]:
    own = next((result for result in report.results if not result.label), None)
    title = f"  {safe(report.title)}" if report.title else ""
    yield from beside_or_below(Piece(safe(report.path), Style.STRONG), title, width, "  ")
    parts = f", {own.parts} part{'' if own.parts == 1 else 's'}" if own is not None else ""
    yield line(Piece(f"  language {LANGUAGE_VERSION}, rules {safe(report.rules)}{parts}", Style.FAINT))
    if own is not None and own.box is not None and not quiet:
        yield from wrapped(drawn_in(own.box), width, "  ", style=Style.FAINT)


def _study(result: StudyResult, width: int, quiet: bool) -> Iterator[Line]:
    if result.label and result.outcomes:
        yield from _labelled(result, width, quiet)
    places = _places(result.where) if result.where else None
    chains = _chains() if any(outcome.failure is not None for outcome in result.outcomes) else None
    for outcome in result.outcomes:
        if not quiet or outcome.verdict in FAILING | OPEN:
            shown = outcome_lines(outcome, width, chains)
            fails = outcome.verdict in FAILING | OPEN
            yield from places.noted(shown) if fails and places is not None else shown
    if places is not None:
        yield from places.lines(width)


def _labelled(result: StudyResult, width: int, quiet: bool) -> Iterator[Line]:
    """What a study is of, and the box of what it draws beside it where that fits."""
    label = f"  {safe(result.label)}"
    said = "" if quiet or result.box is None else drawn_in(result.box)
    if said and columns_of(label) + 2 + len(said) <= width:
        yield line(label, Piece(f"  {said}", Style.FAINT))
        return
    yield line(label)
    if said:
        yield from wrapped(said, width, "    ", style=Style.FAINT)


def _places(where: Mapping[str, At]) -> Places:
    from circuitcheck.report.terminal.places import Places  # only what is drawn stands somewhere

    return Places(where)


def _chains() -> Chains:
    from circuitcheck.report.terminal.chains import Chains  # only what fails needs them

    return Chains()


def outcome_lines(outcome: Outcome, width: int, chains: Chains | None = None) -> Iterator[Line]:
    """One check or claim: its verdict, and where it did not hold, what was expected, what happened, and why.

    Of causes that `chains` says were told before it is said only where.
    """
    label, style = LABELS[outcome.verdict]
    said = _said(outcome)
    rows = wrapped(f"{safe(outcome.title)}{said}", width - 11, "", "           ")
    for place, row in enumerate(rows):
        yield line("  ", Piece(f"{label:<9}", style), *row) if place == 0 else row
    for sentence in given_sentences(outcome):
        yield from wrapped(sentence, width, "           ", "             ")
    if outcome.verdict in GOOD or outcome.verdict is Verdict.SKIPPED:
        return
    if outcome.detail:
        yield from wrapped(safe(outcome.detail), width, "    ")
    if outcome.proof is not None and outcome.proof.hints:
        yield from wrapped(f"what would help: {'; '.join(outcome.proof.hints)}", width, "    ", "      ")
    for difference in outcome.differences:
        yield from wrapped(safe(difference), width, "    - ", "      ")
    if outcome.failure is not None:
        from circuitcheck.report.terminal.failure import failure_lines  # only what fails needs words and a picture

        yield from failure_lines(outcome, outcome.failure, width, chains)


def given_sentences(outcome: Outcome) -> Iterator[str]:
    """What a verdict depends on, or may depend on, and what it comes to otherwise."""
    begins = "if" if outcome.verdict in GOOD else "fails, if"
    for given in outcome.given:
        if given.otherwise is not None:
            yield f"{begins} {given.takes} ({given.rule}), which is not certain; {_otherwise(given)}"
    untried = list(dict.fromkeys(given.rule for given in outcome.given if given.otherwise is None))
    if untried:
        yield f"{begins} it is as {', '.join(untried)} say{'' if untried[1:] else 's'}; nothing else can be tried (V6)"


def _otherwise(given: Given) -> str:
    if given.otherwise in GOOD or given.otherwise in FAILING:
        return f'under "setting {given.tried}" it {"holds" if given.otherwise in GOOD else "fails"}'
    return f'under "setting {given.tried}" it was not decided'


def headline(outcome: Outcome) -> str:
    """What came of a check or claim, in one line."""
    if outcome.differences:
        return safe(f"{outcome.verdict.value}: {outcome.differences[0]}")
    if outcome.failure is None:
        return safe(f"{outcome.verdict.value}: {outcome.detail}" if outcome.detail else outcome.verdict.value)
    return safe(f"{outcome.verdict.value} at {show(outcome.failure.at)}: {happened(outcome.failure)}")


def _said(outcome: Outcome) -> str:
    if outcome.verdict in (Verdict.HOLDS, Verdict.HOLDS_IF, Verdict.SKIPPED) and outcome.detail:
        return f"  ({safe(outcome.detail)})"
    if outcome.verdict in (Verdict.PROVED, Verdict.HOLDS_IF) and outcome.proof is not None:
        return f"  ({outcome.proof.states:,} states)"
    if outcome.verdict is Verdict.UNBROKEN:
        runs = "this run" if outcome.runs == 1 else f"these {outcome.runs} runs"
        why = f": {outcome.proof.limit}" if outcome.proof is not None else ""
        return f"  (not broken in {runs}; not proved{why})"
    if outcome.verdict is Verdict.FAILS_AS_SAID:
        return f"  (fails {outcome.detail}, as the file says)"
    if outcome.verdict in (Verdict.FAILS, Verdict.FAILS_IF, Verdict.FAILS_OTHERWISE) and outcome.failure is not None:
        return f"  at {show(outcome.failure.at)}"
    if outcome.verdict in (Verdict.RACE, Verdict.OPEN_START, Verdict.HOLDS_AGAINST_WORD):
        return f"  ({outcome.verdict.value})"
    return ""


FINDING_LABELS = {"error": ("FORBID", Style.BAD), "warning": ("warning", Style.DOUBT), "note": ("note", Style.FAINT)}


def finding_level(finding: Finding) -> str:
    """How grave a finding is: `error` if the file forbids it, `note` if it only informs, else `warning`."""
    return "error" if finding.forbidden else "note" if finding.rule == "P5" else "warning"


def finding_lines(findings: Sequence[Finding], path: str, width: int) -> Iterator[Line]:
    """Cautions; all else with its rule, its line (and its file, if not `path`) and its mend; silenced ones: counted.

    What is the same of several parts is said once, with all of them.
    """
    if any(finding.cautions for finding in findings):
        from circuitcheck.report.terminal.cautions import caution_lines, cautions  # few files need any

        yield from caution_lines(cautions(findings), path, width)
    plain_ones = [finding for finding in findings if not finding.cautions]
    silenced = [finding for finding in plain_ones if finding.silenced]
    for group in together(finding for finding in plain_ones if not finding.silenced):
        finding = group[0]
        label, style = FINDING_LABELS[finding_level(finding)]
        said = "  ".join(filter(None, (safe(place_in(finding.span, path)), finding.rule, finding.where)))
        yield line("  ", Piece(f"{label:<9}", style), said)
        yield from wrapped(safe(finding.message), width, "           ")
        if group[1:]:
            yield from wrapped(safe(others(group)), width, "           ", "             ")
        if finding.hint:
            yield from wrapped(f"hint: {safe(finding.hint)}", width, "           ", "                 ")
    if silenced:
        rules = ", ".join(sorted({finding.rule for finding in silenced}))
        yield from wrapped(
            f"silenced with a reason in the file: {len(silenced)} ({rules})", width, "  ", style=Style.FAINT
        )


def diagnostic_lines(each: Diagnostic, sources: dict[str, tuple[str, ...]], width: int) -> Iterator[Line]:
    """One mistake in a file: its code and place, the line with a caret, what is wrong, how to fix it."""
    span = each.span
    yield line("  ", Piece(f"error {each.code}", Style.BAD), "  ", Piece(safe(str(span)), Style.STRONG))
    source = sources.get(span.file, ())
    if 0 < span.line <= len(source) and source[span.line - 1].strip():
        yield from _caret(source[span.line - 1], span.column, span.end_column, width)
    yield from wrapped(safe(each.message), width, "    ")
    if each.hint:
        yield from wrapped(f"hint: {safe(each.hint)}", width, "    ", "          ")


def _caret(text: str, column: int, end_column: int, width: int) -> Iterator[Line]:
    """The line with the faulty word marked; of a long line, the stretch around it."""
    room = max(width - 6, 20)
    shift = max(0, column - 1 - room // 2) if len(text) > room else 0
    shown = safe(text.replace("\t", " "))[shift : shift + room]
    length = max(1, min(end_column - column, room - (column - 1 - shift)))
    start = column - 1 - shift
    marked = columns_of(shown[start : start + length]) or length
    yield line("    | ", shown)
    yield line("    | ", " " * columns_of(shown[:start]), Piece("^" * marked, Style.BAD))


def summary(reports: Sequence[FileReport], unchanged: int = 0) -> Line:
    """All files in one line; `unchanged` is how many were left out, as they passed before."""
    outcomes = [outcome for report in reports for outcome in report.outcomes]
    counts: dict[str, int] = {}
    for outcome in outcomes:
        word = _counted_as(outcome.verdict)
        counts[word] = counts.get(word, 0) + 1
    ifs = sum(outcome.verdict is Verdict.HOLDS_IF for outcome in outcomes)
    invalid = sum(1 for report in reports if report.diagnostics)
    findings = [each for report in reports for each in report.findings]
    levels = [finding_level(each) for each in findings if not each.silenced and (each.forbidden or not each.cautions)]
    cautions = sum(1 for each in findings if each.cautions)
    said = [
        *([f"{counts.get('holds', 0)} of {len(outcomes)} checks and claims hold"] if outcomes or not invalid else []),
        *([f"{ifs} of them if rules that are not certain are as taken (V6)"] if ifs else []),
        *([f"{counts['fails']} fail"] if "fails" in counts else []),
        *([f"{counts['open']} open"] if "open" in counts else []),
        *([f"{counts['skipped']} skipped"] if "skipped" in counts else []),
        *([f"{levels.count('error')} forbidden"] if "error" in levels else []),
        *([_count(levels.count("warning"), "warning")] if "warning" in levels else []),
        *([f"{_count(invalid, 'file')} with mistakes"] if invalid else []),
        *([f"{_count(cautions, 'caution')}: flashing that can harm people (S1)"] if cautions else []),
    ]
    left_out = f", {unchanged} unchanged since they passed" if unchanged else ""
    return line(Piece(f"{', '.join(said)} ({_count(len(reports), 'file')}{left_out})", Style.STRONG))


def _counted_as(verdict: Verdict) -> str:
    if verdict is Verdict.SKIPPED:
        return "skipped"
    return "holds" if verdict in GOOD else "open" if verdict in OPEN else "fails"


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
