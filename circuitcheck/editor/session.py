"""One session with an editor: what is known of each file that it has open, and what is shown without being asked for.

Columns go out and come in as the client counts them (UTF-16 units, as a rule), from 0; inside they are letters, from 1.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import sys
from collections.abc import Iterable, Sequence
from typing import Any

from lsprotocol import types
from pygls.lsp.server import LanguageServer
from pygls.uris import from_fs_path, to_fs_path
from pygls.workspace import TextDocument

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.diagnostics import Diagnostic, Span
from circuitcheck.editor.analysis import Analysis, analyse
from circuitcheck.folders import circuit_files
from circuitcheck.language.mentions import Mention
from circuitcheck.report.lines import safe

PAUSE = 0.05
"""Seconds without a keystroke before mistakes are shown."""
MOST_FILES = 1_000
"""In how many files of a folder a name is looked for."""

FINDINGS = {
    "error": types.DiagnosticSeverity.Error,
    "warning": types.DiagnosticSeverity.Warning,
    "note": types.DiagnosticSeverity.Information,
}


class CircuitServer(LanguageServer):
    """One session with an editor: what is known of each file that it has open."""

    def __init__(self, root: str = "") -> None:
        super().__init__(PROGRAM, VERSION)
        self._root = root
        self._known: dict[str, tuple[str, Analysis]] = {}
        self._verdicts: dict[str, list[types.Diagnostic]] = {}
        self._due: dict[str, asyncio.TimerHandle] = {}
        self._runs: dict[str, asyncio.Task[None]] = {}

    # What is known of a file

    def analysis(self, uri: str) -> Analysis:
        """The analysis of a file as it is now."""
        document = self.workspace.get_text_document(uri)
        source = document.source
        text, known = self._known.get(uri, (None, None))
        if known is None or text != source:
            known = analyse(source, path_of(uri), self._root, known)
            self._known[uri] = (source, known)
        return known

    def mention(self, uri: str, position: types.Position) -> tuple[Analysis, Mention | None]:
        """The analysis of a file, and the name at a place in it."""
        analysis = self.analysis(uri)
        return analysis, analysis.at(*self.place(uri, position))

    def place(self, uri: str, position: types.Position) -> tuple[int, int]:
        """A place as line and column, from 1."""
        document = self.workspace.get_text_document(uri)
        inside = document.position_codec.position_from_client_units(document.lines, position)
        return inside.line + 1, inside.character + 1

    def range(self, span: Span) -> types.Range:
        """A stretch of a file as the client counts it."""
        lines = self._lines(span.file)
        start = types.Position(max(span.line - 1, 0), max(span.column - 1, 0))
        end = types.Position(start.line, max(span.end_column - 1, start.character))
        return self.workspace.position_codec.range_to_client_units(lines, types.Range(start, end))

    def _lines(self, path: str) -> Sequence[str]:
        document: TextDocument = self.workspace.get_text_document(uri_of(path))
        try:
            return document.lines
        except (OSError, UnicodeDecodeError):
            return []

    def location(self, span: Span) -> types.Location:
        """A place in a file, for the client to go to."""
        return types.Location(uri_of(span.file), self.range(span))

    def analyses(self) -> Iterable[Analysis]:
        """Every file at hand: those that are open, and those below the folders of the workspace."""
        opened = dict.fromkeys(self.workspace.text_documents)
        folders = [path for folder in self.workspace.folders.values() if (path := to_fs_path(folder.uri))]
        uris = [*opened, *(uri_of(path) for path in circuit_files(folders)[0][:MOST_FILES])]
        return [self.analysis(uri) for uri in dict.fromkeys(uris)]

    # What is shown without being asked for

    def changed(self, uri: str) -> None:
        """A file was typed in: its mistakes are shown once the typing pauses; its verdicts are out of date."""
        self._verdicts.pop(uri, None)
        waiting = self._due.pop(uri, None)
        if waiting is not None:
            waiting.cancel()
        self._due[uri] = asyncio.get_running_loop().call_later(PAUSE, self.publish, uri)

    def publish(self, uri: str) -> None:
        """Shows the mistakes and the last verdicts of a file."""
        mistakes = [self._mistake(each) for each in self.analysis(uri).diagnostics]
        version = self.workspace.get_text_document(uri).version
        shown = [*mistakes, *(self._verdicts.get(uri, []) if not mistakes else [])]
        self.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, shown, version))

    def closed(self, uri: str) -> None:
        """A file was closed: nothing more is shown of it."""
        for table in (self._known, self._verdicts):
            table.pop(uri, None)
        for waiting in (self._due.pop(uri, None), self._runs.pop(uri, None)):
            if waiting is not None:
                waiting.cancel()
        self.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, []))

    async def ended(self) -> None:
        """The editor says good-bye: what still runs is ended."""
        running = list(self._runs.values())
        for due in self._due.values():
            due.cancel()
        for run in running:
            run.cancel()
        await asyncio.gather(*running, return_exceptions=True)

    def verify(self, uri: str) -> None:
        """A file was saved: it is verified in a process of its own, and what does not hold is shown."""
        running = self._runs.pop(uri, None)
        if running is not None:
            running.cancel()
        self._runs[uri] = asyncio.get_running_loop().create_task(self._verify(uri))

    async def _verify(self, uri: str) -> None:
        source = self.workspace.get_text_document(uri).source
        call = [sys.executable, "-m", "circuitcheck", "verify", "--json", path_of(uri)]
        process = await asyncio.create_subprocess_exec(
            *call,
            *(["--root", self._root] if self._root else []),
            stdin=asyncio.subprocess.DEVNULL,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.DEVNULL,
            env={**os.environ, "PYTHONIOENCODING": "utf-8"},
        )
        try:
            written, _ = await process.communicate()
        except asyncio.CancelledError:
            with contextlib.suppress(ProcessLookupError):
                process.kill()
            await process.wait()
            raise
        if uri in self.workspace.text_documents and self.workspace.get_text_document(uri).source == source:
            with contextlib.suppress(ValueError):
                self._verdicts[uri] = list(self._told(json.loads(written), path_of(uri)))
            self.publish(uri)

    def _told(self, report: Any, path: str) -> Iterable[types.Diagnostic]:
        """What does not hold, and what was found, out of the report for machines."""
        for file in report["files"]:
            outcomes = [(circuit["label"], each) for circuit in file["circuits"] for each in circuit["outcomes"]]
            for label, each in outcomes:
                severity = _severity(each["verdict"])
                if severity is not None and each["place"]["file"] == path:
                    title = f"{label}: {each['title']}" if label else each["title"]
                    failure = each["failure"]
                    why = f"expected {failure['expected']}; {failure['happened']}" if failure else each["detail"]
                    yield self._diagnostic(
                        each["place"], severity, each["verdict"], f"{title}: {each['meaning']}. {why}"
                    )
            for each in file["findings"]:
                if not each["silenced"] and each["place"]["file"] == path:
                    mend = f" To mend it: {each['mend']}." if each["mend"] else ""
                    level = FINDINGS[each["level"]]
                    yield self._diagnostic(each["place"], level, each["rule"], f"{each['message']}.{mend}")

    def _mistake(self, each: Diagnostic) -> types.Diagnostic:
        text = f"{each.message}\n{each.mend}" if each.mend else each.message
        return self._made(each.span, types.DiagnosticSeverity.Error, each.code, text)

    def _diagnostic(self, place: Any, level: types.DiagnosticSeverity, code: str, text: str) -> types.Diagnostic:
        span = Span(place["file"], place["line"], place["column"], place["end_column"])
        return self._made(span, level, code, text)

    def _made(self, span: Span, level: types.DiagnosticSeverity, code: str, text: str) -> types.Diagnostic:
        message = "\n".join(safe(row) for row in text.split("\n"))
        return types.Diagnostic(self.range(span), message, level, code, source=PROGRAM)


def _severity(verdict: str) -> types.DiagnosticSeverity | None:
    from circuitcheck.checks.outcome import FAILING, OPEN, Verdict

    found = Verdict[verdict.upper()]
    if found in FAILING:
        return types.DiagnosticSeverity.Error
    return types.DiagnosticSeverity.Warning if found in OPEN else None


def path_of(uri: str) -> str:
    return to_fs_path(uri) or uri


def uri_of(path: str) -> str:
    return from_fs_path(path) or path
