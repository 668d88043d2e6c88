"""The command that cures files: what it says, what it writes, and its exit codes. Faults are put in by hand."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from circuitcheck import verify_file
from circuitcheck.commands import command
from circuitcheck.commands.parsers import options_of
from circuitcheck.curing.search import Search
from circuitcheck.verify import Exit

from .calling import BROKEN, FAILING, GOOD, call, told, write

LATE = (
    "lever     rope\nrepeater  winch  from rope  delay 3t\nlamp      bell   from winch\n\n"
    'check "it rings 2t after the pull"\n  at 1s       rope on\n  throughout  from rope rises to bell rises takes 2t\n'
    "end\n"
)


def test_a_cure_is_shown_as_an_edit_of_the_files_own_line(tmp_path: Path) -> None:
    run = call("cure", *write(tmp_path, late=LATE), "--width", "100")
    assert run.returncode == 0
    lines = [each.strip() for each in told(run).splitlines()]
    assert "1  repeater 'winch' delay 3t → 2t" in lines
    assert f"{tmp_path}/late.circuit:2:35" in lines
    assert "- repeater  winch  from rope  delay 3t" in lines
    assert "+ repeater  winch  from rope  delay 2t" in lines


def test_what_is_written_holds_and_the_file_stays_as_it_was(tmp_path: Path) -> None:
    run = call("cure", *write(tmp_path, late=LATE), "--write", str(tmp_path / "cured.circuit"))
    assert run.returncode == 0
    assert verify_file(tmp_path / "cured.circuit").exit is Exit.HOLDS
    assert (tmp_path / "cured.circuit").read_text() == LATE.replace("3t", "2t")
    assert (tmp_path / "late.circuit").read_text() == LATE


def test_no_file_is_written_over(tmp_path: Path) -> None:
    (late,) = write(tmp_path, late=LATE)
    run = call("cure", late, "--write", late)
    assert (run.returncode, told(run)) == (2, "")
    assert "is there already" in run.stderr
    assert Path(late).read_text() == LATE


def test_where_no_file_can_be_written_is_said_before_anything_is_searched(tmp_path: Path) -> None:
    (late,) = write(tmp_path, late=LATE)
    run = call("cure", late, "--write", str(tmp_path / "none" / "cured.circuit"))
    assert (run.returncode, told(run)) == (2, "")
    assert f"there is no folder {tmp_path / 'none'}" in run.stderr


def test_a_file_that_uses_others_is_written_beside_itself_only(tmp_path: Path) -> None:
    write(tmp_path, parts="define way (a) gives out\n  repeater out from a\nend\n")
    (late,) = write(tmp_path, late='use "parts.circuit"\n' + LATE)
    (tmp_path / "deep").mkdir()
    run = call("cure", late, "--write", str(tmp_path / "deep" / "cured.circuit"))
    assert run.returncode == 2
    assert call("cure", late, "--write", str(tmp_path / "cured.circuit")).returncode == 0
    assert verify_file(tmp_path / "cured.circuit").exit is Exit.HOLDS


@pytest.mark.parametrize(
    ("text", "words", "code"),
    [
        (GOOD, (), 0),
        (FAILING.replace("1s expect", "1s expect bell and"), (), 1),
        (LATE, ("--tries", "0"), 3),
        (BROKEN, (), 2),
        ("lever rope\nlamp bell from rope\n", (), 2),
        ("lever rope\ndust line from rope length 20\nlamp bell from line\n", (), 2),
        ("lever rope\ndust line from rope length 20\nlamp bell from line\nforbid P2\n", ("--tries", "0"), 3),
    ],
    ids=["nothing fails", "no cure", "nothing tried", "mistakes", "nothing asked", "warned of only", "forbidden"],
)
def test_the_exit_code_says_what_came_of_it(tmp_path: Path, text: str, words: tuple[str, ...], code: int) -> None:
    run = call("cure", *write(tmp_path, mill=text), *words)
    told(run)
    assert run.returncode == code


def test_machines_get_the_edits_and_the_whole_text(tmp_path: Path) -> None:
    data = json.loads(told(call("cure", *write(tmp_path, late=LATE), "--json")))
    (first, *_) = data["cures"]
    assert first["cost"] == {"parts": 0, "places": 0, "steps": 1}
    assert first["later"] == -2
    assert [(each["line"], each["column"]) for each in first["edits"]] == [(2, 35)]
    assert first["text"] == LATE.replace("3t", "2t")
    assert data["failing"] == ["it rings 2t after the pull"]


def test_ctrl_c_shows_the_best_so_far(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(search: Search) -> bool:
        if search.found().cures:
            raise KeyboardInterrupt
        return False

    monkeypatch.setattr(Search, "_over", interrupted)
    assert command("cure").run(options_of(["cure", *write(tmp_path, late=LATE), "--json"])) == 130
    data = json.loads(capsys.readouterr().out)
    assert [each["words"] for each in data["cures"]] == ["repeater 'winch' delay 3t → 2t"]
    assert data["tried"]["singles"] < data["tried"]["of"]
    assert data["ended"]


def test_verify_names_the_command_where_something_fails(tmp_path: Path) -> None:
    (late,) = write(tmp_path, late=LATE)
    assert f"circuitcheck cure -- {late}" in told(call("verify", late))
    assert "circuitcheck cure" not in told(call("verify", late, "--quiet"))
    assert "circuitcheck cure" not in told(call("verify", *write(tmp_path, good=GOOD)))


@pytest.mark.parametrize(("tries", "words"), [(0, "0 changes were"), (1, "1 change was"), (2, "2 changes were")])
def test_how_many_changes_were_tried_at_most_is_said(tmp_path: Path, tries: int, words: str) -> None:
    run = call("cure", *write(tmp_path, late=LATE.replace("3t", "4t")), "--tries", str(tries), "--width", "200")
    assert run.returncode == 3
    assert f" single changes tried; {words} to be tried at most)" in told(run)
