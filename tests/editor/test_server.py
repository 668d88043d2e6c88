"""The server answers an editor: mistakes as typed, verdicts as saved, and what is asked about names."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from forked import STARTED
from lsprotocol import types
from pygls.exceptions import JsonRpcInvalidParams

from circuitcheck import verify_text
from circuitcheck.editor.first_cure import FirstCure, first_cure_apart
from circuitcheck.engine import work
from circuitcheck.verify import Exit

from .speaking import MILL, Editor, edit

ROWS = (
    "lever     pond.1 to pond.3\ndetector  rise.*  watches pond.*\n"
    "junction  meet  joins rise.*\nlamp  bell  from meet\n"
)
PIECES = "define hold (a) given wait 2t gives b\n  repeater  b  from a  delay wait\nend\n"
USER = 'use "pieces.circuit"\nlever  rope\nhold   grip (a rope) given wait 3t\nlamp   open  from grip.b\n'


def test_mistakes_are_shown_as_they_are_typed_and_go_when_mended(tmp_path: Path) -> None:
    good = MILL.replace("torch     idle   from winch\n", "")  # else the saved file is warned of, sooner or later

    async def session(editor: Editor) -> list[types.Diagnostic]:
        editor.open("mill.circuit", good)
        await editor.shown("mill.circuit", lambda shown: shown == [])
        editor.type("mill.circuit", good.replace("from winch", "from wich"))
        shown = await editor.shown("mill.circuit", bool)
        editor.type("mill.circuit", good)
        await editor.shown("mill.circuit", lambda shown: shown == [])
        return shown

    shown = edit(tmp_path, session, program=lambda: STARTED)
    assert [(each.code, each.severity) for each in shown] == [("CKT201", types.DiagnosticSeverity.Error)]
    assert shown[0].message == "nothing here is called 'wich'\ndid you mean 'winch'?"
    assert shown[0].range == types.Range(types.Position(2, 22), types.Position(2, 26))


def test_what_does_not_hold_is_shown_when_the_file_is_saved(tmp_path: Path) -> None:
    late = MILL.replace("by 8t", "by 6t")

    async def session(editor: Editor) -> tuple[list[types.Diagnostic], list[types.Diagnostic]]:
        editor.open("mill.circuit", MILL)
        found = await editor.shown("mill.circuit", bool)
        editor.type("mill.circuit", late)
        editor.save("mill.circuit", late)
        failing = await editor.shown("mill.circuit", lambda shown: any(each.code == "fails" for each in shown))
        editor.type("mill.circuit", MILL)
        await editor.shown("mill.circuit", lambda shown: shown == [])
        return found, failing

    found, failing = edit(tmp_path, session)
    assert [(each.code, each.range.start.line) for each in found] == [("V1", 2)]
    (broken,) = [each for each in failing if each.code == "fails"]
    assert broken.severity == types.DiagnosticSeverity.Error
    assert broken.range.start == types.Position(5, 6)
    assert "by 6t  expect open on" in broken.message


SLOW = MILL.replace("delay 2t", "delay 4t")


async def offered(editor: Editor, diagnostics: list[types.Diagnostic]) -> list[types.CodeAction]:
    where = types.Range(types.Position(5, 0), types.Position(5, 0))
    context = types.CodeActionContext(diagnostics)
    asked = types.CodeActionParams(editor.document("mill.circuit"), where, context)
    found = await editor.client.text_document_code_action_async(asked)
    return [each for each in found or () if isinstance(each, types.CodeAction)]


async def failing(editor: Editor) -> list[types.Diagnostic]:
    """What is shown of the slow mill once it is verified."""
    editor.open("mill.circuit", SLOW)
    return await editor.shown("mill.circuit", lambda shown: any(each.code == "fails" for each in shown))


def test_the_first_cure_is_made_where_something_fails_and_somebody_asks(tmp_path: Path) -> None:
    async def session(editor: Editor) -> tuple[list[types.CodeAction], types.CodeAction]:
        shown = await failing(editor)
        (action,) = await offered(editor, shown)
        assert action.edit is None, "nothing is looked for until it is chosen"
        none = await offered(editor, [each for each in shown if each.code != "fails"])
        return none, await editor.client.code_action_resolve_async(action)

    none, action = edit(tmp_path, session)
    assert none == []
    assert action.edit is not None
    ((made,),) = (action.edit.changes or {}).values()
    assert made.new_text == MILL.replace("delay 2t", "delay 3t")
    assert verify_text(made.new_text).exit is Exit.HOLDS


def test_a_text_that_is_typed_in_meanwhile_is_not_replaced_by_a_cure_of_what_it_was(tmp_path: Path) -> None:
    async def session(editor: Editor) -> tuple[types.CodeAction, list[str]]:
        (action,) = await offered(editor, await failing(editor))
        chosen = asyncio.ensure_future(editor.client.code_action_resolve_async(action))
        await asyncio.sleep(0)
        editor.type("mill.circuit", SLOW.replace("by 8t", "by 9t"))
        return await chosen, [each.message for each in editor.client.messages]

    action, told = edit(tmp_path, session)
    assert action.edit is None
    assert len(told) == 1
    assert "changed" in told[0]


def test_two_first_cures_at_a_time_count_nothing_of_each_other_and_nothing_here(tmp_path: Path) -> None:
    """The engine has one clock for each process, and bounds by it."""

    async def both() -> list[FirstCure | None]:
        path = str(tmp_path / "mill.circuit")
        return list(await asyncio.gather(*(first_cure_apart(SLOW, path, "") for _ in range(2))))

    before = work.done()
    one, other = asyncio.run(both())
    assert one is not None
    assert one == other
    assert work.done() == before


def test_pointing_at_a_name_says_what_it_is_how_late_and_what_it_computes(tmp_path: Path) -> None:
    """Delays by rules R2 and T2 (common practice, no source)."""

    async def session(editor: Editor) -> list[str]:
        editor.open("mill.circuit", MILL)
        places = [(1, 12), (2, 11), (3, 24), (0, 11), (5, 0)]
        return [await editor.hover("mill.circuit", line, column) for line, column in places]

    winch, idle, mentioned, rope, nothing = edit(tmp_path, session)
    assert "winch: a repeater" in winch
    assert "delay: 2t" in winch
    assert "settled: rope" in winch
    assert "idle: a torch" in idle
    assert "delay: 1t" in idle
    assert "settled: not rope" in idle
    assert mentioned == winch
    assert "rope: a lever" in rope
    assert nothing == ""


def test_a_name_leads_to_where_it_is_declared_in_this_file_or_another(tmp_path: Path) -> None:
    (tmp_path / "pieces.circuit").write_text(PIECES, encoding="utf-8")

    async def session(editor: Editor) -> list[list[tuple[str, int, int]]]:
        editor.open("user.circuit", USER)
        editor.open("rows.circuit", ROWS)
        return [
            await editor.definition("user.circuit", 2, 1),
            await editor.definition("user.circuit", 2, 13),
            await editor.definition("user.circuit", 2, 16),
            await editor.definition("user.circuit", 3, 19),
            await editor.definition("user.circuit", 3, 24),
            await editor.definition("rows.circuit", 1, 28),
            await editor.definition("rows.circuit", 3, 1),
        ]

    assert edit(tmp_path, session) == [
        [("pieces.circuit", 0, 7)],
        [("pieces.circuit", 0, 13)],
        [("user.circuit", 1, 7)],
        [("user.circuit", 2, 7)],
        [("pieces.circuit", 1, 12)],
        [("rows.circuit", 0, 10)],
        [],
    ]


def test_what_may_come_next_is_offered(tmp_path: Path) -> None:
    (tmp_path / "pieces.circuit").write_text(PIECES, encoding="utf-8")

    async def session(editor: Editor) -> list[list[str]]:
        editor.open("mill.circuit", MILL)
        editor.open("user.circuit", USER)
        found = []
        for name, text in (
            ("mill.circuit", MILL + "lamp  shut  from "),
            ("mill.circuit", MILL + "repeater  other  from rope  "),
            ("mill.circuit", MILL + "re"),
            ("user.circuit", USER + "lamp  shut  from gr"),
            ("user.circuit", USER + "ho"),
            ("mill.circuit", MILL + 'check "late"\n  by 6t expect open '),
            ("mill.circuit", MILL + "forbid "),
            ("mill.circuit", MILL + "# a remark "),
        ):
            editor.type(name, text)
            found.append(await editor.completions(name, text.count("\n"), len(text.rpartition("\n")[2])))
        return found

    names, options, starts, outs, definitions, tests, rules, remark = edit(tmp_path, session)
    assert names == ["rope", "winch", "idle", "open"]
    assert options == ["locked", "delay", "starts"]
    assert {"repeater", "rules", "check"} <= set(starts)
    assert "grip.b" in outs
    assert "hold" in definitions
    assert {"on", "off", "is", "at", "rises"} <= set(tests)
    assert "T3" in rules
    assert remark == []


def test_a_name_is_changed_wherever_it_stands(tmp_path: Path) -> None:
    async def session(editor: Editor) -> dict[str, str]:
        editor.open(
            "rows.circuit", ROWS + 'check "söl 🌊" # pond\n  at 1s pond.2 on\n  by 2s expect bell and pond.2\nend\n'
        )
        return await editor.rename("rows.circuit", 1, 26, "weir")

    changed = edit(tmp_path, session)["rows.circuit"]
    assert changed.startswith("lever     weir.1 to weir.3\ndetector  rise.*  watches weir.*\n")
    assert 'check "söl 🌊" # pond\n  at 1s weir.2 on\n  by 2s expect bell and weir.2\n' in changed


def test_what_a_definition_gives_is_changed_in_every_file_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "user.circuit").write_text(USER, encoding="utf-8")

    async def session(editor: Editor) -> list[dict[str, str]]:
        editor.open("pieces.circuit", PIECES)
        places = [(0, 7, "keep"), (0, 13, "into"), (0, 22, "late"), (0, 36, "out")]
        return [await editor.rename("pieces.circuit", line, column, new) for line, column, new in places]

    kind, port, value, out = edit(tmp_path, session)
    assert kind == {"pieces.circuit": PIECES.replace("hold", "keep"), "user.circuit": USER.replace("hold ", "keep ")}
    assert port["pieces.circuit"] == PIECES.replace("(a)", "(into)").replace("from a", "from into")
    assert port["user.circuit"] == USER.replace("(a rope)", "(into rope)")
    assert value["pieces.circuit"] == PIECES.replace("wait", "late")
    assert value["user.circuit"] == USER.replace("wait", "late")
    assert out["pieces.circuit"] == PIECES.replace("gives b", "gives out").replace("  b  ", "  out  ")
    assert out["user.circuit"] == USER.replace("grip.b", "grip.out")


REFUSED = {
    "open": "something else",
    "torch": "a word of the language",
    "a.b": "is no name",
    "2x": "is no name",
    "": "is no name",
    "a b": "is no name",
    'x"': "is no name",
}


def test_a_name_that_can_not_be_is_refused(tmp_path: Path) -> None:
    async def session(editor: Editor) -> None:
        editor.open("mill.circuit", MILL)
        for new, why in REFUSED.items():
            with pytest.raises(JsonRpcInvalidParams, match=why):
                await editor.rename("mill.circuit", 1, 12, new)

    edit(tmp_path, session)


def test_nothing_is_renamed_while_mistakes_hide_where_it_stands(tmp_path: Path) -> None:
    async def session(editor: Editor) -> None:
        editor.open("mill.circuit", MILL + "lamp form winch\n")
        with pytest.raises(JsonRpcInvalidParams, match="fix them first"):
            await editor.rename("mill.circuit", 1, 12, "drum")

    edit(tmp_path, session)


def test_the_outline_nests_what_stands_in_a_definition(tmp_path: Path) -> None:
    async def session(editor: Editor) -> list[types.DocumentSymbol]:
        editor.open("pieces.circuit", PIECES + MILL)
        found = await editor.client.text_document_document_symbol_async(
            types.DocumentSymbolParams(editor.document("pieces.circuit"))
        )
        return [each for each in found or () if isinstance(each, types.DocumentSymbol)]

    found = edit(tmp_path, session)
    assert [(each.name, each.detail, each.range.start.line) for each in found] == [
        ("hold", "define", 0),
        ("rope", "lever", 3),
        ("winch", "repeater", 4),
        ("idle", "torch", 5),
        ("open", "lamp", 6),
        ("pulling the rope opens the sluice", "check", 8),
    ]
    assert [each.name for each in found[0].children or ()] == ["b"]


def test_a_file_is_put_into_the_layout(tmp_path: Path) -> None:
    async def session(editor: Editor) -> list[list[types.TextEdit]]:
        asked = types.DocumentFormattingParams(editor.document("mill.circuit"), types.FormattingOptions(2, True))
        editor.open("mill.circuit", MILL.replace("     ", " "))
        ugly = await editor.client.text_document_formatting_async(asked)
        editor.type("mill.circuit", MILL)
        fair = await editor.client.text_document_formatting_async(asked)
        return [list(ugly or ()), list(fair or ())]

    ugly, fair = edit(tmp_path, session)
    assert [each.new_text for each in ugly] == [MILL]
    assert fair == []


def test_half_typed_lines_leave_the_rest_known(tmp_path: Path) -> None:
    async def session(editor: Editor) -> tuple[str, list[tuple[str, int, int]]]:
        editor.open("mill.circuit", MILL)
        editor.type("mill.circuit", "lever\n" + MILL + 'check "')
        return await editor.hover("mill.circuit", 2, 12), await editor.definition("mill.circuit", 4, 24)

    hover, definition = edit(tmp_path, session)
    assert "winch: a repeater" in hover
    assert definition == [("mill.circuit", 2, 10)]


def test_hostile_text_is_shown_without_what_an_editor_would_obey(tmp_path: Path) -> None:
    text = 'lever rope\ncheck "\u202e[x](y) \x1b[31m :: <b>" skipped because "\u2066"\nend\nlamp \u202e\n'

    async def session(editor: Editor) -> tuple[list[types.Diagnostic], str]:
        editor.open("mill.circuit", text)
        found = await editor.shown("mill.circuit", bool)
        return found, await editor.hover("mill.circuit", 0, 7)

    shown, _ = edit(tmp_path, session)
    assert shown
    assert not any(letter in each.message for each in shown for letter in "\u202e\u2066\x1b")


def test_files_are_used_out_of_the_root_that_is_given(tmp_path: Path) -> None:
    (tmp_path / "pieces.circuit").write_text(PIECES, encoding="utf-8")
    inner = tmp_path / "inner"
    inner.mkdir()
    text = USER.replace("pieces", "../pieces")

    async def session(editor: Editor) -> list[types.Diagnostic]:
        editor.open("inner/user.circuit", text)
        return await editor.shown("inner/user.circuit", lambda _: True)

    assert "CKT505" in [each.code for each in edit(tmp_path, session)]
    assert edit(tmp_path, session, "--root", str(tmp_path)) == []
