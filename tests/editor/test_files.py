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

    assert edit(tmp_path, session) == ["CKT205", [("lib.circuit", 0, 7)], ["fails"]]


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
    laid = "lever  rope  # a\u2028b\x0c\x85c\nlamp   bell  from rope\n# d\n"
    assert [each.new_text for each in edits] == [laid.replace("\n", "\r\n")]
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
    assert "fix them first" in told[0]
    assert not any(letter in text for text in told for letter in "\u202e\x1b")


def test_a_text_that_is_in_the_layout_keeps_its_line_ends(tmp_path: Path) -> None:
    async def session(editor: Editor) -> list[types.TextEdit]:
        asked = types.DocumentFormattingParams(editor.document("mill.circuit"), types.FormattingOptions(2, True))
        editor.open("mill.circuit", GOOD.replace("\n", "\r\n"))
        return list(await editor.client.text_document_formatting_async(asked) or ())

    assert edit(tmp_path, session) == []


def test_two_documents_that_lead_to_one_file_keep_their_texts(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "link").symlink_to("real")

    async def session(editor: Editor) -> list[str]:
        editor.open("real/mill.circuit", "lever    an_hour_of_work\n")
        editor.open("link/mill.circuit", "lever    b\n")
        found = []
        for name in ("real/mill.circuit", "link/mill.circuit"):
            asked = types.DocumentFormattingParams(editor.document(name), types.FormattingOptions(2, True))
            found += [each.new_text for each in await editor.client.text_document_formatting_async(asked) or ()]
        return found

    assert edit(tmp_path, session) == ["lever  an_hour_of_work\n", "lever  b\n"]


def test_what_was_typed_and_taken_back_has_its_verdicts_again(tmp_path: Path) -> None:
    async def session(editor: Editor) -> list[list[object]]:
        editor.open("mill.circuit", LATE)
        first = await editor.shown("mill.circuit", bool)
        editor.type("mill.circuit", LATE + "# a remark\n")
        await editor.shown("mill.circuit", lambda shown: shown == [])
        editor.type("mill.circuit", LATE)
        return [codes(first), codes(await editor.shown("mill.circuit", bool))]

    assert edit(tmp_path, session) == [["fails"], ["fails"]]


def test_a_mistake_in_a_file_that_is_used_is_shown_where_it_is_used(tmp_path: Path) -> None:
    (tmp_path / "lib.circuit").write_text(LIB.replace("from a", "form a"), encoding="utf-8")

    async def session(editor: Editor) -> list[types.Diagnostic]:
        editor.open("user.circuit", CHECKED)
        return await editor.shown("user.circuit", bool)

    shown, *_ = edit(tmp_path, session)
    assert (shown.code, shown.range.start) == ("CKT101", types.Position(0, 4))
    assert "lib.circuit:2:" in shown.message


def test_a_file_that_somebody_else_writes_is_seen(tmp_path: Path) -> None:
    (tmp_path / "lib.circuit").write_text(LIB, encoding="utf-8")

    async def session(editor: Editor) -> list[object]:
        editor.open("user.circuit", CHECKED)
        await editor.shown("user.circuit", lambda shown: shown == [])
        (tmp_path / "lib.circuit").write_text(LIB.replace("torch o", "repeater o"), encoding="utf-8")
        change = types.FileEvent(editor.uri("lib.circuit"), types.FileChangeType.Changed)
        editor.client.workspace_did_change_watched_files(types.DidChangeWatchedFilesParams([change]))
        return codes(await editor.shown("user.circuit", bool))

    assert edit(tmp_path, session) == ["fails"]


def test_what_is_not_there_is_reported_and_not_stumbled_over(tmp_path: Path) -> None:
    async def session(editor: Editor) -> None:
        with pytest.raises(JsonRpcInvalidParams, match="can't be read"):
            await editor.hover("nowhere.circuit", 0, 0)

    edit(tmp_path, session)
