"""A bed of two cells of turf below water, and the program called with it in this process or by a shell."""

from __future__ import annotations

import gc
import json
import os
import re
import subprocess
import sys
from math import log
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from circuitcheck.cli import main

CYCLE = "cycle 120s day 60s, dusk 0s, night 60s, dawn 0s\n"
BED = "place bed gets sky through leaf, water\n"
FELT = (
    "sensor turf cells 2 at bed fades\ndetector stir.* watches turf.*\njunction row joins stir.*\nlamp bell from row\n"
)
TURF = CYCLE + BED + FELT
NEVER = CYCLE + "place bed gets standing_light through leaf, water\n" + FELT
STARTS = TURF + "lever rope\nlever bolt\nlatch gate set rope reset bolt\n"
CLAIM = "response of night to row: {}\n"
HOLDS, FAILS = CLAIM.format("median at most 25s"), CLAIM.format("median at most 22s")
ALREADY = "response of night to bell falls: median at most 5s\n"
X4_MEDIAN = log(2) / (-2 * log(1 - 3 / 4096))
"""In gt: rule X4 for two cells under newer. It is 473 gt, 23.7 s, so that 25 s hold and 22 s do not."""
NO_NUMBER = re.compile(r"\b(inf|nan|infinity)\b", re.IGNORECASE)


class Ran(NamedTuple):
    code: int
    out: str
    err: str


def write_all(folder: Path) -> None:
    """Writes the circuits that the tests call by name."""
    for name, text in {"turf": TURF, "never": NEVER, "starts": STARTS, "claims": TURF + HOLDS}.items():
        (folder / f"{name}.circuit").write_text(text, encoding="utf-8")


class Caller:
    """Calls the program in this process."""

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
        assert not NO_NUMBER.search(out)
        assert isinstance(end.value.code, int)
        return Ran(end.value.code, out, err)

    def good(self, *words: str) -> str:
        """What is written by a call that goes well."""
        run = self(*words)
        assert (run.code, run.err) == (0, "")
        return run.out

    def data(self, *words: str) -> dict[str, Any]:
        found: dict[str, Any] = json.loads(self.good(*words, "--json"))
        return found

    def judged(self, claim: str, *words: str) -> Ran:
        """Of a file with this claim."""
        Path("judged.circuit").write_text(TURF + claim, encoding="utf-8")
        return self(*(words or ("verify",)), "judged.circuit")


def outside(script: str, **variables: str) -> subprocess.CompletedProcess[bytes]:
    """A line of a shell in which $CC is the program."""
    command = f"{sys.executable} -m circuitcheck"
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2]), "CC": command, **variables}
    return subprocess.run(["bash", "-c", script], capture_output=True, env=environment, timeout=60, check=False)
