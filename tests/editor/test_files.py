"""The server and the files around the one that is typed in: saved or not, in use, and written in several ways."""

from __future__ import annotations

from pathlib import Path

import pytest
from lsprotocol import types
from pygls.exceptions import JsonRpcInvalidParams

from .speaking import MILL, Editor, edit

GOOD = MILL.replace("torch     idle   from winch\n", "")
LATE = GOOD.replace("by 8t", "by 6t")
LIB = "define gate (a) gives o\n  torch o from a\nend\n"
USER = 'use "lib.circuit"\nlever  s\ngate   g (a s)\nlamp   l  from g.o\n'
CHECKED = USER + 'check "it is an inverter"\n  at 1s  s on\n  at 2s  expect l off\nend\n'


def codes(shown: list[types.Diagnostic]) -> list[object]:
    return [each.code for each in shown]


def test_a_text_that_is_not_the_saved_one_has_no_verdicts(tmp_path: Path) -> None:
    """An editor may open a file with what was typed before it was closed: the disk holds something else."""

    async def session(editor: Editor) -> list[list[object]]:
        (tmp_path / "mill.circuit").write_text(LATE, encoding="utf-8")
        item = types.TextDocumentItem(editor.uri("mill.circuit"), "circuit", 1, GOOD)
        editor.client.text_document_did_open(types.DidOpenTextDocumentParams(item))
        editor.open("other.circuit", LATE)
        other = await editor.shown("other.circuit", bool)
        mill = await editor.shown("mill.circuit", lambda _: True)
        editor.save("mill.circuit", GOOD)
        return [codes(other), codes(mill), codes(await editor.shown("mill.circuit", lambda _: True))]

    assert edit(tmp_path, session) == [["fails"], [], []]


def test_a_saved_file_changes_what_is_shown_of_those_that_use_it(tmp_path: Path) -> None:
    (tmp_path / "lib.circuit").write_text(LIB.replace("gate", "weir"), encoding="utf-8")

    async def session(editor: Editor) -> list[object]:
        editor.open("user.circuit", CHECKED)
        missing = await editor.shown("user.circuit", bool)
        editor.open("lib.circuit", LIB)
        editor.save("lib.circuit", LIB)
        await editor.shown("user.circuit", lambda shown: shown == [])
        found = await editor.definition("user.circuit", 2, 1)
        broken = LIB.replace("torch o", "repeater o")
        editor.type("lib.circuit", broken)
        editor.save("lib.circuit", broken)
        failing = await editor.shown("user.circuit", bool)
        return [codes(missing)[0], found, codes(failing)]

    assert edit(tmp_path, session) == ["E205", [("lib.circuit", 0, 7)], ["fails"]]


def test_one_file_by_two_uris_is_one_file(tmp_path: Path) -> None:
    """RFC 3986, 2.2: `+` may stand in a path as it is or quoted."""
    folder = tmp_path / "a+b"
    folder.mkdir()
    (folder / "user.circuit").write_text(USER, encoding="utf-8")

    async def session(editor: Editor) -> tuple[types.WorkspaceEdit | None, str]:
        uri = f"{tmp_path.as_uri()}/a+b/lib.circuit"
        (folder / "lib.circuit").write_text(LIB, encoding="utf-8")
        item = types.TextDocumentItem(uri, "circuit", 1, LIB)
        editor.client.text_document_did_open(types.DidOpenTextDocumentParams(item))
        where = types.RenameParams(types.TextDocumentIdentifier(uri), types.Position(0, 8), "weir")
        return await editor.client.text_document_rename_async(where), uri

    found, uri = edit(tmp_path, session)
    assert found is not None
    assert found.changes is not None
    counts = {key.rpartition("/")[2]: len(edits) for key, edits in found.changes.items()}
    assert uri in found.changes
    assert counts == {"lib.circuit": 1, "user.circuit": 1}


def test_files_that_are_no_text_hinder_nobody(tmp_path: Path) -> None:
    (tmp_path / "old.circuit").write_bytes(b"lever m\xfchle\n")
    (tmp_path / "link.circuit").symlink_to("nowhere")

    async def session(editor: Editor) -> dict[str, str]:
        editor.open("mill.circuit", GOOD)
        return await editor.rename("mill.circuit", 1, 12, "drum")

    assert edit(tmp_path, session) == {"mill.circuit": GOOD.replace("winch", "drum")}


def test_lines_end_where_the_protocol_says(tmp_path: Path) -> None:
    """LSP 3.17, Text Documents: lines end with LF, CRLF and CR. U+2028 and form feeds are letters of a remark."""
    text = "lever rope # a\u2028b\x0c\x85c\rlamp bell from rop\r\n# d\n"

    async def session(editor: Editor) -> tuple[list[types.Diagnostic], list[types.TextEdit]]:
        editor.open("mill.circuit", text)
        shown = await editor.shown("mill.circuit", bool)
        editor.type("mill.circuit", text.replace("rop\r\n", "rope\r\n"))
        asked = types.DocumentFormattingParams(editor.document("mill.circuit"), types.FormattingOptions(2, True))
        return shown, list(await editor.client.text_document_formatting_async(asked) or ())

    shown, edits = edit(tmp_path, session)
    assert [each.range for each in shown] == [types.Range(types.Position(1, 15), types.Position(1, 18))]
    assert [each.new_text for each in edits] == ["lever  rope  # a\u2028b\x0c\x85c\nlamp   bell  from rope\n# d\n"]
    assert edits[0].range == types.Range(types.Position(0, 0), types.Position(4, 0))


def test_hostile_names_of_files_do_not_reach_the_editor_raw(tmp_path: Path) -> None:
    (tmp_path / "ev\u202eil.circuit").write_text("lamp winch form\n", encoding="utf-8")

    async def session(editor: Editor) -> list[str]:
        editor.open("mill.circuit", GOOD)
        told = []
        for new in ("drum", "\x1b[31m"):
            with pytest.raises(JsonRpcInvalidParams) as refused:
                await editor.rename("mill.circuit", 1, 12, new)
            told.append(str(refused.value))
        return told

    told = edit(tmp_path, session)
    assert "mend them first" in told[0]
    assert not any(letter in text for text in told for letter in "\u202e\x1b")
