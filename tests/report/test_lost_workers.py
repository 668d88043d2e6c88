"""Processes that share work, killed from outside or ended with Ctrl-C: one line says so, whoever began them."""

from __future__ import annotations

import importlib
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest

from circuitcheck.sweeps.executors import executor_of
from circuitcheck.workers import WorkerLost

from .test_jobs import A_DAY, LONGEST, children

pytestmark = pytest.mark.skipif(not Path("/proc/self/task").is_dir(), reason="looks for children in /proc")

DAYS = "".join(f'check "day {n}"\n  until 86400s\nend\n' for n in range(9))
MILL = A_DAY + DAYS + "".join(f"repeater winch{n} from a0 delay 2t\n" for n in range(99))
BED = (
    "cycle 1200s day 600s, dusk 0s, night 600s, dawn 0s\nplace bed gets sky\nsensor turf cells 2 at bed\n"
    "detector stir.* watches turf.*\njunction row joins stir.*\nlamp bell from row\n"
)
CALLS = {
    "verify": ["verify", "--jobs", "2", "a.circuit", "b.circuit"],
    "sweep": ["sweep", "--workers", "2", "a.circuit"],
    "sweep, faults": ["sweep", "--faults", "--workers", "2", "slow.circuit"],
    "days": ["days", "--jobs", "2", "--days", "1000000", "bed.circuit", "night", "bell"],
}
"""Every way to share work, each with something that takes minutes, none of which are waited for."""
FAULTY = "lever rope\nrepeater winch from rope\nlamp bell from winch\n"


@contextmanager
def begun(folder: Path, words: list[str]) -> Iterator[tuple[subprocess.Popen[str], list[str]]]:
    """The program with two processes that share its work, by their numbers."""
    for name in "ab":
        (folder / f"{name}.circuit").write_text(MILL)
    hour = A_DAY.replace("86400s", "3000s")  # the circuit as it stands is run before its faults are shared out
    slow = "".join(f"lever x{n}\nrepeater y{n} from x{n} delay 3t\nlamp z{n} from y{n}\n" for n in range(9))
    (folder / "slow.circuit").write_text(f"{hour}{slow}{FAULTY}")
    (folder / "bed.circuit").write_text(BED)
    words = [sys.executable, "-m", "circuitcheck", *words]
    run = subprocess.Popen(
        words, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    try:
        until = time.monotonic() + 30
        while len(children(run.pid)) < 2 and run.poll() is None and time.monotonic() < until:
            time.sleep(0.02)
        time.sleep(1)
        found = children(run.pid)
        assert len(found) == 2, run.communicate(timeout=LONGEST) if run.poll() is not None else "still at work"
        yield run, found
    finally:
        with suppress(ProcessLookupError):
            os.killpg(run.pid, signal.SIGKILL)
        run.communicate()


@pytest.mark.parametrize("name", CALLS)
def test_a_killed_worker_is_reported_in_one_line_and_is_no_verdict(tmp_path: Path, name: str) -> None:
    with begun(tmp_path, CALLS[name]) as (run, workers):
        os.kill(int(workers[0]), signal.SIGKILL)
        _, err = run.communicate(timeout=LONGEST)
        assert (run.returncode, err.count("\n"), "Traceback" in err) == (2, 1, False)
        assert "ended from outside" in err
        assert not [each for each in workers if Path(f"/proc/{each}").exists()]


@pytest.mark.parametrize("name", CALLS)
def test_ctrl_c_ends_the_workers_without_a_word_of_theirs(tmp_path: Path, name: str) -> None:
    with begun(tmp_path, CALLS[name]) as (run, workers):
        os.killpg(run.pid, signal.SIGINT)  # as a terminal does it: to all of them
        _, err = run.communicate(timeout=LONGEST)
        assert run.returncode == 130
        # A sweep and verify show what they know; how much of it was judged depends on when they were stopped.
        assert re.fullmatch(r"circuitcheck: stopped(; [\d,]+ of [\d,]+ were judged|; left: [\d,]+ files?)?\n", err)
        assert not [each for each in workers if Path(f"/proc/{each}").exists()]


@pytest.mark.filterwarnings("ignore")
def test_a_worker_that_a_cluster_has_lost_is_reported_as_well() -> None:
    """The scheduler gives a task up once the workers that tried it were ended; this is what it raises then."""
    distributed: Any = importlib.import_module("distributed")
    with (
        distributed.LocalCluster(
            n_workers=1, threads_per_worker=1, processes=False, host="127.0.0.1", protocol="tcp", dashboard_address=None
        ) as running,
        pytest.raises(WorkerLost),
        executor_of(1, running.scheduler_address),
    ):
        raise distributed.KilledWorker("task", None, 3)
