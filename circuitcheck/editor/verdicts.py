"""Files verified for an editor, each in a process of its own, so that typing never waits for a proof."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import Callable, Iterator
from typing import Any

from lsprotocol import types

from circuitcheck.about import PROGRAM
from circuitcheck.checks.finding import CAUTION
from circuitcheck.checks.outcome import FAILING, OPEN, Verdict, full_title
from circuitcheck.diagnostics import Diagnostic, Span
from circuitcheck.editor.analysis import Analysis
from circuitcheck.editor.documents import Documents, Stamps, path_of, stamps_of
from circuitcheck.language.load import read_text
from circuitcheck.language.text import plain
from circuitcheck.report.lines import safe
from circuitcheck.verified_apart import verified_apart

MOST_AT_ONCE = 2
"""How many files are verified at one time."""

FINDINGS = {
    "error": types.DiagnosticSeverity.Error,
    "warning": types.DiagnosticSeverity.Warning,
    "note": types.DiagnosticSeverity.Information,
}


class Verdicts:
    """What verifying came to, for each open document; `told` is called with a URI when there is news."""

    def __init__(self, documents: Documents, root: str, told: Callable[[str], None]) -> None:
        self._documents = documents
        self._root = root
        self._told = told
        self._found: dict[str, tuple[Analysis, Stamps, list[types.Diagnostic]]] = {}
        self._runs: dict[str, asyncio.Task[None]] = {}
        self._free = asyncio.Semaphore(MOST_AT_ONCE)

    def of(self, uri: str, analysis: Analysis) -> list[types.Diagnostic]:
        """What does not hold in a text, and what was found in it, if it and all it uses are as they were verified."""
        about, stamps, found = self._found.get(uri, (None, {}, []))
        as_it_was = about is not None and about.typed == analysis.typed and stamps == stamps_of(analysis)
        return found if as_it_was else []

    def stop(self, uri: str) -> None:
        """Ends the verifying of a document."""
        running = self._runs.pop(uri, None)
        if running is not None:
            running.cancel()

    def forget(self, uri: str) -> None:
        """A document is no longer open."""
        self.stop(uri)
        self._found.pop(uri, None)

    def verify(self, uri: str) -> None:
        """Verifies a document again."""
        self.stop(uri)
        self._runs[uri] = asyncio.get_running_loop().create_task(self._verify(uri))

    async def ended(self) -> None:
        """Ends all that runs."""
        running = list(self._runs.values())
        for uri in list(self._runs):
            self.stop(uri)
        await asyncio.gather(*running, return_exceptions=True)

    async def _verify(self, uri: str) -> None:
        path = path_of(uri)
        async with self._free:
            about = self._documents.analysis(uri)
            if about is None or not _is_saved(path, about.typed):
                return  # what is on the disk is another text: its verdicts would be about lines that nobody sees
            stamps = stamps_of(about)
            written = await verified_apart(path, self._root)
        # What was saved meanwhile is verified by a run of its own.
        if _is_saved(path, about.typed) and stamps_of(about) == stamps:
            with contextlib.suppress(ValueError):
                self._found[uri] = (about, stamps, list(self._read(json.loads(written), uri)))
            self._told(uri)

    def _read(self, report: Any, uri: str) -> Iterator[types.Diagnostic]:
        """What does not hold, and what was found, out of the report for machines."""
        path = path_of(uri)
        for file in report["files"]:
            for circuit in file["circuits"]:
                for each in circuit["outcomes"]:
                    severity = _severity(each["verdict"])
                    if severity is not None and each["place"]["file"] == path:
                        yield self._made(
                            uri, each["place"], severity, each["verdict"], _sentence(circuit["label"], each)
                        )
            for each in file["findings"]:
                if (not each["silenced"] or each["rule"] == CAUTION) and each["place"]["file"] == path:
                    text = f"{each['message']}\n{each['mend']}" if each["mend"] else each["message"]
                    yield self._made(uri, each["place"], FINDINGS[each["level"]], each["rule"], text)

    def _made(self, uri: str, place: Any, level: types.DiagnosticSeverity, code: str, text: str) -> types.Diagnostic:
        span = Span(place["file"], place["line"], place["column"], place["end_column"])
        return shown(self._documents, uri, span, level, code, text)


def shown(
    documents: Documents, uri: str, span: Span, level: types.DiagnosticSeverity, code: str, text: str
) -> types.Diagnostic:
    """Something to be shown at a place; the text is made safe, line by line."""
    message = "\n".join(safe(row) for row in text.split("\n"))
    return types.Diagnostic(documents.range(uri, span), message, level, code, source=PROGRAM)


def _sentence(label: str, outcome: Any) -> str:
    title = full_title(label, outcome["title"])
    failure = outcome["failure"]
    why = f"expected {failure['expected']}; {failure['happened']}" if failure else outcome["detail"]
    return f"{title}: {outcome['meaning']}\n{why}"


def _severity(verdict: str) -> types.DiagnosticSeverity | None:
    found = Verdict[verdict.upper()]
    if found in FAILING:
        return types.DiagnosticSeverity.Error
    return types.DiagnosticSeverity.Warning if found in OPEN else None


def _is_saved(path: str, text: str) -> bool:
    saved = read_text(path, Span(path, 1, 1, 1), plain_only=True)
    return not isinstance(saved, Diagnostic) and saved == plain(text)
