"""A client that speaks the Language Server Protocol 3.17 with a server in a process of its own, by pytest-lsp.

That process is forked from one that has all imported, but where a session is to begin as it does for an editor.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import TypeVar

from forked import forked
from lsprotocol import types
from pytest_lsp import LanguageClient, client_capabilities, make_test_lsp_client

T = TypeVar("T")

MILL = """\
lever     rope
repeater  winch  from rope  delay 2t
torch     idle   from winch
lamp      open   from winch

check "pulling the rope opens the sluice"
  at 5t  rope on
  by 8t  expect open on
end
"""


class Editor:
    """A client with one folder open, in the words of a person who edits."""

    def __init__(self, client: LanguageClient, folder: Path) -> None:
        self.client = client
        self.folder = folder
        self._version = 1

    def uri(self, name: str) -> str:
        return (self.folder / name).as_uri()

    def document(self, name: str) -> types.TextDocumentIdentifier:
        return types.TextDocumentIdentifier(self.uri(name))

    def open(self, name: str, text: str) -> None:
        (self.folder / name).write_text(text, encoding="utf-8")
        item = types.TextDocumentItem(self.uri(name), "circuit", self._version, text)
        self.client.text_document_did_open(types.DidOpenTextDocumentParams(item))

    def type(self, name: str, text: str) -> None:
        self._version += 1
        document = types.VersionedTextDocumentIdentifier(version=self._version, uri=self.uri(name))
        change = types.TextDocumentContentChangeWholeDocument(text)
        self.client.text_document_did_change(types.DidChangeTextDocumentParams(document, [change]))

    def save(self, name: str, text: str) -> None:
        (self.folder / name).write_text(text, encoding="utf-8")
        self.client.text_document_did_save(types.DidSaveTextDocumentParams(self.document(name)))

    async def shown(self, name: str, until: Callable[[list[types.Diagnostic]], bool]) -> list[types.Diagnostic]:
        """What the server shows of a file, once it shows what is waited for."""
        for _ in range(600):
            found = list(self.client.diagnostics.get(self.uri(name), ()))
            if self.uri(name) in self.client.diagnostics and until(found):
                return found
            await asyncio.sleep(0.05)
        raise AssertionError(f"it never came to that; shown last: {found}")

    async def completions(self, name: str, line: int, column: int) -> list[str]:
        where = types.CompletionParams(self.document(name), types.Position(line, column))
        found = await self.client.text_document_completion_async(where)
        assert isinstance(found, types.CompletionList)
        return [item.label for item in found.items]

    async def hover(self, name: str, line: int, column: int) -> str:
        where = types.HoverParams(self.document(name), types.Position(line, column))
        found = await self.client.text_document_hover_async(where)
        if found is None:
            return ""
        assert isinstance(found.contents, types.MarkupContent)
        return found.contents.value

    async def definition(self, name: str, line: int, column: int) -> list[tuple[str, int, int]]:
        where = types.DefinitionParams(self.document(name), types.Position(line, column))
        found = await self.client.text_document_definition_async(where)
        assert isinstance(found, list)
        places = [each for each in found if isinstance(each, types.Location)]
        return [(each.uri.rpartition("/")[2], each.range.start.line, each.range.start.character) for each in places]

    async def rename(self, name: str, line: int, column: int, new: str) -> dict[str, str]:
        """Every file as it is with the edits of a renaming carried out."""
        where = types.RenameParams(self.document(name), types.Position(line, column), new)
        found = await self.client.text_document_rename_async(where)
        assert found is not None
        assert found.changes is not None
        return {uri.rpartition("/")[2]: self._edited(uri, list(edits)) for uri, edits in found.changes.items()}

    def _edited(self, uri: str, edits: list[types.TextEdit]) -> str:
        lines = (self.folder / uri.rpartition("/")[2]).read_text(encoding="utf-8").split("\n")
        for edit in sorted(edits, key=lambda each: (each.range.start.line, each.range.start.character), reverse=True):
            start, end = edit.range.start, edit.range.end
            assert start.line == end.line
            units = lines[start.line].encode("utf-16-le")
            changed = units[: 2 * start.character] + edit.new_text.encode("utf-16-le") + units[2 * end.character :]
            lines[start.line] = changed.decode("utf-16-le")
        return "\n".join(lines)


def edit(
    folder: Path,
    session: Callable[[Editor], Awaitable[T]],
    *options: str,
    program: Callable[[], tuple[str, ...]] = forked,
) -> T:
    """Runs a session of editing, from greeting to good-bye."""

    async def run() -> T:
        client = make_test_lsp_client()
        await client.start_io(*program(), "editor", *options)
        where = types.WorkspaceFolder(folder.as_uri(), folder.name)
        asked = types.InitializeParams(client_capabilities("visual-studio-code"), workspace_folders=[where])
        try:
            await asyncio.wait_for(client.initialize_session(asked), 30)
            done = await asyncio.wait_for(session(Editor(client, folder)), 60)
            await asyncio.wait_for(client.shutdown_session(), 30)
        except BaseException:
            # A server that was not told good-bye waits for more, and who stops the client waits for the server.
            if client._server is not None and client._server.returncode is None:
                client._server.kill()
            raise
        finally:
            await client.stop()  # type: ignore[no-untyped-call]
        return done

    return asyncio.run(run())
