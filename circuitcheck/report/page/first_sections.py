"""The first sections of a page: what the file is, what came of all it asks, and what was found without being asked."""

from __future__ import annotations

from xml.etree.ElementTree import Element

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.checks.finding import Finding
from circuitcheck.checks.outcome import GOOD, Outcome, StudyResult, Verdict
from circuitcheck.diagnostics import Span
from circuitcheck.report.like_findings import others, together
from circuitcheck.report.lines import Style, plain
from circuitcheck.report.page.markup import add, behind, name_of, preformatted
from circuitcheck.report.terminal.failure import failure_lines
from circuitcheck.report.terminal.verdict_lines import (
    FINDING_LABELS,
    LABELS,
    finding_level,
    outcome_lines,
    summary,
)
from circuitcheck.report.wording import place_in
from circuitcheck.verify import FileReport

WIDTH = 92
"""How wide preformatted text is written."""
WIDE = 1_000_000
"""A width at which nothing is broken into lines."""
KINDS = {Style.GOOD: "good", Style.BAD: "bad", Style.DOUBT: "doubt"}


class Covers:
    """Numbers what can be covered, each with the button that reveals it."""

    def __init__(self) -> None:
        self.count = 0

    def over(self, parent: Element, what: str) -> Element:
        """A place for an answer."""
        self.count += 1
        name = f"answer-{self.count}"
        row = add(parent, "p", attributes={"class": "reveal", "hidden": ""})
        add(row, "button", what, {"type": "button", "aria-expanded": "true", "aria-controls": name})
        note = add(row, "span", " covered: say what you expect, then reveal it", {"class": "covered-note"})
        note.set("hidden", "")
        return add(parent, "div", attributes={"class": "answer", "id": name})


def the_file(parent: Element, report: FileReport, circuit: str, states: int) -> None:
    """What the page is about."""
    rows = add(parent, "dl", attributes={"class": "facts"})
    used = [path for path in report.sources if path != report.path]
    own = next((result for result in report.results if not result.label), None)
    facts = (
        ("title", report.title),
        ("circuit", circuit),
        ("file", report.path),
        ("uses", ", ".join(used)),
        ("rules", report.rules),
        ("language", str(report.language)),
        ("parts", f"{own.parts:,}" if own is not None else ""),
        ("program", f"{PROGRAM} {VERSION}"),
        ("budget of states for a claim", f"{states:,} at most" if states else "none: claims were watched in runs only"),
        ("totals", plain([summary([report])])),
    )
    for name, said in facts:
        if said:
            add(rows, "dt", name)
            name_of(add(rows, "dd"), said)


def verdicts(parent: Element, report: FileReport, covers: Covers) -> None:
    """Every check and claim with its verdict, and why it does not hold; then the findings."""
    for result in report.results:
        _study(parent, result, report.path, covers)
    if report.findings:
        add(parent, "h3", "Findings")
        _findings(parent, report, covers)


def _study(parent: Element, result: StudyResult, path: str, covers: Covers) -> None:
    if not result.outcomes:
        return
    if result.label:
        name_of(add(parent, "h3"), result.label)
    rows = add(parent, "ul", attributes={"class": "outcomes"})
    for outcome in result.outcomes:
        row = add(rows, "li", attributes={"class": "outcome"})
        verdict_of(add(row, "p", attributes={"class": "verdict"}), outcome, path)
        if explained(outcome):
            _explanation(covers.over(row, "Explanation"), outcome)


def verdict_of(row: Element, outcome: Outcome, path: str) -> None:
    """A verdict in a line: its word, what it is about, and where that stands, by the file reported on."""
    _, _, *said = next(outcome_lines(outcome, WIDE))
    behind(word_of(row, outcome.verdict), " ")
    name_of(row, "".join(piece.text for piece in said))
    _place(row, outcome.span, path)


def _place(row: Element, span: Span, path: str) -> None:
    where = place_in(span, path)
    if where:
        row[-1].tail = " "
        name_of(add(row, "span", attributes={"class": "note"}), where)


def word_of(parent: Element, verdict: Verdict) -> Element:
    """The word of a verdict."""
    label, style = LABELS[verdict]
    return add(parent, "strong", label, {"class": f"word {KINDS.get(style, 'other')}"})


def explained(outcome: Outcome) -> bool:
    """Whether there is more to say of an outcome than its verdict; of what fails as its file says, how it does."""
    if outcome.verdict is Verdict.FAILS_AS_SAID:
        return outcome.failure is not None
    told = outcome.verdict not in GOOD and outcome.verdict is not Verdict.SKIPPED
    return told and bool(outcome.detail or outcome.differences or outcome.failure)


def _explanation(parent: Element, outcome: Outcome) -> None:
    if outcome.detail and outcome.verdict is not Verdict.FAILS_AS_SAID:
        name_of(add(parent, "p"), outcome.detail)
    if outcome.differences:
        rows = add(parent, "ul")
        for difference in outcome.differences:
            name_of(add(rows, "li"), difference)
    if outcome.failure is not None:
        preformatted(parent, failure_lines(outcome, outcome.failure, WIDTH))


def _last(finding: Finding) -> int:
    """Cautions first, what is silenced last."""
    return 0 if finding.cautions else 2 if finding.silenced else 1


def _findings(parent: Element, report: FileReport, covers: Covers) -> None:
    rows = add(parent, "ul", attributes={"class": "outcomes"})
    for number, group in enumerate(together(sorted(report.findings, key=_last)), 1):
        finding = group[0]
        label, style = FINDING_LABELS[finding_level(finding)]
        shown = ("silenced", "other") if finding.silenced else (label, KINDS.get(style, "other"))
        if finding.cautions:
            shown = ("caution", "bad")
        row = add(rows, "li", attributes={"class": "outcome"})
        top = add(row, "p", attributes={"class": "verdict"})
        behind(add(top, "strong", shown[0], {"class": f"word {shown[1]}"}), " ")
        name_of(top, "  ".join([finding.rule, *([finding.where] if finding.where else [])]))
        _place(top, finding.span, report.path)
        # Harm to people is never covered.
        answer = row if finding.cautions else covers.over(row, f"Finding {number}")
        name_of(add(answer, "p"), finding.message)
        if group[1:]:
            name_of(add(answer, "p"), others(group))
        if finding.silenced:
            name_of(add(answer, "p"), f"silenced because: {finding.silenced}")
        if finding.hint and (finding.cautions or not finding.silenced):
            name_of(add(answer, "p"), f"hint: {finding.hint}")
