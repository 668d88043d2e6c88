"""Calls the program in this process, and looks over what it writes."""

from __future__ import annotations

import gc
import json
import unicodedata
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from circuitcheck.cli import main

from .drawings import file_of, side

MILL = file_of("SSS/SSS", "a-O/T..", names="rope 2 1 1, bell 2 1 3, flame 2 2 1")
STUCK = file_of(
    *side("..S...", "..u...", "......", "OdP.<a", "....SS"),
    names="race 4 1 3, pond 2 1 6, wedge 2 1 3, ripple 2 1 2, bell 2 1 1, winch 2 1 5",
)
LATE = file_of(
    "/".join(["SSSSS"] * 5),
    "...../SW-ES/-.-../-ES../.....",
    "...../....i/...../...../.....",
    names="gate 2 2 2 starts off, gate.inverse 2 4 2 starts on, flame 2 2 4, hold 3 2 5",
)
"""A latch that a torch would throw until a lever in the layer above it is there."""
COMMANDS = [("sheets",), ("hears",), ("tile", "--east", "9"), ("light", "--layer", "1")]


class Ran(NamedTuple):
    code: int
    out: str
    err: str


class Caller:
    """Calls the program with the words of a call."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self._capsys = capsys

    def __call__(self, *words: str) -> Ran:
        before = gc.get_threshold()
        try:
            with pytest.raises(SystemExit) as end:
                main(words)
        finally:
            gc.set_threshold(*before)
        out, err = self._capsys.readouterr()
        assert "Traceback" not in out + err
        assert isinstance(end.value.code, int)
        return Ran(end.value.code, out, err)

    def good(self, *words: str, code: int = 0) -> str:
        """What is written by a call that goes well."""
        run = self(*words)
        assert (run.code, run.err) == (code, ""), run
        return run.out

    def refused(self, *words: str) -> str:
        """The one line that says why a call can't be done."""
        run = self(*words)
        assert (run.code, run.out) == (2, ""), run
        assert run.err.startswith("circuitcheck: ")
        assert run.err.count("\n") == 1
        return run.err

    def data(self, *words: str, code: int = 0) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.good(*words, "--json", code=code))
        return found


def written(name: str, text: str) -> str:
    """Writes a circuit file into the folder that the test runs in. Returns its name."""
    Path(f"{name}.circuit").write_text(text, encoding="utf-8")
    return f"{name}.circuit"


def harmless(text: str) -> None:
    """No letter that a terminal obeys or hides."""
    found = {letter for letter in set(text) if unicodedata.category(letter) in ("Cc", "Cf", "Cs") and letter != "\n"}
    assert not found


def flat(text: str) -> str:
    """Text with its lines joined, for sentences that go on in the next line."""
    return " ".join(text.split())
