"""Files verified for an editor, each in a process of its own, so that typing never waits for a proof."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import sys
from collections.abc import Callable, Iterator
from typing import Any

from lsprotocol import types

from circuitcheck.about import PROGRAM
from circuitcheck.checks.outcome import FAILING, OPEN, Verdict, full_title
from circuitcheck.diagnostics import Diagnostic, Span
from circuitcheck.editor.documents import Documents
from circuitcheck.language.load import read_text
from circuitcheck.language.text import plain
from circuitcheck.report.lines import safe

MOST_AT_ONCE = 2
"""How many files are verified at one time."""

FINDINGS = {
    "error": types.DiagnosticSeverity.Error,
    "warning": types.DiagnosticSeverity.Warning,
    "note": types.DiagnosticSeverity.Information,
}


class Verdicts:
    """What verifying came to, for each open file; `told` is called with a path when there is news."""

    def __init__(self, documents: Documents, root: str, told: Callable[[str], None]) -> None:
        self._documents = documents
        self._root = root
        self._told = told
        self._found: dict[str, list[types.Diagnostic]] = {}
        self._runs: dict[str, asyncio.Task[None]] = {}
        self._free = asyncio.Semaphore(MOST_AT_ONCE)

    def of(self, path: str) -> list[types.Diagnostic]:
        """What does not hold in a file, and what was found in it, when it was last verified as it is now."""
        return self._found.get(path, [])

    def forget(self, path: str) -> None:
        """What was found is out of date."""
        self._found.pop(path, None)

    def stop(self, path: str) -> None:
        """Ends the verifying of a file."""
        running = self._runs.pop(path, None)
        if running is not None:
            running.cancel()

    def verify(self, path: str) -> None:
        """Verifies a file anew."""
        self.stop(path)
        self.forget(path)
        self._runs[path] = asyncio.get_running_loop().create_task(self._verify(path))

    async def ended(self) -> None:
        """Ends all that runs."""
        running = list(self._runs.values())
        for path in list(self._runs):
            self.stop(path)
        await asyncio.gather(*running, return_exceptions=True)

    async def _verify(self, path: str) -> None:
        async with self._free:
            text = self._documents.text(path)
            if text is None or not _is_saved(path, text):
                return  # what is on the disk is another text: its verdicts would be about lines that nobody sees
            written = await self._call(path)
        if self._documents.text(path) == text and _is_saved(path, text):
            with contextlib.suppress(ValueError):
                self._found[path] = list(self._read(json.loads(written), path))
            self._told(path)

    async def _call(self, path: str) -> bytes:
        process = await asyncio.create_subprocess_exec(
            *(sys.executable, "-m", "circuitcheck", "verify", "--json", path),
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
        return written

    def _read(self, report: Any, path: str) -> Iterator[types.Diagnostic]:
        """What does not hold, and what was found, out of the report for machines."""
        for file in report["files"]:
            for circuit in file["circuits"]:
                for each in circuit["outcomes"]:
                    severity = _severity(each["verdict"])
                    if severity is not None and each["place"]["file"] == path:
                        yield self._made(each["place"], severity, each["verdict"], _sentence(circuit["label"], each))
            for each in file["findings"]:
                if not each["silenced"] and each["place"]["file"] == path:
                    text = f"{each['message']}\n{each['mend']}" if each["mend"] else each["message"]
                    yield self._made(each["place"], FINDINGS[each["level"]], each["rule"], text)

    def _made(self, place: Any, level: types.DiagnosticSeverity, code: str, text: str) -> types.Diagnostic:
        span = Span(place["file"], place["line"], place["column"], place["end_column"])
        return shown(self._documents, span, level, code, text)


def shown(documents: Documents, span: Span, level: types.DiagnosticSeverity, code: str, text: str) -> types.Diagnostic:
    """Something to be shown at a place; the text is made safe, line by line."""
    message = "\n".join(safe(row) for row in text.split("\n"))
    return types.Diagnostic(documents.range(span), message, level, code, source=PROGRAM)


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
