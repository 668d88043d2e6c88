"""Benchmark of a large machine: a computer that counts, adds what it counted up, and files each sum in a register.

    python tests/benchmarks/computer.py            20,000 parts, 4,000 gt
    python tests/benchmarks/computer.py --short    2,000 parts, 500 gt: the short form that CI runs

A counter and a sum of so many bits, an adder between them, as many registers as the low bits of the counter can name,
and a decoder that opens one of them in each turn. A bit is kept by two repeaters, one locked while the clock is on, the
other while it is off (rule R5); everything else is NOR gates, a torch each. Times are of the processor. Nothing here
asserts a time.
"""

from __future__ import annotations

import argparse
import resource
import time
from collections.abc import Iterator

import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import merge, run_game_tick

HALF_PERIOD = 25
"""How many repeaters of 4t the clock goes through: it turns every 200 gt and some."""


def computer_text(bits: int, named_by: int) -> str:
    """The computer with words of so many bits, and a register for each value of so many low bits of the counter."""
    lines = ["language 1", "circuit computer", *_clock(), *_counter(bits), *_sum(bits)]
    lines += [*_decoder(named_by), *_registers(bits, 1 << named_by)]
    return "\n".join(lines)


def _clock() -> Iterator[str]:
    yield f"torch tick from beat.{HALF_PERIOD} starts on"
    for number in range(1, HALF_PERIOD + 1):
        yield f"repeater beat.{number} from {f'beat.{number - 1}' if number > 1 else 'tick'} delay 4t starts off"
    yield "torch tock from tick"
    yield "repeater hold from tick starts on"
    yield "repeater keep from tock starts off"


def _flip_flop(name: str, sources: str) -> Iterator[str]:
    """A bit that takes over what its sources give as the clock goes on."""
    yield f"repeater {name}_in from {sources} delay 2t locked by hold starts off"
    yield f"repeater {name} from {name}_in locked by keep starts off"


def _exclusive_or(name: str, one: str, other: str) -> Iterator[str]:
    """`name`, and `name_both`, which is on while both are; each of the two has an inverse named `not_`."""
    yield f"torch {name}_none from {one}, {other}"
    yield f"torch {name}_both from not_{one}, not_{other}"
    yield f"torch {name} from {name}_none, {name}_both"


def _counter(bits: int) -> Iterator[str]:
    for bit in range(bits):
        yield f"torch not_count{bit} from count{bit}"
        lower = ", ".join(f"not_count{below}" for below in range(bit))
        if bit:
            yield f"torch turn{bit} from {lower}"
            yield f"torch not_turn{bit} from turn{bit}"
            yield from _exclusive_or(f"next{bit}", f"count{bit}", f"turn{bit}")
        yield from _flip_flop(f"count{bit}", f"next{bit}" if bit else "not_count0")


def _sum(bits: int) -> Iterator[str]:
    for bit in range(bits):
        yield f"torch not_sum{bit} from sum{bit}"
        yield from _exclusive_or(f"half{bit}", f"sum{bit}", f"count{bit}")
        if bit:
            yield f"torch not_half{bit} from half{bit}"
            yield f"torch not_carry{bit} from {f'half{bit - 1}_both, whole{bit - 1}_both' if bit > 1 else 'half0_both'}"
            yield f"torch carry{bit} from not_carry{bit}"
            yield from _exclusive_or(f"whole{bit}", f"half{bit}", f"carry{bit}")
        yield from _flip_flop(f"sum{bit}", f"whole{bit}" if bit else "half0")


def _decoder(named_by: int) -> Iterator[str]:
    for number in range(1 << named_by):
        chosen = [f"{'not_' if number >> bit & 1 else ''}count{bit}" for bit in range(named_by)]
        yield f"torch open{number} from {', '.join(chosen)}"
        yield f"torch shut{number} from open{number}"


def _registers(bits: int, count: int) -> Iterator[str]:
    for number in range(count):
        for bit in range(bits):
            name = f"kept{number}_{bit}"
            yield f"torch not_{name} from {name}"
            yield f"torch {name}_old from not_{name}, open{number}"
            yield f"torch {name}_new from not_sum{bit}, shut{number}"
            yield from _flip_flop(name, f"{name}_old, {name}_new")


def value(program: Program, simulator: Simulator, name: str, bits: int) -> int:
    """The number that a row of bits shows."""
    return sum(1 << bit for bit in range(bits) if simulator.levels[program.number[f"{name}{bit}"]])


def measured(bits: int, named_by: int, game_ticks: int) -> None:
    """Prints how long the computer takes to load, how fast it runs, and the memory of the whole process."""
    text = computer_text(bits, named_by)
    started = time.process_time()
    circuit = circuitcheck.loads(text).circuit
    parsed = time.process_time()
    program = Program(circuit)
    start = the_start(program)
    loaded = time.process_time()
    simulators = Simulator(program, 0, start.levels).tell_everyone()
    rates = []
    for first in (1, game_ticks // 2 + 1):
        begun = time.process_time()
        for at in range(first, first + game_ticks // 2):
            for simulator in simulators:
                simulator.now = at
            simulators = merge(run_game_tick(simulators, ()))
        rates.append(game_ticks // 2 / (time.process_time() - begun))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss >> 10
    count, total = (value(program, simulators[0], name, bits) for name in ("count", "sum"))
    print(f"{len(circuit.parts):,} parts: read {parsed - started:.2f} s, wired and settled {loaded - parsed:.2f} s")
    print(f"{game_ticks:,} gt: {rates[0]:,.0f} gt/s in the first half, {rates[1]:,.0f} in the second; {memory:,} MB")
    print(f"it has counted to {count} and summed up to {total}; it is in {len(simulators)} state at the end")


def main() -> None:
    """Runs what is asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--short", action="store_true", help="a tenth of the parts")
    options = parser.parse_args()
    if options.short:
        measured(12, 5, 500)
    else:
        measured(30, 7, 4_000)


if __name__ == "__main__":
    main()
