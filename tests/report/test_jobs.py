"""`verify --jobs N`: the same words as without, whatever ends first; and Ctrl-C ends all of it."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

from .calling import GOOD, call, told, write
from .logs import KINDS, called

RINGS = "".join(
    f"torch a{n} from c{n}\ntorch b{n} from a{n}\ntorch c{n} from b{n} starts on\nlamp l{n} from c{n}\n"
    for n in range(10)
)
A_DAY = RINGS + 'check "a day at the mill"\n  until 86400s\nend\n'
"""Takes a minute or more, none of which is waited for."""
LONGEST = 10
"""How many seconds a stopped call may take before it counts as one that does not end."""


def kinds(folder: Path) -> list[str]:
    """A file of every kind, the slowest first, so that others are done before it."""
    for kind, text in KINDS.items():
        (folder / f"{kind}.circuit").write_text(text, encoding="utf-8")
    slow = RINGS + 'check "an hour"\n  until 100s\nend\n'
    (folder / "slow.circuit").write_text(slow)
    return ["slow.circuit", *(f"{kind}.circuit" for kind in reversed(KINDS)), "none.circuit"]


@pytest.mark.parametrize("form", [[], ["--quiet"], ["--json"]], ids=["words", "quiet", "json"])
def test_the_words_are_the_same_however_many_work(
    tmp_path: Path, form: list[str], capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    files = kinds(tmp_path)
    written = []
    for jobs in ("1", "2", "5"):
        logs = ["--sarif", "log.sarif", "--junit", "log.xml"]
        code = called("verify", "--jobs", jobs, "--states", "1000", *form, *logs, *files)
        out, err = capfd.readouterr()
        assert (code, err) == (2, "")
        written.append((without_seconds(out), *((tmp_path / log).read_bytes() for log in ("log.sarif", "log.xml"))))
    assert written[0] == written[1] == written[2]


def without_seconds(text: str) -> str:
    """The report without the lines that say how long a proof took."""
    return "\n".join(line for line in text.split("\n") if '"seconds":' not in line)


@pytest.mark.parametrize("jobs", ["0", "257", "-1", "two", "1.5", "²"])
def test_a_number_of_processes_out_of_bounds_is_reported(jobs: str) -> None:
    run = call("verify", f"--jobs={jobs}", "x.circuit")
    assert (run.returncode, told(run)) == (2, "")
    assert "from 1 to 256" in run.stderr


def children(process: int) -> list[str]:
    with suppress(OSError):
        return Path(f"/proc/{process}/task/{process}/children").read_text().split()
    return []


@pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="looks for children in /proc")
@pytest.mark.parametrize("jobs", [1, 2])
def test_ctrl_c_ends_it_with_all_that_it_began(tmp_path: Path, jobs: int) -> None:
    for name in "abcd":
        (tmp_path / f"{name}.circuit").write_text(A_DAY)
    (tmp_path / "a.circuit").write_text(GOOD)
    words = [sys.executable, "-m", "circuitcheck", "verify", "--jobs", str(jobs), "."]
    run = subprocess.Popen(
        words, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    try:
        until = time.monotonic() + 30
        while len(children(run.pid)) < jobs - (jobs == 1) and time.monotonic() < until:
            time.sleep(0.02)
        time.sleep(1.5)
        begun = children(run.pid)
        assert len(begun) == (jobs if jobs > 1 else 0)
        os.killpg(run.pid, signal.SIGINT)  # as a terminal does it: to all of them
        try:
            _, err = run.communicate(timeout=LONGEST)
        except subprocess.TimeoutExpired:
            pytest.fail(f"it has not ended {LONGEST} s after Ctrl-C")
        assert run.returncode == 130
        assert err.startswith("circuitcheck: stopped")
        assert err.count("\n") == 1
        assert not [each for each in begun if Path(f"/proc/{each}").exists()]
    finally:
        with suppress(ProcessLookupError):
            os.killpg(run.pid, signal.SIGKILL)
        run.communicate()


def test_other_processes_of_who_calls_are_left_alone(tmp_path: Path) -> None:
    from circuitcheck.batch import Manner, verified

    other = multiprocessing.Process(target=time.sleep, args=(30,))
    other.start()
    try:
        files = write(tmp_path, a=GOOD, b=GOOD)
        assert len(list(verified(files, Manner(), jobs=2))) == 2
        assert other.is_alive()
    finally:
        other.terminate()
