"""Standard output that is full, closed, or read by somebody who goes away; and folders with odd things in them."""

from __future__ import annotations

import os
import socket
from pathlib import Path

import pytest

from .hostile import CIRCUIT, called, outside

GOOD = CIRCUIT.format(title="pull", name="rope").replace("bell off", "bell")
CALLS = [
    ["verify", "a.circuit"],
    ["verify", "--json", "a.circuit"],
    ["trace", "a.circuit"],
    ["graph", "a.circuit"],
    ["--help"],
]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.circuit").write_text(GOOD)
    return tmp_path


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="there is no /dev/full")
@pytest.mark.parametrize("words", [*CALLS[:2], CALLS[-1]], ids=" ".join)
def test_an_output_that_is_full_is_reported_in_one_line(folder: Path, words: list[str]) -> None:
    run = outside(*words, folder=folder, after="> /dev/full")
    assert (run.returncode, run.stderr) == (2, "circuitcheck: the output can't be written: no space left on device\n")


@pytest.mark.parametrize("words", CALLS, ids=" ".join)
def test_an_output_that_is_closed_is_no_traceback(folder: Path, words: list[str]) -> None:
    run = outside(*words, folder=folder, after=">&-")
    assert "Traceback" not in run.stderr
    assert "Exception" not in run.stderr
    assert run.returncode in (0, 2)


def test_errors_that_nobody_can_be_told_change_no_exit_code(folder: Path) -> None:
    for words, code in ((["verify", "a.circuit"], 0), (["verify", "none"], 2), (["graph", "none"], 2)):
        assert outside(*words, folder=folder, after="2>&-").returncode == code


@pytest.mark.parametrize("words", CALLS[1:4:2], ids=" ".join)
def test_a_reader_that_goes_away_is_no_mistake(folder: Path, words: list[str]) -> None:
    run = outside(*words, folder=folder, after="| head -1; exit ${PIPESTATUS[0]}")
    assert (run.returncode, run.stderr, run.stdout.count("\n")) == (0, "", 1)


def test_a_reader_that_goes_away_changes_no_verdict(folder: Path) -> None:
    (folder / "bad.circuit").write_text(GOOD.replace("expect bell", "expect bell off"))
    (folder / "claims.circuit").write_text(f'{GOOD}never "it rings" bell\nnever "it rings again" bell\n')
    (folder / "empty").mkdir()
    calls = {
        "verify bad.circuit": 1,
        "verify a.circuit bad.circuit": 1,
        "verify none.circuit": 2,
        "verify --json bad.circuit --junit log.xml": 1,
        "verify --json none.circuit": 2,
        "prove claims.circuit": 1,
    }
    for words, code in calls.items():
        for buffered in ("", "1") if words in ("verify bad.circuit", "verify --json none.circuit") else ("",):
            after = "| true; exit ${PIPESTATUS[0]}"
            run = outside(*words.split(), folder=folder, after=after, PYTHONUNBUFFERED=buffered)
            assert (words, run.returncode, run.stderr) == (words, code, "")
    assert (folder / "log.xml").read_text().startswith("<?xml")
    run = outside("verify", "bad.circuit", "empty", folder=folder, after="2>&1 | true; exit ${PIPESTATUS[0]}")
    assert run.returncode == 2


def test_links_in_loops_and_things_that_are_no_files_are_passed_over(folder: Path) -> None:
    mill = folder / "mill"
    (mill / "deep").mkdir(parents=True)
    (mill / "deep" / "a.circuit").write_text(GOOD)
    (mill / "loop.circuit").symlink_to("loop.circuit")
    (mill / "gone.circuit").symlink_to("none.circuit")
    (mill / "deep" / "back").symlink_to("..")
    (mill / "folder.circuit").mkdir()
    os.mkfifo(mill / "pipe.circuit")
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind("mill/socket.circuit")
        run = outside("verify", "mill", folder=folder, before="timeout 20")
    assert (run.returncode, run.stderr) == (0, "")
    assert "(1 file)" in run.stdout


@pytest.mark.parametrize("name", ["loop.circuit", "gone.circuit", "folder.circuit"])
def test_such_a_thing_named_by_itself_is_reported(folder: Path, capsys: pytest.CaptureFixture[str], name: str) -> None:
    (folder / "loop.circuit").symlink_to("loop.circuit")
    (folder / "gone.circuit").symlink_to("none.circuit")
    (folder / "folder.circuit").mkdir()
    assert called("verify", name) == 2
    out, err = capsys.readouterr()
    assert "CKT501" in out or "no circuit files" in err


def test_a_link_to_a_circuit_file_is_verified_as_the_file_it_leads_to(folder: Path) -> None:
    (folder / "mill" / "deep").mkdir(parents=True)
    (folder / "mill" / "deep" / "a.circuit").write_text(GOOD)
    (folder / "mill" / "link.circuit").symlink_to("deep/a.circuit")
    (folder / "mill_link").symlink_to("mill")
    assert called("verify", "mill") == 0
    assert called("verify", "mill_link") == 0
