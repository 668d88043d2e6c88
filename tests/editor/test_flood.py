"""More than can be looked into as it comes: long texts, and edits quicker than they are read."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import Any

import pytest
from lsprotocol import types
from pygls.exceptions import JsonRpcException
from pygls.workspace import Workspace

from circuitcheck.editor.documents import LONGEST_READ, MOST_READ, Documents, TooManyFiles
from circuitcheck.editor.incoming import MOST_WAITING, Incoming

from .speaking import MILL, Editor, edit


def change(text: str, uri: str = "file:///a.circuit", **more: Any) -> dict[str, Any]:
    """A change of a document, as an editor sends it."""
    params = {"textDocument": {"uri": uri, "version": 1}, "contentChanges": [{"text": text, **more}]}
    return {"jsonrpc": "2.0", "method": "textDocument/didChange", "params": params}


def asked(number: int) -> dict[str, Any]:
    return {"jsonrpc": "2.0", "id": number, "method": "textDocument/hover", "params": {}}


def framed(messages: list[Any]) -> bytes:
    """Messages in the form of the protocol (3.17, Base Protocol), with a header that nobody needs."""
    bodies = [json.dumps(each).encode() for each in messages]
    kind = b"Content-Type: application/vscode-jsonrpc; charset=utf-8\r\n"
    return b"".join(kind + b"Content-Length: %d\r\n\r\n" % len(body) + body for body in bodies)


class Stream(io.BytesIO):
    """What an editor has sent; nothing of it is taken before all of it has been read ahead."""

    def taken(self) -> list[Any]:
        incoming = Incoming(self)
        with incoming._news:
            assert incoming._news.wait_for(lambda: incoming._ended or len(incoming._waiting) == MOST_WAITING, 30)
        found = []
        while header := incoming.readline():
            assert incoming.readline() == b"\r\n"
            found.append(json.loads(incoming.read(int(header.split(b":")[1]))))
        return found


def test_of_edits_that_wait_one_behind_the_other_only_the_last_is_looked_into() -> None:
    edits = [change(str(number)) for number in range(100_000)]
    assert Stream(framed([asked(0), *edits, asked(1)])).taken() == [asked(0), edits[-1], asked(1)]


def test_no_edit_is_dropped_that_something_was_asked_about_or_that_is_of_another_text() -> None:
    sent = [
        change("a"), asked(1), change("b"), change("c", "file:///b.circuit"), change("d"), asked(2),
        change("e", range={"start": {"line": 0, "character": 0}, "end": {"line": 0, "character": 0}}), change("f"),
    ]  # fmt: skip
    assert Stream(framed(sent)).taken() == sent


@pytest.mark.parametrize("odd", [[], 1, {"method": "textDocument/didChange"}, change("x") | {"params": {}}, "x" * 9])
def test_what_is_no_message_is_handed_on_for_the_library_to_refuse(odd: Any) -> None:
    assert Stream(framed([odd, asked(1)])).taken() == [odd, asked(1)]


def test_more_than_waits_at_once_comes_through_in_order() -> None:
    sent = [asked(number) for number in range(3 * MOST_WAITING)]
    assert Stream(framed(sent)).taken() == sent


@pytest.mark.parametrize("cut", [b"", b"Content-Length: 40\r\n", b"Content-Length: 40\r\n\r\n", b"\r\n\r\nx: y\r\n"])
def test_a_stream_that_breaks_off_ends(cut: bytes) -> None:
    assert Stream(framed([asked(1)]) + cut).taken() == [asked(1)]


def test_a_thousand_edits_are_answered_by_the_text_as_it_is_in_the_end(tmp_path: Path) -> None:
    async def session(editor: Editor) -> str:
        editor.open("mill.circuit", MILL)
        for number in range(1_000):
            editor.type("mill.circuit", f"lever rope{number}\n")
        return await editor.hover("mill.circuit", 0, 7)

    assert "rope999" in edit(tmp_path, session)


def documents(folder: Path, **texts: str) -> tuple[Documents, list[str]]:
    """Files in a workspace, the first of which is open, and their URIs."""
    for name, text in texts.items():
        (folder / f"{name}.circuit").write_text(text)
    workspace = Workspace(folder.as_uri(), workspace_folders=[types.WorkspaceFolder(folder.as_uri(), "mill")])
    uris = [(folder / f"{name}.circuit").as_uri() for name in texts]
    made = Documents(workspace, "")
    workspace.put_text_document(types.TextDocumentItem(uris[0], "circuit", 1, next(iter(texts.values()))))
    made.opened(uris[0])
    return made, uris


LINE = "lever rope\n"


def test_a_text_is_analysed_up_to_its_bound_and_not_beyond(tmp_path: Path) -> None:
    most = LINE + "#" * (LONGEST_READ - len(LINE))
    known, (uri,) = documents(tmp_path, a=most)
    assert known.analysis(uri) is not None
    known, (uri,) = documents(tmp_path, a=most + "#")
    assert known.analysis(uri) is None


def test_a_name_is_not_renamed_where_a_file_is_too_long_to_be_looked_through(tmp_path: Path) -> None:
    known, _ = documents(tmp_path, a=LINE, b=LINE + "#" * LONGEST_READ)
    with pytest.raises(TooManyFiles, match=r"b\.circuit"):
        known.every_analysis()
    (tmp_path / "b.circuit").unlink()
    many = {f"c{number}": "#" * LONGEST_READ for number in range(MOST_READ // LONGEST_READ)}
    known, _ = documents(tmp_path, a=LINE, **many)
    with pytest.raises(TooManyFiles, match=f"{MOST_READ:,}"):
        known.every_analysis()


def test_a_text_of_two_million_letters_is_said_to_be_too_long_and_the_next_is_answered(tmp_path: Path) -> None:
    async def session(editor: Editor) -> tuple[list[types.Diagnostic], str]:
        editor.open("long.circuit", "torch x from y\n" * (2_000_000 // 15))
        shown = await editor.shown("long.circuit", lambda found: len(found) == 1)
        with pytest.raises(JsonRpcException):
            await editor.hover("long.circuit", 0, 7)
        editor.open("mill.circuit", MILL)
        return shown, await editor.hover("mill.circuit", 0, 11)

    (told,), hovered = edit(tmp_path, session)
    assert (told.severity, told.range.start.line) == (types.DiagnosticSeverity.Information, 0)
    assert f"{LONGEST_READ:,}" in str(told.message)
    assert "rope" in hovered
