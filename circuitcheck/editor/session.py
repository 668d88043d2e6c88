"""One session with an editor: what is shown without being asked for, as files are opened, typed in and saved."""

from __future__ import annotations

import asyncio

from lsprotocol import types
from pygls.exceptions import JsonRpcInvalidParams
from pygls.lsp.server import LanguageServer

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.editor.analysis import Analysis
from circuitcheck.editor.documents import LONGEST_READ, Documents
from circuitcheck.editor.verdicts import Verdicts, shown
from circuitcheck.language.mentions import Mention
from circuitcheck.report.lines import safe

PAUSE = 0.05
"""Seconds without a keystroke before mistakes are shown."""


class CircuitServer(LanguageServer):
    """A server with the files of one editor."""

    documents: Documents
    verdicts: Verdicts

    def __init__(self, root: str = "") -> None:
        # Whole texts: the protocol and the library that keeps the texts differ in where a line ends.
        super().__init__(PROGRAM, VERSION, text_document_sync_kind=types.TextDocumentSyncKind.Full)
        self.root = root
        self._due: dict[str, asyncio.TimerHandle] = {}

    def begin(self) -> None:
        """The editor has said where its files are."""
        self.documents = Documents(self.workspace, self.root)
        self.verdicts = Verdicts(self.documents, self.root, self.publish)

    def analysis(self, uri: str) -> Analysis:
        """The analysis of a document as it is now. Raises JsonRpcInvalidParams if there is none."""
        found = self.documents.analysis(uri)
        if found is None:
            raise JsonRpcInvalidParams(safe(f"{uri} can't be read, or is too long"))
        return found

    def mention(self, uri: str, position: types.Position) -> tuple[Analysis, Mention | None]:
        """The analysis of a document, and the name at a place in it."""
        analysis = self.analysis(uri)
        return analysis, analysis.at(*self.documents.place(uri, position))

    def opened(self, uri: str) -> None:
        """A document was opened."""
        self.documents.opened(uri)
        self._show_soon(uri)
        self.verdicts.verify(uri)

    def changed(self, uri: str) -> None:
        """A document was typed in: what is to be shown of it is shown once the typing pauses."""
        self._show_soon(uri)

    def saved(self, uri: str) -> None:
        """A file was saved, by this editor or another: it is verified if it is open, and so is what uses it."""
        for each in self.documents.users_of(uri):
            self._show_soon(each)
            self.verdicts.verify(each)

    def closed(self, uri: str) -> None:
        """A document was closed: nothing more is shown of it."""
        self._wait_no_more(uri)
        self.verdicts.forget(uri)
        self.documents.closed(uri)
        self.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, []))

    async def ended(self) -> None:
        """The editor says good-bye."""
        for uri in list(self._due):
            self._wait_no_more(uri)
        await self.verdicts.ended()

    def _show_soon(self, uri: str) -> None:
        self._wait_no_more(uri)
        self._due[uri] = asyncio.get_running_loop().call_later(PAUSE, self.publish, uri)

    def _wait_no_more(self, uri: str) -> None:
        waiting = self._due.pop(uri, None)
        if waiting is not None:
            waiting.cancel()

    def publish(self, uri: str) -> None:
        """Shows the mistakes of a document or, where it has none, what does not hold in it."""
        self._due.pop(uri, None)
        if self.documents.is_too_long(uri):
            self._show_too_long(uri)
            return
        analysis = self.documents.analysis(uri) if self.documents.is_open(uri) else None
        if analysis is None:
            return
        level = types.DiagnosticSeverity.Error
        mistakes = [
            shown(self.documents, uri, each.span, level, each.code, f"{each.message}\n{each.hint}".rstrip())
            for each in analysis.diagnostics
        ]
        self._show(uri, mistakes or self.verdicts.of(uri, analysis))

    def _show_too_long(self, uri: str) -> None:
        text = f"this text is longer than {LONGEST_READ:,} letters and is not read while it is open: save it, and call "
        where = types.Range(types.Position(0, 0), types.Position(0, 1))
        level = types.DiagnosticSeverity.Information
        self._show(uri, [types.Diagnostic(where, f"{text}'{PROGRAM} verify'", level, source=PROGRAM)])

    def _show(self, uri: str, found: list[types.Diagnostic]) -> None:
        version = self.workspace.get_text_document(uri).version
        self.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, found, version))
