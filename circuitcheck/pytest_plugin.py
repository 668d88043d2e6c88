"""Makes circuit files tests: pytest collects `*.circuit` files, one item for each check and claim.

A thin shell over `circuitcheck.verify`; nothing of it is imported before a circuit file is met.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from circuitcheck.checks.outcome import Finding, Outcome

SUFFIX = ".circuit"
WIDTH = 90


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> pytest.Collector | None:
    """Takes every circuit file."""
    if file_path.suffix != SUFFIX:
        return None
    collected: pytest.Collector = CircuitFile.from_parent(parent, path=file_path)
    return collected


class CircuitError(Exception):
    """A circuit file has mistakes, or a check of it does not hold; the text says it all."""


def _short_path(path: Path) -> str:
    try:
        return str(path.relative_to(Path.cwd()))
    except ValueError:
        return str(path)


class CircuitFile(pytest.File):
    """A circuit file; its items are made when pytest asks for them."""

    def collect(self) -> Iterable[pytest.Item]:
        from circuitcheck.report.lines import line
        from circuitcheck.report.terminal import diagnostic_lines
        from circuitcheck.verify import verify_file

        report = verify_file(_short_path(self.path))
        if report.diagnostics:
            shown = [line()]
            for diagnostic in report.diagnostics:
                shown += diagnostic_lines(diagnostic, report.sources, WIDTH)
            raise CircuitError("\n".join("".join(piece.text for piece in pieces) for pieces in shown))
        for result in report.results:
            for outcome in result.outcomes:
                name = f"{result.label}: {outcome.title}" if result.label else outcome.title
                yield CircuitItem.from_parent(self, name=_name(name), outcome=outcome)
        for finding in report.findings:
            if finding.forbidden:
                yield ForbiddenItem.from_parent(
                    self, name=_name(f"forbid {finding.rule} {finding.part}"), finding=finding
                )

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], *args: Any, **more: Any) -> Any:
        if isinstance(excinfo.value, CircuitError):
            return str(excinfo.value)
        return super().repr_failure(excinfo, *args, **more)


def _name(title: str) -> str:
    """A title as a test's name: without what node ids and reports can't carry."""
    from circuitcheck.report.lines import safe

    return safe(title).replace("::", ":").replace("[", "(").replace("]", ")")


class TextItem(pytest.Item):
    """An item that fails with a text of the program's own, never with a traceback."""

    def repr_failure(self, excinfo: pytest.ExceptionInfo[BaseException], *args: Any, **more: Any) -> Any:
        if isinstance(excinfo.value, CircuitError):
            return str(excinfo.value)
        return super().repr_failure(excinfo, *args, **more)


class ForbiddenItem(TextItem):
    """A finding that the file forbids: it fails."""

    def __init__(self, *, finding: Finding, **more: Any) -> None:
        super().__init__(**more)
        self.finding = finding

    def runtest(self) -> None:
        found = self.finding
        raise CircuitError(
            f"{found.span.file}:{found.span.line}:\n  FORBIDDEN {found.rule}  {found.message}\n  mend: {found.mend}"
        )

    def reportinfo(self) -> tuple[Path, int, str]:
        return self.path, max(self.finding.span.line - 1, 0), self.name


class CircuitItem(TextItem):
    """One check or claim. The file was run when it was collected; the item tells how that came out."""

    def __init__(self, *, outcome: Outcome, **more: Any) -> None:
        super().__init__(**more)
        self.outcome = outcome

    def runtest(self) -> None:
        from circuitcheck.checks.outcome import GOOD, OPEN

        if self.outcome.verdict in OPEN:
            pytest.skip(f"{self.outcome.verdict.value}: {self.outcome.detail}")
        if self.outcome.verdict not in GOOD:
            raise CircuitError(self._explanation())

    def _explanation(self) -> str:
        from circuitcheck.report.terminal import outcome_lines

        rows = ["".join(piece.text for piece in pieces).rstrip() for pieces in outcome_lines(self.outcome, WIDTH)]
        return f"{self.outcome.span.file}:{self.outcome.span.line}:\n" + "\n".join(rows)

    def reportinfo(self) -> tuple[Path, int, str]:
        return self.path, max(self.outcome.span.line - 1, 0), self.name
