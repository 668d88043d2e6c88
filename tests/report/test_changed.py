"""`verify --changed`: what is left out, what is not, and the record that it stands on."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from circuitcheck import passed
from circuitcheck.verify import FileReport, verify_file

from .calling import FAILING, GOOD, OPEN, call, told, write
from .logs import FORBIDDEN, NOTED, SILENCED, SKIPPED, USED, USING, WARNED, as_json, called

Capsys = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def record(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the record is kept: outside the folder of the call."""
    monkeypatch.chdir(tmp_path)
    place = tmp_path_factory.mktemp("cache") / "passed.json"
    monkeypatch.setenv("CIRCUITCHECK_RECORD", str(place))
    return place


def left_out(capsys: Capsys, *words: str) -> tuple[list[str], list[str]]:
    """Which files were verified, and which were left out as unchanged, by a call that ends well."""
    document, code, err = as_json(capsys, "--changed", *words)
    assert (code, err) == (document["exit"]["code"], "")
    return [each["path"] for each in document["files"]], document["unchanged"]


def both_times(capsys: Capsys, *words: str) -> None:
    """The file is verified both times."""
    for _ in range(2):
        assert left_out(capsys, *words)[1] == []


def test_a_file_that_passed_is_left_out_until_it_changes(tmp_path: Path, capsys: Capsys) -> None:
    write(tmp_path, a=GOOD, b=GOOD)
    assert left_out(capsys, "a.circuit", "b.circuit") == (["a.circuit", "b.circuit"], [])
    assert left_out(capsys, "a.circuit", "b.circuit") == ([], ["a.circuit", "b.circuit"])
    write(tmp_path, a=GOOD + "# a remark\n")
    assert left_out(capsys, "a.circuit", "b.circuit") == (["a.circuit"], ["b.circuit"])
    assert left_out(capsys, "a.circuit", "b.circuit") == ([], ["a.circuit", "b.circuit"])


def test_a_change_that_breaks_it_is_reported_and_a_change_back_passes(tmp_path: Path, capsys: Capsys) -> None:
    write(tmp_path, a=GOOD)
    assert called("verify", "--changed", "a.circuit") == 0
    write(tmp_path, a=FAILING)
    for _ in range(2):
        assert called("verify", "--changed", "a.circuit") == 1
        assert "FAILS" in capsys.readouterr().out
    write(tmp_path, a=GOOD)
    assert called("verify", "--changed", "a.circuit") == 0


def test_the_time_of_a_save_alone_changes_nothing_and_the_text_alone_does(tmp_path: Path, capsys: Capsys) -> None:
    write(tmp_path, a=GOOD)
    left_out(capsys, "a.circuit")
    stamp = (tmp_path / "a.circuit").stat()
    os.utime(tmp_path / "a.circuit", ns=(1, 1))
    assert left_out(capsys, "a.circuit") == ([], ["a.circuit"])
    (tmp_path / "a.circuit").write_text(FAILING.replace("off", "on "))
    os.utime(tmp_path / "a.circuit", ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
    assert left_out(capsys, "a.circuit") == (["a.circuit"], [])


@pytest.mark.parametrize("change", ["text", "gone", "link", "folder"])
def test_a_change_in_a_used_file_counts_as_one(tmp_path: Path, capsys: Capsys, change: str) -> None:
    (tmp_path / "deep").mkdir()
    write(tmp_path, a=USING.format(used="deep/between.circuit"))
    write(tmp_path / "deep", between='use "used.circuit"\n', used=USED)
    assert left_out(capsys, "a.circuit") == (["a.circuit"], [])
    assert left_out(capsys, "a.circuit") == ([], ["a.circuit"])
    used = tmp_path / "deep" / "used.circuit"
    used.unlink()
    if change == "text":
        used.write_text(USED.replace("from opens", "from opens  delay 2t"))
    elif change == "link":
        (tmp_path / "other.circuit").write_text(USED + "# another\n")
        used.symlink_to(tmp_path / "other.circuit")
    elif change == "folder":
        used.mkdir()
    assert left_out(capsys, "a.circuit") == (["a.circuit"], [])


@pytest.mark.parametrize("words", [["--states", "7"], ["--states", "0"], ["--root", "."], ["--root", ".."]])
def test_another_way_of_calling_counts_as_a_change(tmp_path: Path, capsys: Capsys, words: list[str]) -> None:
    write(tmp_path, a=GOOD)
    left_out(capsys, "a.circuit")
    assert left_out(capsys, "a.circuit", *words) == (["a.circuit"], [])
    assert left_out(capsys, "a.circuit", *words) == ([], ["a.circuit"])
    assert left_out(capsys, "a.circuit") == (["a.circuit"], [])


def test_another_version_of_the_program_counts_as_a_change(
    tmp_path: Path, capsys: Capsys, monkeypatch: pytest.MonkeyPatch
) -> None:
    write(tmp_path, a=GOOD)
    left_out(capsys, "a.circuit")
    assert left_out(capsys, "a.circuit") == ([], ["a.circuit"])
    monkeypatch.setattr(passed, "VERSION", "999.0")
    assert left_out(capsys, "a.circuit") == (["a.circuit"], [])


def test_a_root_of_any_name_can_be_given(tmp_path: Path, capsys: Capsys) -> None:
    root = os.fsdecode(b"m\xfchle")  # a folder's name is bytes, not always letters
    os.mkdir(root)
    write(tmp_path, a=GOOD)
    assert left_out(capsys, "a.circuit", "--root", root) == (["a.circuit"], [])
    assert left_out(capsys, "a.circuit", "--root", root) == ([], ["a.circuit"])


def test_a_file_of_any_name_can_be_left_out(tmp_path: Path, capsys: Capsys) -> None:
    for name in (b"a\xff.circuit", b"a b\n\x1b.circuit", "ü水.circuit".encode()):
        path = os.fsdecode(name)
        (tmp_path / path).write_text(GOOD)
        for code in (0, 0):
            assert called("verify", "--changed", path) == code
        assert capsys.readouterr().out.endswith("1 file unchanged since it passed\n")


@pytest.mark.parametrize(
    "text",
    [FAILING, OPEN, WARNED, FORBIDDEN, NOTED, "lever rope;\n", ""],
    ids=["fails", "undecided", "warned", "forbidden", "noted", "invalid", "empty"],
)
def test_what_does_not_pass_without_a_word_is_never_left_out(
    tmp_path: Path, capsys: Capsys, text: str, record: Path
) -> None:
    write(tmp_path, a=text)
    both_times(capsys, "a.circuit")
    assert not record.exists()


@pytest.mark.parametrize("text", [SILENCED, SKIPPED])
def test_what_the_file_judged_itself_is_left_out(tmp_path: Path, capsys: Capsys, text: str) -> None:
    write(tmp_path, a=text)
    left_out(capsys, "a.circuit")
    assert left_out(capsys, "a.circuit") == ([], ["a.circuit"])


def test_a_missing_file_is_no_passed_file(capsys: Capsys) -> None:
    both_times(capsys, "none.circuit")


CORRUPT: dict[str, Callable[[Path], Any]] = {
    "not JSON": lambda path: path.write_text("{"),
    "nothing": lambda path: path.write_text(""),
    "a list": lambda path: path.write_text("[]"),
    "a number": lambda path: path.write_text("7"),
    "no record": lambda path: path.write_text("{}"),
    "of another form": lambda path: path.write_text('{"format": 2, "passed": {}}'),
    "a list of files": lambda path: path.write_text('{"format": 1, "passed": []}'),
    "entries of numbers": lambda path: path.write_text('{"format": 1, "passed": {"a.circuit": 7}}'),
    "an empty entry": lambda path: path.write_text('{"format": 1, "passed": {"a.circuit": {}}}'),
    "uses of numbers": lambda path: path.write_text(
        '{"format": 1, "passed": {"a.circuit": {"digest": "x", "uses": [1]}}}'
    ),
    "uses of a text": lambda path: path.write_text(
        '{"format": 1, "passed": {"a.circuit": {"digest": "x", "uses": "ab"}}}'
    ),
    "deep": lambda path: path.write_text("[" * 100_000),
    "a long number": lambda path: path.write_text("9" * 10_000),
    "binary": lambda path: path.write_bytes(bytes(range(256))),
    "UTF-16": lambda path: path.write_text('{"format": 1, "passed": {}}', encoding="utf-16"),
}


@pytest.mark.parametrize("kind", CORRUPT)
def test_a_corrupt_record_is_reported_and_begun_anew(tmp_path: Path, capsys: Capsys, kind: str, record: Path) -> None:
    write(tmp_path, a=GOOD)
    CORRUPT[kind](record)
    document, code, err = as_json(capsys, "--changed", "a.circuit")
    assert (code, [each["path"] for each in document["files"]], document["unchanged"]) == (0, ["a.circuit"], [])
    assert err.startswith(f"circuitcheck: the record {record} ")
    assert left_out(capsys, "a.circuit") == ([], ["a.circuit"])


@pytest.mark.parametrize("uses", [["\0"], ["\ud800"], [""], ["/"], ["none"], ["x" * 5_000]])
def test_a_record_that_names_impossible_files_leaves_nothing_out(
    tmp_path: Path, capsys: Capsys, uses: list[str], record: Path
) -> None:
    write(tmp_path, a=GOOD)
    entry = {"digest": "\udfff", "uses": uses}
    record.write_text(json.dumps({"format": 1, "passed": {"a.circuit": entry, "\0": entry}}))
    record.chmod(0o600)
    assert left_out(capsys, "a.circuit") == (["a.circuit"], [])
    assert left_out(capsys, "a.circuit") == ([], ["a.circuit"])


def test_a_record_that_cannot_be_written_is_reported_and_changes_no_exit_code(
    tmp_path: Path, capsys: Capsys, record: Path
) -> None:
    write(tmp_path, a=GOOD, b=FAILING)
    record.mkdir()
    for words, code in ((["a.circuit"], 0), (["a.circuit", "b.circuit"], 1)):
        assert called("verify", "--changed", *words) == code
        out, err = capsys.readouterr()
        assert "holds" in out
        assert [line.split(":")[0] for line in err.splitlines()] == ["circuitcheck"] * 2
        assert "what passed is not recorded" in err
    assert sorted(each.name for each in tmp_path.iterdir()) == ["a.circuit", "b.circuit"]


def test_the_record_is_replaced_and_never_written_over(tmp_path: Path, record: Path) -> None:
    write(tmp_path, a=GOOD, b=GOOD)
    called("verify", "--changed", "a.circuit")
    old = record.read_text()
    with open(record, encoding="utf-8") as reader:
        called("verify", "--changed", "b.circuit")
        assert reader.read() == old
    assert sorted(json.loads(record.read_text())["passed"]) == ["a.circuit", "b.circuit"]


def test_files_that_are_gone_go_from_the_record(tmp_path: Path, record: Path) -> None:
    write(tmp_path, a=GOOD, b=GOOD)
    called("verify", "--changed", "a.circuit", "b.circuit")
    (tmp_path / "a.circuit").unlink()
    write(tmp_path, c=GOOD)
    called("verify", "--changed", "b.circuit", "c.circuit")
    assert sorted(json.loads(record.read_text())["passed"]) == ["b.circuit", "c.circuit"]


@pytest.mark.parametrize("changed", ["a.circuit", "used.circuit"])
def test_a_file_that_changed_after_it_was_read_did_not_pass(
    tmp_path: Path, capsys: Capsys, monkeypatch: pytest.MonkeyPatch, changed: str
) -> None:
    write(tmp_path, a=USING.format(used="used.circuit"), used=USED)
    text = (tmp_path / changed).read_text()

    def saved_meanwhile(*words: Any, **more: Any) -> FileReport:
        report = verify_file(*words, **more)
        (tmp_path / changed).write_text(text + "# saved while it was verified\n")
        return report

    with monkeypatch.context() as meanwhile:
        meanwhile.setattr("circuitcheck.batch.verify_file", saved_meanwhile)
        assert left_out(capsys, "a.circuit") == (["a.circuit"], [])
    assert left_out(capsys, "a.circuit") == (["a.circuit"], [])
    assert left_out(capsys, "a.circuit") == ([], ["a.circuit"])
    (tmp_path / changed).write_text(text)
    assert left_out(capsys, "a.circuit") == (["a.circuit"], [])


def test_eight_calls_at_once_all_end_well_and_leave_a_whole_record(tmp_path: Path, record: Path) -> None:
    names = "abcdefgh"
    write(tmp_path, **dict.fromkeys(names, GOOD))
    words = [sys.executable, "-m", "circuitcheck", "verify", "--changed", "."]
    runs = [subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in names]
    for run in runs:
        out, err = run.communicate(timeout=120)
        assert (run.returncode, err) == (0, b"")
        assert b"FAILS" not in out
    assert sorted(json.loads(record.read_text())["passed"]) == [f"{name}.circuit" for name in names]
    assert sorted(each.name for each in tmp_path.iterdir()) == [f"{name}.circuit" for name in names]


def test_a_log_for_review_is_not_made_of_what_has_changed_only(tmp_path: Path) -> None:
    write(tmp_path, a=GOOD)
    run = call("verify", "--changed", "--sarif", "log.sarif", "a.circuit", folder=tmp_path)
    assert (run.returncode, told(run)) == (2, "")
    assert run.stderr == "circuitcheck: --changed and --sarif do not go together\n"
    assert not (tmp_path / "log.sarif").exists()


def test_what_is_unchanged_is_reported_in_one_line(tmp_path: Path, capsys: Capsys) -> None:
    write(tmp_path, a=GOOD, b=GOOD)
    called("verify", "--changed", "a.circuit")
    capsys.readouterr()
    called("verify", "--changed", "a.circuit")
    assert capsys.readouterr().out == "1 file unchanged since it passed\n"
    called("verify", "--changed", "a.circuit", "b.circuit")
    assert capsys.readouterr().out.endswith("(1 file, 1 unchanged since they passed)\n")
    called("verify", "--changed", "a.circuit", "b.circuit")
    assert capsys.readouterr().out == "2 files unchanged since they passed\n"


def test_a_file_is_the_same_however_its_path_is_written(tmp_path: Path, capsys: Capsys) -> None:
    write(tmp_path, a=GOOD)
    left_out(capsys, "a.circuit")
    for path in ("./a.circuit", ".//a.circuit", "."):
        assert left_out(capsys, path)[0] == []


def test_an_empty_folder_is_reported_although_all_else_is_unchanged(tmp_path: Path, capsys: Capsys) -> None:
    write(tmp_path, a=GOOD)
    (tmp_path / "empty").mkdir()
    for _ in range(2):
        assert called("verify", "--changed", "a.circuit", "empty") == 2
        assert "no circuit files" in capsys.readouterr().err


def test_a_used_file_that_now_lies_outside_is_not_unchanged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Its text is the same, but the link to it leads out of the folder, which is a mistake (CKT505)."""
    inner, outer = tmp_path / "mill", tmp_path / "elsewhere"
    inner.mkdir()
    outer.mkdir()
    for folder in (inner, outer):
        (folder / "piece.circuit").write_text(USED, encoding="utf-8")
    (inner / "used.circuit").symlink_to("piece.circuit")
    (inner / "a.circuit").write_text(USING.format(used="used.circuit"), encoding="utf-8")
    monkeypatch.chdir(inner)
    assert called("verify", "--changed", "a.circuit") == 0
    capsys.readouterr()
    assert called("verify", "--changed", "a.circuit") == 0
    assert "1 file unchanged" in capsys.readouterr().out
    (inner / "used.circuit").unlink()
    (inner / "used.circuit").symlink_to("../elsewhere/piece.circuit")
    assert called("verify", "--changed", "a.circuit") == 2
