"""`verify --watch`: what a save makes it do, seen from outside, on a pipe and on a terminal."""

from __future__ import annotations

import os
import pty
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from circuitcheck.commands import watching
from circuitcheck.commands.manual import EXITS
from circuitcheck.verify import verify_file

from .calling import BROKEN, FAILING, GOOD, call, told
from .logs import USED, USING

DONE = re.compile(r"(\d+) verified at \d\d:\d\d:\d\d; watching, Ctrl-C ends it")
PATIENCE = 20
"""How many seconds a look may be waited for before it counts as one that does not come."""


class Watching:
    """The program, watching; what it writes is read as it comes."""

    def __init__(self, folder: Path, terminal: bool, words: tuple[str, ...]) -> None:
        control, output = pty.openpty() if terminal else os.pipe()
        environment = {key: value for key, value in os.environ.items() if key != "NO_COLOR"} | {"TERM": "xterm"}
        self.run = subprocess.Popen(
            [sys.executable, "-m", "circuitcheck", "verify", "--watch", *words],
            cwd=folder, stdout=output, stderr=subprocess.PIPE, env={**environment, "PYTHONIOENCODING": "utf-8"},
        )  # fmt: skip
        os.close(output)
        self.text = ""
        self._seen = 0
        self._reader = threading.Thread(target=self._read, args=(control,))
        self._reader.start()

    def _read(self, control: int) -> None:
        with suppress(OSError):
            while piece := os.read(control, 65_536):
                self.text += piece.decode("utf-8", "replace").replace("\r\n", "\n")
        os.close(control)

    def report(self) -> tuple[int, str]:
        """How many files the next look verified, and all that it wrote."""
        until = time.monotonic() + PATIENCE
        while (found := DONE.search(self.text, self._seen)) is None:
            assert self.run.poll() is None, "it has ended"
            assert time.monotonic() < until, f"nothing more is verified; the last was {self.text[-300:]!r}"
            time.sleep(0.02)
        text = self.text[self._seen : found.end()]
        self._seen = found.end()
        return int(found[1]), text

    def silent(self) -> None:
        """For some looks, nothing is verified."""
        time.sleep(0.7)
        assert DONE.search(self.text, self._seen) is None

    def interrupted(self) -> tuple[int, str]:
        """The exit code after Ctrl-C, and what was written on standard error."""
        self.run.send_signal(signal.SIGINT)
        _, err = self.run.communicate(timeout=PATIENCE)
        self._reader.join(PATIENCE)
        return self.run.returncode, err.decode()

    def end(self) -> None:
        self.run.kill()
        self.run.communicate()
        self._reader.join(PATIENCE)


class Watch:
    """Begins watching in a folder; what was begun is ended with the test."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.begun: list[Watching] = []

    def __call__(self, *words: str, terminal: bool = False) -> Watching:
        self.begun.append(Watching(self._folder, terminal, words))
        return self.begun[-1]


@pytest.fixture
def watch(tmp_path: Path) -> Iterator[Watch]:
    watch = Watch(tmp_path)
    yield watch
    for each in watch.begun:
        each.end()


def test_saves_new_files_and_deleted_ones_are_met_one_by_one(tmp_path: Path, watch: Watch) -> None:
    for name in "ab":
        (tmp_path / f"{name}.circuit").write_text(GOOD)
    watching = watch(".")
    assert watching.report()[0] == 2
    (tmp_path / "a.circuit").write_text(FAILING)
    count, text = watching.report()
    assert (count, "FAILS" in text, "1 of 2 checks and claims hold, 1 fail (2 files)" in text) == (1, True, True)
    (tmp_path / "a.circuit").write_text(BROKEN)
    count, text = watching.report()
    assert (count, "error CKT201" in text) == (1, True)
    (tmp_path / "a.circuit").write_text(GOOD)
    count, text = watching.report()
    assert (count, "2 of 2 checks and claims hold (2 files)" in text) == (1, True)
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "c.circuit").write_text(FAILING)
    count, text = watching.report()
    assert (count, "deep/c.circuit" in text, "(3 files)" in text) == (1, True, True)
    (tmp_path / "deep" / "c.circuit").unlink()
    count, text = watching.report()
    assert (count, "c.circuit" in text, "(2 files)" in text) == (0, False, True)
    watching.silent()
    code, err = watching.interrupted()
    assert (code, err.strip()) == (0, "")
    assert "\x1b" not in watching.text


def test_a_change_in_a_used_file_verifies_those_that_use_it(tmp_path: Path, watch: Watch) -> None:
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts" / "used.circuit").write_text(USED)
    for name in "ab":
        (tmp_path / f"{name}.circuit").write_text(USING.format(used="parts/used.circuit"))
    (tmp_path / "c.circuit").write_text(GOOD)
    watching = watch("a.circuit", "b.circuit", "c.circuit")
    assert watching.report()[0] == 3
    (tmp_path / "parts" / "used.circuit").write_text("lever lever\n")
    count, text = watching.report()
    assert (count, text.count("error CKT103")) == (2, 2)
    (tmp_path / "parts" / "used.circuit").write_text(USED + "# mended\n")
    count, text = watching.report()
    assert (count, "3 of 3 checks and claims hold" in text) == (2, True)


def test_a_used_file_that_was_missing_is_met_when_it_comes(tmp_path: Path, watch: Watch) -> None:
    (tmp_path / "a.circuit").write_text(USING.format(used="used.circuit"))
    watching = watch("a.circuit")
    count, text = watching.report()
    assert (count, "CKT501" in text) == (1, True)
    (tmp_path / "used.circuit").write_text(USED)
    count, text = watching.report()
    assert (count, "1 of 1 checks and claims hold" in text) == (1, True)


def test_a_used_file_that_is_taken_away_and_put_back_is_met(tmp_path: Path, watch: Watch) -> None:
    (tmp_path / "a.circuit").write_text(USING.format(used="used.circuit"))
    (tmp_path / "used.circuit").write_text(USED)
    watching = watch("a.circuit")
    assert watching.report()[0] == 1
    (tmp_path / "used.circuit").unlink()
    count, text = watching.report()
    assert (count, "CKT501" in text) == (1, True)
    (tmp_path / "used.circuit").write_text(USED)
    count, text = watching.report()
    assert (count, "1 of 1 checks and claims hold" in text) == (1, True)


def test_a_file_named_before_it_is_there_is_met_when_it_comes(tmp_path: Path, watch: Watch) -> None:
    watching = watch("a.circuit", "--jobs", "2")
    assert "CKT501" in watching.report()[1]
    (tmp_path / "a.circuit").write_text(GOOD)
    count, text = watching.report()
    assert (count, "1 of 1 checks and claims hold" in text) == (1, True)


def test_on_a_terminal_the_screen_is_wiped_before_each_report(tmp_path: Path, watch: Watch) -> None:
    (tmp_path / "a.circuit").write_text(FAILING)
    watching = watch(".", terminal=True)
    wipe = "\x1b[H\x1b[2J"  # ECMA-48, CUP (8.3.21) and ED (8.3.39)
    assert watching.report()[1].count(wipe) == 1
    (tmp_path / "a.circuit").write_text(GOOD)
    count, text = watching.report()
    assert (count, text.count(wipe), "FAILS" in text.split(wipe)[-1]) == (1, 1, False)
    code, err = watching.interrupted()
    assert (code, err.strip()) == (0, "")
    assert "Traceback" not in watching.text


@pytest.mark.parametrize("option", [["--json"], ["--sarif", "x"], ["--junit", "x"], ["--changed"]])
def test_watching_goes_with_no_log(tmp_path: Path, option: list[str]) -> None:
    run = call("verify", "--watch", *option, ".", folder=tmp_path)
    assert (run.returncode, told(run)) == (2, "")
    assert "do not go together" in run.stderr


def test_a_used_file_that_was_saved_while_it_was_first_read_is_due_again(tmp_path: Path) -> None:
    user, used = tmp_path / "user.circuit", tmp_path / "used.circuit"
    user.write_text(USING.format(used="used.circuit"))
    used.write_text(USED)
    reports = {str(user): verify_file(user)}
    known = watching._stamp_of(str(used), reports)
    assert known == watching._stamp(str(used))
    used.write_text(USED.replace("repeater", "torch   "))
    assert watching._stamp_of(str(used), reports) == watching.UNKNOWN


def test_a_folder_without_circuits_is_reported_once_and_watched(tmp_path: Path, watch: Watch) -> None:
    watched = watch(".")
    assert watched.report()[0] == 0
    watched.silent()
    (tmp_path / "a.circuit").write_text(GOOD)
    assert watched.report()[0] == 1


INTERRUPTING = """\
import os, signal, sys
class Interrupting:
    def find_spec(self, name, path=None, target=None):
        if name == {name!r}:
            sys.meta_path.remove(self)
            os.kill(os.getpid(), signal.SIGINT)
sys.meta_path.insert(0, Interrupting())
"""


@pytest.mark.parametrize(
    "module", ["examine", "model.parts.plate", "language.parse", "commands.watching", "space.circuit", "checks.watches"]
)
def test_ctrl_c_while_it_is_still_starting_ends_it_in_order_too(tmp_path: Path, module: str) -> None:
    """Python imports `sitecustomize` by itself as it starts; this one interrupts it at the import of a module."""
    (tmp_path / "sitecustomize.py").write_text(INTERRUPTING.format(name=f"circuitcheck.{module}"))
    (tmp_path / "a.circuit").write_text(GOOD)
    run = call("verify", "--watch", ".", folder=tmp_path, PYTHONPATH=str(tmp_path))
    assert (run.returncode, run.stderr.strip(), told(run)) == (0, "", "")


def test_the_manual_says_what_ctrl_c_comes_to() -> None:
    assert "'verify --watch'" in EXITS[130]
    assert call("manual").stdout.count("Ctrl-C") == 1
