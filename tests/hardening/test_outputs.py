"""Output files are the old ones or the new ones, whole, whatever happens; and what can't be written is reported."""

from __future__ import annotations

import argparse
import json
import os
import re
import select
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from circuitcheck.commands import MODULES
from circuitcheck.commands.parsers import parser_of
from circuitcheck.report.files import CannotWrite, write_whole

from .hostile import CIRCUIT, called

OLD, NEW = "old\n" * 50_000, "new.\n" * 50_000
PIECES = 43
MOMENTS = ["begun", *(f"piece {number}" for number in range(PIECES)), "flushed", "synced", "moded", "renamed"]
"""Every moment of writing a file whole at which a call is killed: 48 of them; two more are those of a new file."""
SLOW_DISK = f"""\
import io, os, sys, time
from circuitcheck.report import files
moment = sys.argv.pop(1)

def reached(name):
    if name == moment:
        os.write(2, b"here")
        time.sleep(600)

def then(work, name):
    def done(*given, **named):
        made = work(*given, **named)
        reached(name)
        return made
    return done

class Slow(io.FileIO):
    def write(self, data):
        size = -(-len(data) // {PIECES})
        for number in range({PIECES}):
            super().write(data[number * size : (number + 1) * size])
            reached(f"piece {{number}}")
        return len(data)

    def flush(self):
        super().flush()
        reached("flushed")

os.fdopen = then(lambda number, mode: Slow(number, mode), "begun")
os.fsync = then(os.fsync, "synced")
os.chmod = then(os.chmod, "moded")
os.replace = then(os.replace, "renamed")
"""
"""A disk that takes a text in pieces, and at one moment says so and takes no more."""
WRITE = SLOW_DISK + "files.write_whole(sys.argv[1], 'new.\\n' * 50_000)\n"
CALL = SLOW_DISK + "from circuitcheck.cli import main\nmain(sys.argv[1:])\n"
GOOD = CIRCUIT.format(title="pull", name="rope").replace("bell off", "bell")
WRITES = {
    "--vcd": "trace",
    "--svg": "trace",
    "--dot": "graph",
    "--graphml": "graph",
    "--sarif": "verify",
    "--junit": "verify",
}
"""Every option that writes a file, with a command that has it."""


def parsers() -> dict[str, argparse.ArgumentParser]:
    """The parser of each command."""
    (commands,) = (each for each in parser_of(MODULES)._actions if isinstance(each, argparse._SubParsersAction))
    found: dict[str, argparse.ArgumentParser] = dict(commands.choices)
    return found


def killed(program: str, moment: str, *words: str, folder: Path) -> None:
    """Runs a program until it says that it is at some moment of writing, and kills it there."""
    call = [sys.executable, "-c", program, moment, *words]
    with subprocess.Popen(call, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE) as run:
        assert run.stderr is not None
        try:
            assert run.stderr.read(4) == b"here"
        finally:
            run.send_signal(signal.SIGKILL)


@pytest.mark.parametrize("moment", MOMENTS)
def test_a_writer_killed_in_the_midst_of_it_leaves_the_old_text_or_the_new_one_whole(
    tmp_path: Path, moment: str
) -> None:
    target = tmp_path / "out.txt"
    target.write_text(OLD)
    killed(WRITE, moment, str(target), folder=tmp_path)
    assert target.read_text() == (NEW if moment == "renamed" else OLD)
    write_whole(str(target), NEW)
    assert target.read_text() == NEW


@pytest.mark.parametrize("moment", ["piece 0", f"piece {PIECES // 2}"])
def test_a_new_file_is_not_there_until_it_is_whole(tmp_path: Path, moment: str) -> None:
    killed(WRITE, moment, "out.txt", folder=tmp_path)
    assert not (tmp_path / "out.txt").exists()


@pytest.mark.parametrize("option", WRITES)
def test_a_command_killed_in_the_midst_of_its_output_leaves_the_old_one_whole(tmp_path: Path, option: str) -> None:
    (tmp_path / "a.circuit").write_text(GOOD)
    (tmp_path / "out").write_text(OLD)
    killed(CALL, f"piece {PIECES // 2}", WRITES[option], "a.circuit", option, "out", folder=tmp_path)
    assert (tmp_path / "out").read_text() == OLD


NAMED = [
    ("verify", "--sarif"), ("verify", "--junit"), ("trace", "--vcd"), ("trace", "--svg"), ("days", "--vcd"),
    ("response", "--svg"), ("sheets", "--svg"), ("sheets", "--since"), ("sheets", "--solid"),
    ("sheets", "--gltf"), ("certified", "--file"), ("graph", "--dot"), ("graph", "--graphml"),
    ("graph", "--svg"), ("report", "-o"), ("report", "--output"), ("verify", "--record"),
    ("cure", "--write"),
    ("least", "--write"), ("draw", "--write"), ("compact", "--write"),
    ("draw", "--page"), ("compact", "--page"),
]  # fmt: skip
"""Every option that names a file, with its command."""


@pytest.mark.parametrize(("command", "option"), NAMED, ids=" ".join)
def test_an_empty_name_of_a_file_is_refused_before_anything_is_done(
    tmp_path: Path, command: str, option: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.circuit").write_text(GOOD)
    for words in ([option, ""], [f"{option}="] if option.startswith("--") else [option, ""]):
        assert called(command, "a.circuit", *words) == 2
        out, err = capsys.readouterr()
        assert (out, option in err) == ("", True)


def test_no_option_that_names_a_file_is_forgotten_above() -> None:
    """Whatever is shown as FILE, PATH or OLD behind an option in the help of a command is one."""
    found = set()
    for name, parser in parsers().items():
        for action in parser._actions:
            if action.option_strings and action.metavar in ("FILE", "PATH", "OLD"):
                found |= {(name, option) for option in action.option_strings}
    assert found == set(NAMED)


@pytest.mark.parametrize("option", WRITES)
def test_what_cannot_be_written_is_reported_in_one_line_and_leaves_nothing_behind(
    tmp_path: Path, option: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "a.circuit").write_text(GOOD)
    (tmp_path / "read_only").write_text("old")
    (tmp_path / "read_only").chmod(0o444)
    (tmp_path / "folder").mkdir()
    before = sorted(tmp_path.iterdir())
    # Every kind of failure for one option, and one kind for every option: all write by one function.
    more = ["folder", "folder/", "none/x", "read_only/x", "x" * 300, "folder/../none/x"] if option == "--vcd" else []
    for target in ["read_only", *more]:
        assert called(WRITES[option], "a.circuit", option, target) == 2
        err = capsys.readouterr().err
        assert err.startswith(f"circuitcheck: {target} can't be written: ")
        assert err.count("\n") == 1
    assert sorted(tmp_path.iterdir()) == before
    assert (tmp_path / "read_only").read_text() == "old"


def test_a_link_stays_and_what_it_leads_to_is_written(tmp_path: Path) -> None:
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "target").write_text("old")
    (tmp_path / "link").symlink_to("deep/target")
    (tmp_path / "link_to_link").symlink_to("link")
    write_whole(str(tmp_path / "link_to_link"), "new")
    assert (tmp_path / "deep" / "target").read_text() == "new"
    assert (os.readlink(tmp_path / "link"), os.readlink(tmp_path / "link_to_link")) == ("deep/target", "link")
    (tmp_path / "to_come").symlink_to("deep/to_come")
    write_whole(str(tmp_path / "to_come"), "new")
    assert ((tmp_path / "to_come").is_symlink(), (tmp_path / "deep" / "to_come").read_text()) == (True, "new")
    (tmp_path / "astray").symlink_to("none/x")
    with pytest.raises(CannotWrite):
        write_whole(str(tmp_path / "astray"), "new")


def test_what_is_no_plain_file_is_not_replaced_by_one(tmp_path: Path) -> None:
    """A pipe (as /dev/null or a terminal) is written into, or refused; as a file, all others would lose it."""
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        try:
            write_whole(str(pipe), "new")
        except CannotWrite:
            pass
        else:
            assert select.select([reader], [], [], 1)[0], "nothing came through the pipe"
            assert os.read(reader, 10) == b"new"
        assert pipe.is_fifo()
    finally:
        os.close(reader)


def test_a_file_that_others_may_not_read_stays_so(tmp_path: Path) -> None:
    """What its owner said of who may read it is no less the owner's word than that it is read-only."""
    target = tmp_path / "private"
    target.write_text("old")
    target.chmod(0o600)
    write_whole(str(target), "new")
    assert target.stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("mask", [0o022, 0o077])
def test_a_new_file_may_be_read_as_the_system_has_it(tmp_path: Path, mask: int) -> None:
    before = os.umask(mask)
    try:
        write_whole(str(tmp_path / "out"), "new")
    finally:
        os.umask(before)
    assert (tmp_path / "out").stat().st_mode & 0o777 == 0o666 & ~mask


@pytest.mark.parametrize("option", ["--svg", "--vcd"])
def test_a_full_disk_leaves_the_old_file_and_no_other(tmp_path: Path, option: str) -> None:
    """A bound on the size of files stands in for the disk: writing fails in the midst of it all the same."""
    (tmp_path / "a.circuit").write_text(GOOD)
    (tmp_path / "out").write_text("old")
    program = (
        "import resource, signal, sys\nsignal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))\nsys.dont_write_bytecode = True\n"
        "from circuitcheck.cli import main\nmain(sys.argv[1:])\n"
    )
    words = [sys.executable, "-c", program, "trace", "a.circuit", option, "out"]
    run = subprocess.run(words, cwd=tmp_path, capture_output=True, text=True, timeout=60, check=False)
    assert (run.returncode, run.stdout) == (2, "")
    assert run.stderr == "circuitcheck: out can't be written: file too large\n"
    assert (tmp_path / "out").read_text() == "old"
    assert sorted(each.name for each in tmp_path.iterdir()) == ["a.circuit", "out"]


def test_calls_that_write_one_log_at_once_leave_one_of_theirs_whole(tmp_path: Path) -> None:
    for name in "ab":
        (tmp_path / f"{name}.circuit").write_text(GOOD.replace("expect bell", "expect bell off"))
    words = [sys.executable, "-m", "circuitcheck", "verify", "--sarif", "log.sarif"]
    runs = [
        subprocess.Popen([*words, f"{name}.circuit"], cwd=tmp_path, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        for name in "abab"
    ]
    for run in runs:
        assert (run.communicate(timeout=60)[1], run.returncode) == (b"", 1)
    text = (tmp_path / "log.sarif").read_text()
    assert len(json.loads(text)["runs"][0]["results"]) == 2
    assert len(set(re.findall(r'"uri": "(.)\.circuit"', text))) == 1
    assert sorted(each.name for each in tmp_path.iterdir()) == ["a.circuit", "b.circuit", "log.sarif"]
