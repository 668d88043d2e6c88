"""Benchmarks: ratios between two things measured in one run, because machines are shared and noisy.

    python tests/benchmarks/run.py            the full run, some minutes
    python tests/benchmarks/run.py --short    the short form that CI runs

Times of one process are of the processor. Nothing here asserts a time. DEVELOPERS.md holds the figures of a full run.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import tempfile
import time
import venv
from collections.abc import Callable, Generator
from pathlib import Path

import simpy

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from oracle import machine as old_machine
from oracle import moment as old_moment
from oracle import start as old_start
from oracle import step as old_step

import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.step import step

ROOT = Path(__file__).resolve().parents[2]


def seconds(work: Callable[[], object]) -> float:
    """How long some work takes."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def processor_seconds(work: Callable[[], object]) -> float:
    """How long some work of this process takes, without the time in which others had the processor."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


# The engine against a general discrete-event library, on the same ring


def ring_text(torches: int, branches: int = 0) -> str:
    """A ring of torches with one declared start, so that one edge runs round it for ever.

    So many more torches read each of the ring, and nobody reads those.
    """
    lines = ["language 1", "circuit ring"]
    lines += [f"torch branch_{k}.{n} from t.{n}" for k in range(branches) for n in range(torches)]
    lines += [f"torch t.{n} from t.{(n - 1) % torches}{' starts on' if n == 0 else ''}" for n in range(torches)]
    return "\n".join(lines)


def own_ring(torches: int, toggles: int, branches: int) -> float:
    """Toggles per second of the engine, those of the ring alone."""
    program = Program(circuitcheck.loads(ring_text(torches, branches)).circuit)
    simulator = Simulator(program, 0, starts(program)[0].levels)
    simulator.tell_everyone()
    # One torch changes every 2 gt.
    return toggles / processor_seconds(lambda: simulator.run(2 * toggles))


def simpy_ring(torches: int, toggles: int, branches: int) -> float:
    """Toggles per second of SimPy's process model of the same ring: a process a torch, an event a change."""
    environment = simpy.Environment()
    changed = [environment.event() for _ in range(torches * (1 + branches))]
    level = [number % 2 == 0 for number in range(torches)] + [number % 2 == 1 for number in range(torches)] * branches
    count = 0

    def torch(number: int) -> Generator[simpy.Event, None, None]:
        nonlocal count
        source = (number - 1) % torches if number < torches else number % torches
        while True:
            if level[source] == level[number]:
                yield environment.timeout(2)
                if level[source] == level[number]:
                    level[number] = not level[number]
                    count += number < torches
                    told, changed[number] = changed[number], environment.event()
                    told.succeed()
            else:
                yield changed[source]

    for number in range(torches * (1 + branches)):
        environment.process(torch(number))
    taken = processor_seconds(lambda: environment.run(until=2 * toggles))
    return count / taken


def engine(toggles: int, rounds: int) -> None:
    """Prints both, alternating, and the ratio of the medians: of the bare ring, and with three readers a torch."""
    for branches, what in ((0, "ring of 101 torches"), (2, "the same, each torch read by two more")):
        own, other = [], []
        for _ in range(rounds):
            own.append(own_ring(101, toggles, branches))
            other.append(simpy_ring(101, toggles, branches))
        mine, theirs = statistics.median(own), statistics.median(other)
        print(f"{what}: {mine:,.0f} toggles/s, SimPy {theirs:,.0f}: {mine / theirs:.1f} times")


# Pure steps against the engine before

STEPS_AT_ONCE = 100
"""So few steps are timed at once that some of the times are of steps that nothing came between."""


def steps(rounds: int) -> None:
    """Prints how many pure steps a second the engine takes on the ring, beside the engine kept in `tests/oracle`."""
    circuit = circuitcheck.loads(ring_text(101)).circuit
    program, other = Program(circuit), old_machine.Machine(circuit)
    state = Simulator(program, 0, starts(program)[0].levels).tell_everyone()[0].snapshot()
    old = old_moment.Moment(other, 0, old_start.starts(other)[0].levels).tell_everyone()[0].freeze()

    def own_steps() -> None:
        nonlocal state
        for _ in range(STEPS_AT_ONCE):
            state = step(program, state)[0].state

    def old_steps() -> None:
        nonlocal old
        for _ in range(STEPS_AT_ONCE):
            old = old_step.step(other, old)[0].state

    times = [(processor_seconds(own_steps), processor_seconds(old_steps)) for _ in range(rounds)]
    mine, theirs = (STEPS_AT_ONCE / min(column) for column in zip(*times, strict=True))
    print(
        f"pure steps on the same ring: {mine:,.0f} a second, the engine before {theirs:,.0f}: {mine / theirs:.1f} times"
    )


# Growth


def pipeline_text(parts: int) -> str:
    """Levers, each with a ring clock of five torches and a line of repeaters: all of it always busy."""
    lines = ["language 1", "circuit pipeline"]
    for group in range(parts // 20):
        for n in range(5):
            lines.append(f"torch c{group}t{n} from c{group}t{(n - 1) % 5}{' starts on' if n == 0 else ''}")
        lines.append(f"repeater r{group}n0 from c{group}t0 delay 1t")
        for n in range(1, 14):
            lines.append(f"repeater r{group}n{n} from r{group}n{n - 1} delay {n % 2 + 1}t")
        lines.append(f"lamp l{group} from r{group}n13")
    return "\n".join(lines)


def growth(sizes: list[int]) -> None:
    """Prints time per part to load and to simulate 1000t, beside that of the smallest circuit."""
    first: tuple[float, float] | None = None
    for parts in sizes:
        text = pipeline_text(parts)
        loads: list[circuitcheck.LoadedCircuit] = []
        load = processor_seconds(lambda text=text, loads=loads: loads.append(circuitcheck.loads(text)))  # type: ignore[misc]
        program = Program(loads[0].circuit)
        simulator = Simulator(program, 0, starts(program)[0].levels)
        simulator.tell_everyone()
        run = processor_seconds(lambda simulator=simulator: simulator.run(2000))  # type: ignore[misc]
        per_part = (load / parts, run / parts)
        first = first or per_part
        print(
            f"{parts:>6} parts: load {load:.2f} s ({per_part[0] / first[0]:.2f} a part), "
            f"1000t {run:.2f} s ({per_part[1] / first[1]:.2f} a part)"
        )


# Start


def start(rounds: int, python: str) -> None:
    """Prints the whole process of verifying a circuit of 20 parts, with and without proofs, beside importing lark."""
    command = [python, "-m", "circuitcheck", "verify", str(ROOT / "circuits" / "sluice.circuit")]
    run = {"stdout": subprocess.DEVNULL, "check": True, "cwd": tempfile.gettempdir()}
    own, proving, lark = [], [], []
    for _ in range(rounds):
        own.append(seconds(lambda run=run: subprocess.run([*command, "--states", "0"], **run)))  # type: ignore[misc]
        proving.append(seconds(lambda run=run: subprocess.run(command, **run)))  # type: ignore[misc]
        lark.append(seconds(lambda run=run: subprocess.run([python, "-c", "import lark"], **run)))  # type: ignore[misc]
    ratio = min(own) / min(lark)
    print(f"verify without proofs, whole process: {min(own):.2f} s, import lark {min(lark):.2f} s: {ratio:.1f} times")
    print(f"verify with the proofs of its seven claims: {min(proving):.2f} s")


def plain_python(folder: str) -> str:
    """A Python with the program and what it needs, and nothing else, as its users have it."""
    venv.create(folder, with_pip=True)
    python = str(Path(folder) / "bin" / "python")
    subprocess.run([python, "-m", "pip", "install", "--quiet", str(ROOT)], check=True)
    return python


def main() -> None:
    """Runs what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--short", action="store_true", help="seconds instead of minutes")
    options = parser.parse_args()
    circuitcheck.loads("lever pond")  # so that the grammar is built before anything is timed
    engine(20_000 if options.short else 200_000, 1 if options.short else 7)
    steps(20 if options.short else 400)
    growth([100, 1_000] if options.short else [100, 1_000, 10_000])
    if options.short:
        start(1, sys.executable)
    else:
        with tempfile.TemporaryDirectory() as folder:
            start(15, plain_python(folder))


if __name__ == "__main__":
    main()
