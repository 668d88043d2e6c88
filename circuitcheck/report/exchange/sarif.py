"""The report as a SARIF log (OASIS Static Analysis Results Interchange Format, version 2.1.0), as plain data.

Failures are results of level error, warnings and notes of those levels; what is undecided is of the kind `open`, which
the standard has for it (3.27.9), and what the file silences stands there suppressed, with its reason (3.35).
"""

from __future__ import annotations

import hashlib
import os
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import quote

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.checks.finding import Finding
from circuitcheck.checks.outcome import FAILING, OPEN, Outcome, Verdict
from circuitcheck.diagnostics import Diagnostic, Span
from circuitcheck.model.rules import RULES
from circuitcheck.report.lines import plain, safe
from circuitcheck.report.reference import mistakes, rules
from circuitcheck.report.terminal.verdict_lines import finding_level, outcome_lines
from circuitcheck.verify import Exit, FileReport, overall

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
WIDTH = 90
FINGERPRINT = "askedOrFound/v1"

VERDICTS = {
    Verdict.FAILS: "fix the circuit, or the line that it breaks",
    Verdict.FAILS_IF: "fix the circuit, or set the rule in the file if it is known to be otherwise",
    Verdict.RACE: "make the build decide the order: add a delay on one of the two paths",
    Verdict.OPEN_START: "declare how the part starts",
    Verdict.HOLDS_AGAINST_WORD: "remove 'fails because', or check for what does fail",
    Verdict.FAILS_OTHERWISE: "name the rule that applies, or fix what else is wrong",
    Verdict.NOT_MET: "add a check in which its trigger occurs",
    Verdict.VACUOUS: "claim something whose trigger can occur",
    Verdict.UNDECIDED: "make the circuit or the claim smaller, or raise the budget of states",
}
"""What to do about each verdict that is reported."""

Result = dict[str, Any]


def sarif(reports: Sequence[FileReport], code: Exit | None = None) -> dict[str, Any]:
    """The log of some files; `code` is the exit code of the call where it is not that of the files."""
    results = [result for report in reports for result in _results(report)]
    ids = sorted({result["ruleId"] for result in results})
    for result in results:
        result["ruleIndex"] = ids.index(result["ruleId"])
    _tell_apart(results)
    code = overall(reports) if code is None else code
    driver = {"name": PROGRAM, "version": VERSION, "rules": [_rule(each) for each in ids]}
    run = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "invocations": [{"executionSuccessful": True, "exitCode": int(code), "exitCodeDescription": code.name.lower()}],
        "results": results,
    }
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def _tell_apart(results: Sequence[Result]) -> None:
    """Gives results that are alike, but for their place, fingerprints of their own, in the order of the file."""
    seen: Counter[str] = Counter()
    for result in results:
        fingerprint = result["partialFingerprints"][FINGERPRINT]
        seen[fingerprint] += 1
        if seen[fingerprint] > 1:
            result["partialFingerprints"][FINGERPRINT] = f"{fingerprint}:{seen[fingerprint]}"


def _rule(rule: str) -> dict[str, Any]:
    """What a result cites: a code of a mistake, a rule of the trade, or a verdict; with help."""
    if rule in RULES:
        text = rules().get(rule) or RULES[rule]
        return {"id": rule, "shortDescription": {"text": RULES[rule]}, "help": {"text": text, "markdown": text}}
    if rule in mistakes():
        what, hint = mistakes()[rule]
        return {"id": rule, "shortDescription": {"text": what}, "help": {"text": f"Hint: {hint}."}}
    verdict = next(each for each in VERDICTS if _verdict_id(each) == rule)
    help_ = f"Hint: {VERDICTS[verdict]}."
    return {"id": rule, "shortDescription": {"text": f"a check or claim {verdict.value}"}, "help": {"text": help_}}


def _verdict_id(verdict: Verdict) -> str:
    return "asked-" + verdict.name.lower().replace("_", "-")


def _results(report: FileReport) -> Iterator[Result]:
    for diagnostic in report.diagnostics:
        yield _mistake(diagnostic)
    for result in report.results:
        for outcome in result.outcomes:
            if outcome.verdict in FAILING | OPEN:
                yield _asked(outcome, result.label)
    for finding in report.findings:
        yield _finding(finding)


def _mistake(each: Diagnostic) -> Result:
    return _result(each.code, "error", _sentences(each.message, each.hint), each.span, each.message)


def _asked(outcome: Outcome, label: str) -> Result:
    text = plain(outcome_lines(outcome, WIDTH))
    made = _result(_verdict_id(outcome.verdict), "error", text, outcome.span, f"{label}\n{outcome.title}")
    if outcome.verdict in OPEN:
        made |= {"level": "none", "kind": "open"}
    if outcome.failure is not None and outcome.failure.broken.span != outcome.span and outcome.failure.broken.span.line:
        broken = {**_location(outcome.failure.broken.span), "id": 0, "message": {"text": "the line that was broken"}}
        made["relatedLocations"] = [broken]
    return made


def _finding(each: Finding) -> Result:
    made = _result(each.rule, finding_level(each), _sentences(each.message, each.hint), each.span, each.part)
    if each.silenced and each.cautions:
        # What is suppressed isn't shown; a caution is, with the reason.
        made["message"]["text"] += safe(f" Silenced in the file because: {each.silenced}.")
    elif each.silenced:
        made["suppressions"] = [{"kind": "inSource", "justification": safe(each.silenced)}]
    return made


def _sentences(message: str, hint: str) -> str:
    return safe(f"{message}. Hint: {hint}." if hint else f"{message}.")


def _result(rule: str, level: str, text: str, span: Span, told_by: str) -> Result:
    """One result; `told_by` is what tells it from others of its rule in its file, wherever it stands there."""
    # Where else something stands may be said in a message, and must not count either.
    told_by = re.sub(r"\bline \d+|:\d+:\d+", "", told_by)
    whole = f"{rule}\n{span.file}\n{told_by}".encode("utf-8", "replace")
    return {
        "ruleId": rule,
        "level": level,
        "message": {"text": text},
        "locations": [_location(span)],
        "partialFingerprints": {FINGERPRINT: hashlib.sha256(whole).hexdigest()},
    }


def _location(span: Span) -> dict[str, Any]:
    region = {
        "startLine": max(span.line, 1),
        "startColumn": max(span.column, 1),
        "endColumn": max(span.end_column, span.column + 1, 2),
    }
    return {"physicalLocation": {"artifactLocation": {"uri": _uri(span.file)}, "region": region}}


def _uri(path: str) -> str:
    """A path as a reference relative to where the program was called, or as a whole URI where it is absolute."""
    if os.path.isabs(path):
        return Path(path).as_uri()
    return quote(os.fsencode(path.replace(os.sep, "/")))
