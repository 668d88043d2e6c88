"""What the tests of verdicts share: a text is judged, and its outcomes are read back by title."""

from __future__ import annotations

import circuitcheck
from circuitcheck import FileReport
from circuitcheck.checks.outcome import Outcome


def judged(text: str) -> FileReport:
    """The report on a text that has no mistakes; claims are watched in its runs, and not proved."""
    report = circuitcheck.verify_text(text, states=0)
    assert report.diagnostics == ()
    return report


def outcome(text: str, title: str) -> Outcome:
    """The outcome of that title."""
    (only,) = [each for each in judged(text).outcomes if each.title == title]
    return only


def verdict(text: str, title: str) -> str:
    return outcome(text, title).verdict.name


def broken_at(text: str, title: str) -> int | None:
    """The gt in which it broke, or None if it is well."""
    found = outcome(text, title)
    return None if found.failure is None else found.failure.at


def rules_found(text: str) -> list[str]:
    return [each.rule for each in judged(text).findings]
