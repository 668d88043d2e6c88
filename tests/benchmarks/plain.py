"""Circuits in which nothing moves, beside an earlier commit: what moving things cost those who have none.

    python tests/benchmarks/plain.py                          beside the last commit in which nothing moved
    python tests/benchmarks/plain.py --commit HEAD~20 --rounds 30

The commit is cloned beside this checkout. Both run the same files, of that commit, in whole processes that take turns;
a ratio is that of the processor time of two runs next to each other, and the median of all of them is told with the
middle half. The aim is at most 1.03.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
BEFORE = "198f7a9~"
"""The commit before drawn pistons moved while a circuit runs."""
RING = """
import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
text = "language 1\\ncircuit ring\\n" + "\\n".join(
    f"torch t.{n} from t.{(n - 1) % 101}" + (" starts on" if n == 0 else "") for n in range(101)
)
program = Program(circuitcheck.loads(text).circuit)
simulator = Simulator(program, 0, starts(program)[0].levels)
simulator.tell_everyone()
simulator.run(200_000)
"""
VERIFY = "from circuitcheck.cli import main; main({words!r})"
FILES = ("latches", "pulses", "arithmetic")


def runs(files: Path) -> dict[str, str]:
    """What is run, as Python, by its name."""
    found = {"200,000 gt of a ring of 101 torches": RING}
    for name in FILES:
        words = ["verify", str(files / f"{name}.circuit")]
        found[f"verify {name}"] = VERIFY.format(words=words)
    return found


def seconds(tree: Path, code: str) -> float:
    """The processor time of a process that runs some code on the program of a tree."""
    with subprocess.Popen(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": ""},
        cwd=tree,
        stdout=subprocess.DEVNULL,
    ) as process:
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"a run in {tree} ends with {process.returncode}")
    return used.ru_utime + used.ru_stime


def ratios(old: Path, new: Path, code: str, rounds: int) -> list[float]:
    """The new time beside the old, of runs that take turns; who goes first changes each time."""
    found = []
    seconds(old, code), seconds(new, code)  # whose compiled files are there then
    for number in range(rounds):
        pair = [old, new] if number % 2 else [new, old]
        taken = {tree: seconds(tree, code) for tree in pair}
        found.append(taken[new] / taken[old])
    return found


def main(arguments: Sequence[str]) -> int:
    """Prints a line for each run."""
    parser = argparse.ArgumentParser(description="Circuits in which nothing moves, beside an earlier commit.")
    parser.add_argument("--commit", default=BEFORE, help="what is compared with (%(default)s)")
    parser.add_argument("--rounds", type=int, default=15, help="how many pairs of runs each (%(default)s)")
    asked = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        old = Path(folder, "old")
        subprocess.run(["git", "clone", "-q", "--shared", str(ROOT), str(old)], check=True)
        subprocess.run(["git", "-C", str(old), "checkout", "-q", asked.commit], check=True)
        for name, code in runs(old / "circuits").items():
            found = ratios(old, ROOT, code, asked.rounds)
            low, middle, high = statistics.quantiles(found, n=4)
            print(f"{name:<40}{middle:.3f} times  ({low:.3f} to {high:.3f})", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
