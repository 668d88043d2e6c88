"""Makes circuit files tests: pytest collects `*.circuit` files, one item for each check and claim.

A thin shell over `circuitcheck.verify`; nothing of it is imported before a circuit file is met. A file is read when it
is collected, and a circuit of it is judged when the first of its items runs.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from circuitcheck.folders import SUFFIX

if TYPE_CHECKING:
    from circuitcheck.checks.finding import Finding
    from circuitcheck.checks.outcome import Outcome, StudyResult
    from circuitcheck.diagnostics import Span
    from circuitcheck.language.load import Loaded
    from circuitcheck.loaded import LoadedCircuit
    from circuitcheck.report.lines import Line
    from circuitcheck.verify import Budget

WIDTH = 90
LONGEST_NAME = 120
"""Longer titles are cut and distinguished by a digest: a node id must go on a command line and into an environment."""
CAUTION = "circuit caution"
"""The property of an item's report that says what can harm people."""
MARKERS = {
    "circuit": "every item of a circuit file",
    "circuit_check": "a check of a circuit file",
    "circuit_claim": "a claim of a circuit file, made with always or never",
    "circuit_forbid": "a finding that a circuit file forbids",
}


def pytest_addoption(parser: pytest.Parser) -> None:
    """Adds the one setting."""
    parser.addini("circuit_root", "the folder out of which circuit files may use others; their own folder if not set")


def pytest_configure(config: pytest.Config) -> None:
    """Registers the markers that items carry, for `-m` and for --strict-markers."""
    for name, meaning in MARKERS.items():
        config.addinivalue_line("markers", f"{name}: {meaning}")
    root = _root(config)
    if root and not Path(root).is_dir():
        raise pytest.UsageError(f"circuit_root: '{root}' is no folder")


def pytest_collect_file(file_path: Path, parent: pytest.Collector) -> pytest.Collector | None:
    """Takes every circuit file."""
    if file_path.suffix != SUFFIX or not file_path.is_file():
        return None
    collected: pytest.Collector = CircuitFile.from_parent(parent, path=file_path)
    return collected


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Tells what can harm people (rule S1), however little else is reported; it comes with the reports of the items."""
    reports = (each for group in terminalreporter.stats.values() for each in group)
    said = (value for each in reports for name, value in getattr(each, "user_properties", ()) if name == CAUTION)
    cautions = dict.fromkeys(map(str, said))
    if cautions:
        terminalreporter.section("circuit cautions")
        for caution in cautions:
            terminalreporter.line(caution)


@pytest.fixture
def load_circuit(request: pytest.FixtureRequest) -> Callable[[str | Path], LoadedCircuit]:
    """Loads a circuit file for a test in Python; its path is taken from the folder of that test."""

    def load(path: str | Path) -> LoadedCircuit:
        from circuitcheck.loaded import load as load_file

        return load_file(request.path.parent / path, _root(request.config))

    return load


def _root(config: pytest.Config) -> str:
    given = str(config.getini("circuit_root"))
    return str(config.rootpath / given) if given else ""


def _short_path(path: Path) -> str:
    try:
        return str(path.relative_to(Path.cwd()))
    except ValueError:
        return str(path)


class CircuitFile(pytest.File):
    """A circuit file. What is asked of one circuit is judged together, once, when the first of it is run."""

    loaded: Loaded
    _results: dict[int, StudyResult]
    _budget: Budget | None = None
    """What is left to do for all checks and claims of the file."""

    def collect(self) -> Iterable[pytest.Item]:
        from circuitcheck.language.load import load_file

        self.loaded = load_file(_short_path(self.path), _root(self.config))
        self._results = {}
        if not self.loaded.valid:
            return [MistakenFile.from_parent(self, name="mistakes in the file", span=self.loaded.diagnostics[0].span)]
        names = _Names()
        return [*self._items(names), *self._forbidden(names)]

    def _items(self, names: _Names) -> Iterator[pytest.Item]:
        from circuitcheck.checks.outcome import full_title

        for place, study in enumerate(self.loaded.studies):
            kinds = (("circuit_check", study.checks), ("circuit_claim", study.claims), ("circuit", study.skipped))
            number = 0
            for marker, asked in kinds:
                for each in asked:
                    name = names.of(full_title(study.label, each.title or f"line {each.span.line}"))
                    item = CircuitItem.from_parent(self, name=name, study=place, number=number, span=each.span)
                    item.add_marker(marker)
                    yield item
                    number += 1

    def _forbidden(self, names: _Names) -> Iterator[pytest.Item]:
        spans = {each.rule: each.span for study in reversed(self.loaded.studies) for each in study.forbidden}
        for rule, span in sorted(spans.items()):
            yield ForbiddenItem.from_parent(self, name=names.of(f"forbid {rule}"), rule=rule, span=span)

    def result(self, study: int) -> StudyResult:
        """What is asked of one of the file's circuits, judged."""
        from circuitcheck.verify import Budget, judged

        if study not in self._results:
            self._budget = self._budget or Budget.of()
            self._results[study] = judged(self.loaded.studies[study], budget=self._budget)
        return self._results[study]


class _Names:
    """Titles as names of tests: short, without what node ids and reports can't carry, and each only once in a file."""

    def __init__(self) -> None:
        self._given: set[str] = set()

    def of(self, title: str) -> str:
        """The name for a title."""
        from circuitcheck.report.lines import safe

        name = safe(title).replace("::", ":").replace("[", "(").replace("]", ")")
        if len(name) > LONGEST_NAME:
            name = f"{name[:LONGEST_NAME]}… {hashlib.sha256(title.encode()).hexdigest()[:8]}"
        number, free = 1, name
        while free in self._given:
            number += 1
            free = f"{name} ({number})"
        self._given.add(free)
        return free


class LineItem(pytest.Item):
    """An item that stands in a line of a circuit file, and fails with a text of the program's own."""

    parent: CircuitFile

    def __init__(self, *, span: Span, **more: Any) -> None:
        super().__init__(**more)
        self.span = span
        # Other plugins look here for the fixtures of a test, and some break on an item that has none to show.
        self.funcargs: dict[str, Any] = {}
        self.add_marker("circuit")

    def reportinfo(self) -> tuple[Path, int, str]:
        """The file, and the line as pytest counts it, from 0."""
        return self.path, max(self.span.line - 1, 0), self.name

    def tell_cautions(self, findings: Iterable[Finding]) -> None:
        """Notes what can harm people in the item's report, which goes from worker to worker and into logs."""
        for each in findings:
            if each.cautions:
                from circuitcheck.report.terminal.cautions import caution_sentence

                self.user_properties.append((CAUTION, caution_sentence(each)))

    def fail(self, headline: str, lines: Iterable[Line]) -> None:
        """Ends the item with a text and no traceback; its first line goes into pytest's summary."""
        from circuitcheck.report.lines import plain, safe

        pytest.fail(f"{safe(self.span.file)}:{self.span.line}: {headline}\n{plain(lines)}", pytrace=False)


class MistakenFile(LineItem):
    """A file that can't be used: one error, told where a test is set up, so that all other files still run."""

    def setup(self) -> None:
        """Tells the mistakes."""
        from circuitcheck.report.lines import safe
        from circuitcheck.report.terminal.verdict_lines import diagnostic_lines

        loaded = self.parent.loaded
        first = loaded.diagnostics[0]
        rows = (row for each in loaded.diagnostics for row in diagnostic_lines(each, loaded.sources, WIDTH))
        self.fail(f"{first.code} {safe(first.message)}", rows)

    def runtest(self) -> None:
        """Is never come to."""


class CircuitItem(LineItem):
    """One check or claim."""

    def __init__(self, *, study: int, number: int, **more: Any) -> None:
        super().__init__(**more)
        self._study = study
        self._number = number

    def runtest(self) -> None:
        """Passes, fails, is skipped or fails as expected, as its verdict says."""
        from circuitcheck.checks.outcome import GOOD, OPEN, Verdict
        from circuitcheck.report.terminal.verdict_lines import headline, outcome_lines

        result = self.parent.result(self._study)
        self.tell_cautions(result.findings)
        outcome: Outcome = result.outcomes[self._number]
        if outcome.verdict in OPEN or outcome.verdict is Verdict.SKIPPED:
            # So that the summary names the line of the circuit and not this one; pytest's own markers do the same.
            raise pytest.skip.Exception(headline(outcome), _use_item_location=True)
        if outcome.verdict is Verdict.FAILS_AS_SAID:
            pytest.xfail(outcome.detail)
        if outcome.verdict not in GOOD:
            self.fail(headline(outcome), outcome_lines(outcome, WIDTH))


class ForbiddenItem(LineItem):
    """A `forbid` line: it fails for every finding of its rule, in any of the file's circuits."""

    def __init__(self, *, rule: str, **more: Any) -> None:
        super().__init__(**more)
        self._rule = rule
        self.add_marker("circuit_forbid")

    def runtest(self) -> None:
        """Fails with the findings, if there are any."""
        from circuitcheck.checks.judge import findings_of
        from circuitcheck.report.terminal.verdict_lines import finding_lines

        results = [self.parent.result(study) for study in range(len(self.parent.loaded.studies))]
        findings = findings_of(results)
        self.tell_cautions(findings)
        found = [each for each in findings if each.forbidden and each.rule == self._rule]
        if found:
            self.fail(f"{self._rule} is forbidden, and was found", finding_lines(found, self.parent.loaded.path, WIDTH))
