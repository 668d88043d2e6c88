"""One session with an editor: what is shown without being asked for, as files are opened, typed in and saved."""

from __future__ import annotations

import asyncio

from lsprotocol import types
from pygls.lsp.server import LanguageServer

from circuitcheck.about import PROGRAM, VERSION
from circuitcheck.editor.analysis import Analysis
from circuitcheck.editor.documents import Documents, path_of
from circuitcheck.editor.verdicts import Verdicts, shown
from circuitcheck.language.mentions import Mention

PAUSE = 0.05
"""Seconds without a keystroke before mistakes are shown."""


class CircuitServer(LanguageServer):
    """A server with the files of one editor."""

    documents: Documents
    verdicts: Verdicts

    def __init__(self, root: str = "") -> None:
        # Whole texts: the protocol and the library that keeps the texts differ in where a line ends.
        super().__init__(PROGRAM, VERSION, text_document_sync_kind=types.TextDocumentSyncKind.Full)
        self._root = root
        self._due: dict[str, asyncio.TimerHandle] = {}

    def begin(self) -> None:
        """The editor has said where its files are."""
        self.documents = Documents(self.workspace, self._root)
        self.verdicts = Verdicts(self.documents, self._root, self.publish)

    def analysis(self, uri: str) -> Analysis:
        """The analysis of an open file as it is now."""
        found = self.documents.analysis(path_of(uri))
        if found is None:
            raise ValueError(f"{uri} is not open, and can't be read")
        return found

    def mention(self, uri: str, position: types.Position) -> tuple[Analysis, Mention | None]:
        """The analysis of a file, and the name at a place in it."""
        analysis = self.analysis(uri)
        return analysis, analysis.at(*self.documents.place(path_of(uri), position))

    def opened(self, uri: str) -> None:
        """A file was opened."""
        self.documents.opened(uri)
        self._show_soon(path_of(uri))
        self.verdicts.verify(path_of(uri))

    def changed(self, uri: str) -> None:
        """A file was typed in: its mistakes are shown once the typing pauses; its verdicts are out of date."""
        self.verdicts.forget(path_of(uri))
        self._show_soon(path_of(uri))

    def saved(self, uri: str) -> None:
        """A file was saved: it is verified, and so is what uses it."""
        for path in self.documents.users_of(path_of(uri)):
            self._show_soon(path)
            self.verdicts.verify(path)

    def closed(self, uri: str) -> None:
        """A file was closed: nothing more is shown of it."""
        path = path_of(uri)
        self._wait_no_more(path)
        self.verdicts.stop(path)
        self.verdicts.forget(path)
        self.documents.closed(uri)
        self.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, []))

    async def ended(self) -> None:
        """The editor says good-bye."""
        for path in list(self._due):
            self._wait_no_more(path)
        await self.verdicts.ended()

    def _show_soon(self, path: str) -> None:
        self._wait_no_more(path)
        self._due[path] = asyncio.get_running_loop().call_later(PAUSE, self.publish, path)

    def _wait_no_more(self, path: str) -> None:
        waiting = self._due.pop(path, None)
        if waiting is not None:
            waiting.cancel()

    def publish(self, path: str) -> None:
        """Shows the mistakes of a file or, where it has none, what does not hold in it."""
        self._due.pop(path, None)
        analysis = self.documents.analysis(path)
        if analysis is None or path not in self.documents.open_paths:
            return
        uri = self.documents.uri(path)
        level = types.DiagnosticSeverity.Error
        mistakes = [
            shown(self.documents, each.span, level, each.code, f"{each.message}\n{each.mend}".rstrip())
            for each in analysis.diagnostics
        ]
        version = self.workspace.get_text_document(uri).version
        found = mistakes or self.verdicts.of(path)
        self.text_document_publish_diagnostics(types.PublishDiagnosticsParams(uri, found, version))
