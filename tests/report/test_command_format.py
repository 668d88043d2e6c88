"""`format` writes files anew, or says which it would."""

from __future__ import annotations

import os
from pathlib import Path

from .calling import BROKEN, call, told, write

UGLY = "lever    rope\nlamp bell from rope\n"
FAIR = "lever  rope\nlamp   bell  from rope\n"


def test_files_are_laid_out_and_named(tmp_path: Path) -> None:
    write(tmp_path, ugly=UGLY, fair=FAIR)
    run = call("format", ".", folder=tmp_path)
    assert run.returncode == 0
    assert told(run) == f"laid out: {os.path.join('.', 'ugly.circuit')}\n1 laid out, 1 as it should be\n"
    assert (tmp_path / "ugly.circuit").read_text(encoding="utf-8") == FAIR


def test_a_check_changes_nothing_and_fails(tmp_path: Path) -> None:
    write(tmp_path, ugly=UGLY, fair=FAIR)
    run = call("format", "--check", "fair.circuit", "ugly.circuit", folder=tmp_path)
    assert run.returncode == 1
    assert told(run) == "not in the layout: ugly.circuit\n1 to be laid out, 1 as it should be\n"
    assert (tmp_path / "ugly.circuit").read_text(encoding="utf-8") == UGLY
    assert call("format", "--check", "fair.circuit", folder=tmp_path).returncode == 0


def test_a_file_with_mistakes_is_reported_and_left_alone(tmp_path: Path) -> None:
    write(tmp_path, broken=BROKEN.replace("from rop", "form rope"), ugly=UGLY)
    run = call("format", "broken.circuit", "ugly.circuit", "missing.circuit", folder=tmp_path)
    assert run.returncode == 2
    assert "error CKT101  broken.circuit:2:11" in told(run)
    assert "error CKT501  missing.circuit:1:1" in run.stdout
    assert (tmp_path / "ugly.circuit").read_text(encoding="utf-8") == FAIR


def test_line_ends_and_marks_of_other_systems_are_made_plain(tmp_path: Path) -> None:
    (tmp_path / "mill.circuit").write_bytes(b"\xef\xbb\xbf" + FAIR.replace("\n", "\r\n").encode())
    assert call("format", "--check", "mill.circuit", folder=tmp_path).returncode == 1
    assert call("format", "--quiet", "mill.circuit", folder=tmp_path).stdout == ""
    assert (tmp_path / "mill.circuit").read_bytes() == FAIR.encode()


def test_what_is_no_plain_file_is_refused_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    run = call("format", "pipe", folder=tmp_path)
    assert run.returncode == 2
    assert "not a plain file" in told(run)
