"""What the tests of mistakes share: a text, read and judged, and a short way to say what was explained for it."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import circuitcheck
from circuitcheck.diagnostics import Diagnostic


class Mistake(NamedTuple):
    """A text and the one mistake that is to be told of it. `says` and `mend` are parts of the words."""

    text: str
    code: str
    line: int
    column: int
    says: str
    hint: str


def told(text: str, folder: Path | str = ".") -> tuple[Diagnostic, ...]:
    """What is reported of a text's mistakes; that there are some makes it exit code 2."""
    report = circuitcheck.verify_text(text, folder=folder)
    assert (int(report.exit) == 2) is bool(report.diagnostics)
    assert not (report.diagnostics and report.results)
    return report.diagnostics


def codes(text: str, folder: Path | str = ".") -> list[str]:
    """The codes of a text's mistakes, in the order in which they are reported."""
    return [each.code for each in told(text, folder)]


FOLLOWED = frozenset({"CKT207", "CKT506"})
"""Mistakes after which names inside a definition are missing as well; what is reported of those is not looked at."""


def check_mistake(mistake: Mistake) -> None:
    """Asserts that this mistake is the first that is reported, and that none of another kind is."""
    diagnostics = told(mistake.text)
    assert diagnostics, f"nothing is told of {mistake.text!r}"
    first = diagnostics[0]
    assert (first.code, first.span.line, first.span.column) == (mistake.code, mistake.line, mistake.column), first
    assert mistake.says in first.message
    assert mistake.hint in first.hint
    assert mistake.code in FOLLOWED or {each.code for each in diagnostics} == {mistake.code}
