"""How tests call the program in a process of its own: started as by a shell, or forked, in a fraction of the time."""

from __future__ import annotations

import atexit
import subprocess
import sys
import tempfile
from collections.abc import Iterable
from functools import cache
from pathlib import Path

FORKING = str(Path(__file__).with_name("forking.py"))
STARTED = (sys.executable, "-m", "circuitcheck")
"""What starts the program, with its words behind it."""


@cache
def forked() -> tuple[str, ...]:
    """What has it forked from a process that is kept until all tests have run; with its words behind it."""
    folder = tempfile.TemporaryDirectory(prefix="forking")
    path = str(Path(folder.name) / "keeper")
    keeper = subprocess.Popen(
        [sys.executable, FORKING, "keep", path], stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0
    )
    assert keeper.stdin is not None
    assert keeper.stdout is not None

    def end() -> None:
        with keeper:
            pass
        folder.cleanup()

    atexit.register(end)
    assert keeper.stdout.readline() == b"ready\n"
    return (sys.executable, "-I", "-S", FORKING, "call", path)


def program(variables: Iterable[str]) -> tuple[str, ...]:
    """What calls the program where these variables are set: Python looks at some of them only as it starts."""
    at_start = (name for name in variables if name != "PYTHONIOENCODING")
    return STARTED if any(name.startswith(("PYTHON", "LANG", "LC_")) for name in at_start) else forked()
