"""The commands that explain, called in a process of their own: what is refused, what is said, and how it looks."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest
from report.calling import call, told, write

from .trying import SLUICE, called, text_of

LATCH = text_of(
    "lever rope", "lever brake", "repeater winch from rope delay 2t",
    "latch gate set winch reset brake starts reset", "lamp open from gate", "lamp idle from gate.inverse",
    'check "pull"', "  at 10gt rope on", "  by 2s expect open", "end",
)  # fmt: skip
RINGING = text_of(
    "torch w0 from w4 starts on", "torch w1 from w0 starts off", "torch w2 from w1 starts on",
    "torch w3 from w2 starts off", "torch w4 from w3 starts on", "lever rope", "lamp bell from w0",
    "lamp sign from rope",
)  # fmt: skip


def refused(run: subprocess.CompletedProcess[str]) -> str:
    """The one line on standard error of a call that was refused."""
    assert run.returncode == 2
    assert told(run) == ""
    (line,) = run.stderr.splitlines()
    assert line.startswith("circuitcheck: ")
    return line


@pytest.mark.parametrize(
    ("words", "near"),
    [
        (("explain", "opne"), "open"),
        (("explain", "open", "--input", "pond.9"), "pond."),
        (("explain", "--why", "gat", "--at", "16t"), "gate"),
        (("trace", "--show", "shutt"), "shut"),
        (("explain", "--why", "open", "--at", "16t", "--check", "it opens on tim"), "it opens on time"),
        (("trace", "--check", "it opens on tim"), "it opens on time"),
    ],
)
def test_a_name_that_is_not_there_is_refused_and_the_nearest_offered(words: tuple[str, ...], near: str) -> None:
    line = refused(called(words[0], str(SLUICE), *words[1:]))
    assert near in line.rpartition(";")[2]


def test_a_definition_that_is_not_there_is_refused_and_the_nearest_offered(tmp_path: Path) -> None:
    text = "define hold (opens, shuts) gives gate\n  latch gate set opens reset shuts starts reset\nend\n"
    (path,) = write(tmp_path, parts=text)
    for command in ("explain", "graph"):
        assert "hold" in refused(called(command, path, "--define", "holt"))
        assert "--define" in refused(called(command, path))


def test_a_definition_is_explained_standing_alone(tmp_path: Path) -> None:
    text = (
        "define hold (opens, shuts) given wait 2t from 2t to 4t gives gate\n  repeater slow from opens delay wait\n"
        '  latch gate set slow reset shuts starts reset\n  check "opens"\n    at 1s opens on\n    by 2s expect gate\n'
        "  end\nend\n"
    )
    (path,) = write(tmp_path, parts=text)
    said = told(called("explain", path, "--define", "hold"))
    assert "inputs: opens, shuts" in said
    assert "a latch: gate, gate.inverse" in said
    assert called("trace", path, "--define", "hold").returncode == 0
    assert called("explain", path, "gate", "--define", "hold").returncode == 0
    assert '"slow"' in told(called("graph", path, "--define", "hold"))
    assert called("compare", path, path, "--define", "hold").returncode == 0


@pytest.mark.parametrize("time", ["soon", "16", "1.3t", "-4t", "..5t", "99999999999t"])
def test_a_time_that_is_none_is_refused(time: str) -> None:
    refused(called("explain", str(SLUICE), "--why", "open", f"--at={time}"))


def test_a_time_beyond_the_run_is_refused_with_the_end_of_the_run() -> None:
    line = refused(called("explain", str(SLUICE), "--why", "open", "--at", "500t", "--check", "it opens on time"))
    assert "500t" in line
    assert "it opens on time" in line
    end = re.search(r"ends at (\S+?),", line)
    assert end
    at_end = called("explain", str(SLUICE), "--why", "open", "--at", end[1], "--check", "it opens on time")
    assert at_end.returncode == 0


@pytest.mark.parametrize(
    "words",
    [
        ("explain", "--why", "open"),
        ("explain", "--at", "16t"),
        ("explain", "open", "--why", "open", "--at", "16t"),
        ("explain", "--input", "pond.1"),
        ("explain", "--check", "it opens on time"),
        ("explain", "open", "--check", "it opens on time"),
        ("explain", "--why", "open", "--at", "16t", "--input", "pond.1"),
        ("explain", "--why", "open", "--at", "1t", "--line", "at 1t pond.1 on", "--define", "hold"),
        ("trace", "--line", "at 1t pond.1 on", "--define", "hold"),
    ],
)
def test_options_that_do_not_go_together_are_refused_and_none_is_passed_over(words: tuple[str, ...]) -> None:
    refused(called(words[0], str(SLUICE), *words[1:]))


def test_an_output_that_no_input_reaches_is_said(tmp_path: Path) -> None:
    (path,) = write(tmp_path, mill=text_of("lever rope", "torch idle", "lamp calm from idle", "lamp bell from rope"))
    assert "no input reaches 'calm'" in refused(called("explain", path, "calm"))
    said = told(called("explain", path, "calm", "--input", "rope"))
    assert "'calm' does not depend on 'rope'" in said
    assert "no path leads from one to the other" in said
    assert "calm: always on" in told(called("explain", path))


def test_a_clock_is_said_with_its_period(tmp_path: Path) -> None:
    # 2 n ticks, n = 5: the ring oscillator (rule T6).
    (path,) = write(tmp_path, mill=RINGING)
    said = " ".join(told(called("explain", path)).split())
    assert "a ring clock, period 10t: w0, w1, w2, w3, w4" in said
    assert "'w0' every 10t" in said
    assert "sign: on when rope" in said


def test_a_signal_of_a_clock_is_not_called_remembered(tmp_path: Path) -> None:
    # It depends on the time, not on what went before.
    (path,) = write(tmp_path, mill=RINGING)
    (line,) = [row for row in told(called("explain", path)).splitlines() if row.strip().startswith("bell:")]
    assert "remembered" not in line


def test_hostile_titles_do_nothing_to_a_terminal(tmp_path: Path) -> None:
    title = "[bold]<b>\x1b[31m\x07\u202e ' \\ %s {0} "
    text = f'circuit mill "{title}"\nlever rope\nlamp bell from rope\n'
    text += f'check "{title}"\n  at 1s rope on\n  at 1s expect bell\nend\n'
    (path,) = write(tmp_path, mill=text)
    for words in (("explain", path), ("trace", path), ("trace", path, "--account"), ("explain", path, "bell")):
        run = called(*words)
        said = told(run)
        assert run.returncode == 0
        assert not re.search("[\x00-\x09\x0b-\x1f\u202a-\u202e]", said)
    assert "[bold]<b>" in told(called("trace", path))
    line = refused(called("trace", path, "--check", "\x1b[31m\u202e"))
    assert not re.search("[\x00-\x1f\u202a-\u202e]", line)


CALLS = [
    ("explain",), ("explain", "open", "--input", "pond.1"), ("trace",), ("trace", "--account"),
    ("trace", "--check", "more ripples change nothing while it is open", "--show", "pond.1", "--show", "gate.inverse"),
    ("explain", "--why", "open", "--at", "60t"), ("diagnose", "pond.1 on", "open off", "shut on"),
]  # fmt: skip


@pytest.mark.parametrize("words", CALLS, ids=" ".join)
def test_nothing_is_wider_than_asked_and_no_picture_is(words: tuple[str, ...]) -> None:
    run = called(words[0], str(SLUICE), *words[1:], "--width", "60")
    assert run.returncode == 0
    rows = told(run).splitlines()
    assert [row for row in rows if len(row) > 60 and re.search("[█·┄]", row)] == []
    assert [row for row in rows if len(row) > 60] == []


def test_a_comparison_is_no_wider_than_asked() -> None:
    run = call("compare", "sluice.circuit", "sluice.circuit", "--width", "60", folder=SLUICE.parent)
    assert [row for row in told(run).splitlines() if len(row) > 60] == []


@pytest.mark.parametrize("words", [*CALLS, ("graph",)], ids=" ".join)
def test_output_is_plain_where_only_ascii_can_be_shown(words: tuple[str, ...]) -> None:
    run = call(words[0], str(SLUICE), *words[1:], PYTHONIOENCODING="ascii")
    assert run.returncode == 0
    assert told(run).isascii()
    assert "?" not in told(run)
    assert run.stderr == ""


def test_names_of_any_script_do_not_break_an_ascii_terminal(tmp_path: Path) -> None:
    (path,) = write(tmp_path, mill=LATCH.replace("winch", "Räder").replace("open", "öffnen"))
    for words in (("explain", path), ("graph", path), ("trace", path), ("explain", path, "öffnen")):
        run = call(*words, PYTHONIOENCODING="ascii")
        assert "Traceback" not in run.stderr
        assert run.returncode == 0, words
        assert told(run).isascii()
    assert call("explain", path, "öffne", PYTHONIOENCODING="ascii").returncode == 2


@pytest.mark.parametrize("words", ["explain", "trace --account", "graph"])
def test_a_reader_that_goes_away_is_no_traceback(words: str) -> None:
    command = (
        f"'{sys.executable}' -m circuitcheck {words.split()[0]} '{SLUICE}' {' '.join(words.split()[1:])} | head -n 1"
    )
    run = subprocess.run(["bash", "-c", command], capture_output=True, text=True, timeout=60, check=False)
    assert "Traceback" not in run.stderr
    assert "Exception" not in run.stderr
    assert len(run.stdout.splitlines()) == 1


@pytest.mark.parametrize("command", ["explain", "trace", "graph", "diagnose"])
def test_a_file_that_is_missing_or_mistaken_ends_with_2_and_no_traceback(command: str, tmp_path: Path) -> None:
    (bad,) = write(tmp_path, bad="lever rope\nlamp bell from rop\n")
    more = ("rope on",) if command == "diagnose" else ()
    for path, code in ((bad, "CKT201"), (str(tmp_path / "gone.circuit"), "CKT501")):
        run = called(command, path, *more)
        assert run.returncode == 2
        assert code in told(run)


def test_what_was_seen_may_be_said_in_the_wrong_words_and_is_reported_where(tmp_path: Path) -> None:
    run = called("diagnose", str(SLUICE), "pond.1 on", "opne off")
    assert run.returncode == 2
    assert "open" in told(run)
