"""Calls the program in a process of its own, forked where nothing depends on how Python starts."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

from forked import program

GOOD = (
    'circuit sluice "The sluice."\nlever rope\nlamp bell from rope\n'
    'check "pull"\n  at 1s rope on\n  at 1s expect bell\nend\n'
)
FAILING = GOOD.replace("expect bell\n", "expect bell off\n")
BROKEN = "lever rope\nlamp bell from rop\n"
OPEN = GOOD + 'always "calm" when rope off and rope on then bell\n'


def call(*words: str, folder: Path | None = None, **variables: str) -> subprocess.CompletedProcess[str]:
    """The program called with these words; what it writes is read as UTF-8."""
    environment = {key: value for key, value in os.environ.items() if key not in ("NO_COLOR", "PYTHONIOENCODING")}
    return subprocess.run(
        [*program(variables), *words],
        capture_output=True,
        encoding="utf-8",
        errors="strict",
        cwd=folder,
        env={**environment, "PYTHONIOENCODING": "utf-8", **variables},
        timeout=60,
        check=False,
    )


def told(run: subprocess.CompletedProcess[str]) -> str:
    """What was written, with the certainty that it is no traceback and no colour."""
    assert "Traceback" not in run.stdout + run.stderr
    assert "\x1b" not in run.stdout + run.stderr
    return run.stdout


def write(folder: Path, **texts: str) -> list[str]:
    """Writes circuit files of these names and returns their paths."""
    for name, text in texts.items():
        (folder / f"{name}.circuit").write_text(text, encoding="utf-8")
    return [str(folder / f"{name}.circuit") for name in texts]
