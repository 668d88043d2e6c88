"""The report as a JUnit log, the XML form that test services read: a suite a file, a case for each thing asked."""

from __future__ import annotations

from collections.abc import Sequence
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from circuitcheck.checks.outcome import FAILING, GOOD, Outcome, full_title
from circuitcheck.report.lines import plain, safe
from circuitcheck.report.terminal.cautions import caution_sentence
from circuitcheck.report.terminal.verdict_lines import diagnostic_lines, finding_lines, headline, outcome_lines
from circuitcheck.verify import FileReport

WIDTH = 100


def junit(reports: Sequence[FileReport], unchanged: Sequence[str]) -> str:
    """The log as text. Files that were left out as unchanged stand in it as skipped."""
    root = Element("testsuites", name="circuitcheck")
    for report in reports:
        _file(root, report)
    for path in unchanged:
        case = _case(_suite(root, path), path, "unchanged since it passed", 1)
        SubElement(case, "skipped", message="unchanged since it passed")
    for suite in root:
        _count(suite, list(suite.iter("testcase")))
    _count(root, list(root.iter("testcase")))
    indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + tostring(root, encoding="unicode") + "\n"


def _count(element: Element, cases: Sequence[Element]) -> None:
    element.set("tests", str(len(cases)))
    for kind, name in (("failure", "failures"), ("error", "errors"), ("skipped", "skipped")):
        element.set(name, str(sum(case.find(kind) is not None for case in cases)))


def _suite(root: Element, path: str) -> Element:
    return SubElement(root, "testsuite", name=safe(path))


def _case(suite: Element, path: str, name: str, line: int, file: str = "") -> Element:
    """A case of the file reported on, at a line of it, or of `file`, which it uses."""
    where = safe(file or path)
    return SubElement(suite, "testcase", classname=safe(path), name=safe(name), file=where, line=str(line))


def _file(root: Element, report: FileReport) -> None:
    suite = _suite(root, report.path)
    if report.diagnostics:
        first = report.diagnostics[0]
        text = plain(row for each in report.diagnostics for row in diagnostic_lines(each, report.sources, WIDTH))
        case = _case(suite, report.path, "mistakes in the file", first.span.line)
        SubElement(case, "error", message=safe(f"{first.code} {first.span}: {first.message}")).text = text
    for result in report.results:
        for outcome in result.outcomes:
            title = full_title(result.label, outcome.title)
            _outcome(_case(suite, report.path, title, outcome.span.line), outcome)
    for finding in report.findings:
        if finding.cautions and not finding.forbidden:
            # Harm to people is no failure of a check, but a test service must show it.
            case = _case(suite, report.path, f"caution {finding.rule} {finding.part}", finding.span.line)
            SubElement(case, "skipped", message=caution_sentence(finding))
        if finding.forbidden:
            name = f"forbid {finding.rule} {finding.part}"
            case = _case(suite, report.path, name, finding.span.line, finding.span.file)
            message = safe(f"{finding.span}: {finding.message}")
            SubElement(case, "failure", message=message).text = plain(finding_lines([finding], report.path, WIDTH))


def _outcome(case: Element, outcome: Outcome) -> None:
    if outcome.verdict in GOOD:
        return
    message = f"{safe(str(outcome.span))}: {headline(outcome)}"
    if outcome.verdict in FAILING:
        SubElement(case, "failure", message=message).text = plain(outcome_lines(outcome, WIDTH))
    else:
        SubElement(case, "skipped", message=message)
