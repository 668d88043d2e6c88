"""Measures of machines driven by chance: exact figures, and days simulated, beside the plain event engine.

    python tests/benchmarks/nights.py           # all of it
    python tests/benchmarks/nights.py --short   # a few days, to see that it runs
    python tests/benchmarks/nights.py --whole   # the drawn machine that moves alone

Seconds are of this machine as it is now; what counts is the ratio, of two things measured in turns in one run.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import subprocess
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from chance.plain import plain_days  # noqa: E402

from circuitcheck.chance.days.together import Plan, live_through  # noqa: E402
from circuitcheck.chance.days.walk import Watching  # noqa: E402
from circuitcheck.chance.first_edge.response import respond  # noqa: E402
from circuitcheck.language.load import load_file  # noqa: E402
from circuitcheck.model.circuit import Circuit  # noqa: E402
from circuitcheck.model.claims import Atom, Test  # noqa: E402

DEMO = ROOT / "circuits" / "lampkeeper.circuit"
ASKED = (("dusk", Atom("dark", Test.RISES)), ("dawn", Atom("bright", Test.RISES)))
WORKERS = 2
WHOLE = ROOT / "circuits" / "turfwatch.circuit"
RESPOND = """
from circuitcheck.chance.first_edge.response import respond
from circuitcheck.language.load import load_file
from circuitcheck.model.claims import Atom, Test
respond(load_file({path!r}).studies[0].circuit, {phase!r}, Atom({name!r}, Test.RISES))
"""


def main() -> None:
    """Measures and prints."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--short", action="store_true", help="a few days only")
    parser.add_argument("--whole", action="store_true", help="the drawn machine that moves alone")
    options = parser.parse_args()
    short = options.short
    whole(100 if short else 10_000, verified=not short)
    if options.whole:
        return
    circuit = load_file(DEMO).studies[0].circuit
    exact(circuit, 1 if short else 5)
    days(circuit, 100 if short else 10_000, 1 if short else 40, 1 if short else 3)


def whole(many: int, verified: bool) -> None:
    """The drawn machine that moves, in processor time, beside the time of one import in the same run.

    In the short form it isn't verified: CI does so anyway.
    """
    small = _processor_time(["-c", "import lark"])
    print(f"the drawn machine that moves; 'python -c \"import lark\"' takes {small:.2f} s of processor time")
    circuit = load_file(WHOLE).studies[0].circuit
    for phase, edge in ASKED:
        taken = _processor_time(["-c", RESPOND.format(path=str(WHOLE), phase=phase, name=edge.name)])
        print(f"  exact, {phase} to {edge.name}, whole process: {taken:.1f} s, {taken / small:.0f} times that")
    if verified:
        taken = _processor_time(["-m", "circuitcheck", "verify", "--quiet", str(WHOLE)])
        print(f"  verify, proofs and responses included: {taken:.1f} s, {taken / small:.0f} times that")
    watching = Watching(tuple(edge for _, edge in ASKED), tuple(phase for phase, _ in ASKED))
    begun = time.process_time()
    live_through(Plan(circuit, watching, many // 10, 10))
    taken = time.process_time() - begun
    print(f"  {many:,} days in one process: {taken:.1f} s, {taken / small:.0f} times that")


def _processor_time(words: list[str]) -> float:
    """The processor time of a Python process and those that it starts."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def exact(circuit: Circuit, turns: int) -> None:
    """The exact figures of each response that the demo machine claims."""
    for phase, edge in ASKED:
        taken = []
        for _ in range(turns):
            afresh = replace(circuit)  # what is known of a circuit is kept
            begun = time.perf_counter()
            found = respond(afresh, phase, edge)
            taken.append(time.perf_counter() - begun)
        print(f"exact, {phase} to {edge.name}: {statistics.median(taken):.2f} s, {found.states:,} states")


def days(circuit: Circuit, many: int, plainly: int, turns: int) -> None:
    """Days lived through on two cores, and on one core beside the plain event engine."""
    watching = Watching(tuple(edge for _, edge in ASKED), tuple(phase for phase, _ in ASKED))
    plan = Plan(circuit, watching, many // 10, 10)
    begun = time.perf_counter()
    with ProcessPoolExecutor(WORKERS) as executor:
        live_through(plan, executor, WORKERS)
    print(f"{many:,} days on {WORKERS} cores: {time.perf_counter() - begun:.1f} s")
    ratios = []
    for turn in range(turns):
        begun = time.perf_counter()
        live_through(plan)
        fast = many / (time.perf_counter() - begun)
        begun = time.perf_counter()
        plain_days(circuit, plainly, turn, [edge for _, edge in ASKED])
        plain = plainly / (time.perf_counter() - begun)
        ratios.append(fast / plain)
        print(f"  days a second on one core: {fast:,.0f}, the plain event engine {plain:,.1f}")
    print(f"beside the plain event engine: {statistics.median(ratios):,.0f} times")


if __name__ == "__main__":
    main()
