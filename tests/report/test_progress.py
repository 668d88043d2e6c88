"""How far work has come, on standard error: a line in a terminal, plain lines elsewhere, none on standard output.

What is waited for here is that something comes, however long the machine takes; no time is asserted.
"""

from __future__ import annotations

import io
import re
import threading
from pathlib import Path

import pytest

from circuitcheck.cli import main
from circuitcheck.report.terminal import progress
from circuitcheck.report.terminal.progress import WIPED, Progress

CIRCUITS = Path(__file__).resolve().parents[2] / "circuits"
TEXT = """language 1
circuit small "A winch."
lever rope
repeater winch from rope delay 2t
lamp open from winch
check "it opens"
  at 1s rope on
  by 2s expect open
end
always "in time" when rope rises then open on within 6t unless rope off
"""
OTHER = TEXT.replace("delay 2t", "delay 4t")
MEASURED = re.compile(r'"seconds": [0-9.]+')
"""What a proof took, which is another each time."""


class Watched(io.StringIO):
    """A stream that says when something was written to it."""

    def __init__(self, terminal: bool) -> None:
        super().__init__()
        self._terminal = terminal
        self.written = threading.Event()

    def isatty(self) -> bool:
        return self._terminal

    def write(self, text: str) -> int:
        count = super().write(text)
        self.written.set()
        return count


@pytest.fixture(autouse=True)
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(progress, "IN_A_TERMINAL", 0.001)
    monkeypatch.setattr(progress, "ELSEWHERE", 0.001)
    monkeypatch.delenv("TERM", raising=False)


def test_a_terminal_shows_progress_within_a_second_and_others_each_half_minute(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    assert progress.IN_A_TERMINAL < 1
    assert progress.ELSEWHERE == 30


def test_in_a_terminal_a_line_comes_unasked_and_is_wiped() -> None:
    stream = Watched(terminal=True)
    with Progress(stream) as made:
        assert stream.written.wait(60)
        made.tell("a claim")
        made.count("7 states")
        while "7 states" not in stream.getvalue():
            stream.written.wait(60)
    text = stream.getvalue()
    assert "a claim: 7 states" in text
    assert "\n" not in text
    assert text.endswith(WIPED)


def test_elsewhere_plain_lines_come_once_something_is_reported() -> None:
    stream = Watched(terminal=False)
    with Progress(stream) as made:
        made.tell("a claim \x1b[31m")
        assert stream.written.wait(60)
    lines = stream.getvalue().splitlines()
    assert lines
    assert all(re.fullmatch(r"circuitcheck: \d+ s: a claim [^\x1b]*", line) for line in lines)


def test_what_else_is_written_wipes_the_line_before() -> None:
    stream = Watched(terminal=True)
    with Progress(stream) as made:
        assert stream.written.wait(60)
        with made.aside():
            assert stream.getvalue().endswith(WIPED)


@pytest.mark.parametrize("terminal", [True, False])
def test_quiet_writes_nothing(terminal: bool) -> None:
    stream = Watched(terminal)
    with Progress(stream, quiet=True) as made:
        made.tell("a claim")
        assert not stream.written.wait(0.05)


def test_a_stream_that_nobody_reads_ends_progress_and_not_the_work() -> None:
    class Gone(Watched):
        def write(self, text: str) -> int:
            super().write(text)
            raise BrokenPipeError

    stream = Gone(terminal=True)
    with Progress(stream) as made:
        assert stream.written.wait(60)
        made.tell("more")


CALLS = [
    ("verify", "FILE"),
    ("verify", "--json", "FILE"),
    ("prove", "FILE"),
    ("prove", "--json", "FILE"),
    ("sweep", "--workers", "1", "FILE"),
    ("sweep", "--workers", "1", "--faults", "--json", "FILE"),
    ("diagnose", "FILE", "rope on", "open off"),
    ("explain", "FILE"),
    ("explain", "FILE", "open"),
    ("compare", "FILE", "OTHER"),
    ("response", "LAMPS", "--brief", "dusk", "darkness"),
    ("days", "LAMPS", "--days", "2", "--jobs", "1", "--json", "dusk", "darkness"),
]


@pytest.fixture
def at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever is reported is written at once, however short the work is."""
    tell = Progress.tell

    def told(self: Progress, text: str) -> None:
        tell(self, text)
        with self._lock:
            if not self._quiet:
                self._say()

    monkeypatch.setattr(Progress, "tell", told)


@pytest.mark.usefixtures("at_once")
@pytest.mark.parametrize("words", CALLS, ids=" ".join)
def test_standard_output_is_the_same_with_progress_and_without(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes], words: tuple[str, ...]
) -> None:
    path = tmp_path / "small.circuit"
    path.write_text(TEXT, encoding="utf-8")
    other = tmp_path / "other.circuit"
    other.write_text(OTHER, encoding="utf-8")
    files = {"FILE": str(path), "OTHER": str(other), "LAMPS": str(CIRCUITS / "lampkeeper.circuit")}
    call = [files.get(word, word) for word in words]
    told = []
    for quiet in (False, True):
        stream = Watched(terminal=True)
        monkeypatch.setattr("sys.stderr", stream)
        if quiet and words[0] == "verify":  # whose --quiet leaves out what holds as well
            monkeypatch.setattr(Progress, "__enter__", lambda self: self)
            monkeypatch.setattr(Progress, "tell", lambda self, text: None)
        with pytest.raises(SystemExit) as ended:
            main([*call, "--quiet"] if quiet and words[0] != "verify" else call)
        told.append((ended.value.code, MEASURED.sub("", capfdbinary.readouterr().out.decode())))
        assert bool(stream.getvalue()) is not quiet
    assert told[0] == told[1]
    assert told[0][1]


@pytest.mark.usefixtures("at_once")
def test_verify_is_quiet_about_it_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "small.circuit"
    path.write_text(TEXT, encoding="utf-8")
    stream = Watched(terminal=True)
    monkeypatch.setattr("sys.stderr", stream)
    with pytest.raises(SystemExit):
        main(["verify", "--quiet", str(path)])
    assert stream.getvalue() == ""
