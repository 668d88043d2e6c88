"""Benchmark of `sweep --faults`: whole processes, the program beside the one before its engine was replaced.

    python tests/benchmarks/faults.py               five rounds, some minutes
    python tests/benchmarks/faults.py --rounds 1

Both programs sweep the sluice with one worker. Nothing here asserts a time.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from earlier import NotThere, both


def taken(python: str, circuit: Path) -> tuple[float, float]:
    """How long one sweep takes, start to end, and how much of that the processor worked for it."""
    call = [python, "-m", "circuitcheck", "sweep", str(circuit), "--faults", "--workers", "1"]
    before, begun = os.times(), time.perf_counter()
    swept = subprocess.run(call, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, cwd=circuit.parent)
    seconds, after = time.perf_counter() - begun, os.times()
    if swept.returncode not in (0, 1):  # 1: some faults go unnoticed
        sys.exit(f"faults.py: the sweep of {python} ended with {swept.returncode}\n{swept.stderr.decode()}")
    worked = after.children_user + after.children_system - before.children_user - before.children_system
    return seconds, worked


def main() -> None:
    """Prints both and their ratios, the quickest round of each."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--rounds", type=int, default=5, metavar="N", help="how often each sweeps (5)")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        try:
            now, before = both(Path(folder))
        except NotThere as why:
            sys.exit(f"faults.py: {why}")
        circuit = Path(folder) / "earlier" / "circuits" / "sluice.circuit"
        rounds = [(taken(now, circuit), taken(before, circuit)) for _ in range(options.rounds)]
    for place, what in enumerate(("start to end", "processor time")):
        mine, theirs = (min(each[program][place] for each in rounds) for program in (0, 1))
        print(f"sweep --faults of the sluice, {what}: {mine:.2f} s, before {theirs:.2f} s: {theirs / mine:.1f} times")


if __name__ == "__main__":
    main()
