"""Circuit text made from netlists: every gate out of torches, every flip-flop out of two data latches.

How a gate is made of torches and a flip-flop of locked repeaters: common practice, no source; rules T1, P5, R5.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import circuitcheck
from circuitcheck import LoadedCircuit, Simulation

SHELF = Path(__file__).resolve().parents[2] / "circuits"
"""Where the shelf of building blocks stands."""

CLOCK = "wheel"
"""The lever that clocks every flip-flop."""

HALF_PERIOD = 40
"""Gt between two throws of the clock, far more than the deepest circuit built here needs to settle."""


@dataclass(frozen=True)
class Gate:
    """A gate of a netlist: NOT, AND, OR, NAND, NOR or XOR, and the names of what it reads."""

    kind: str
    inputs: tuple[str, ...]


Netlist = Mapping[str, Gate]


def gate(kind: str, *inputs: str) -> Gate:
    """A gate in one line."""
    return Gate(kind, inputs)


def gate_lines(name: str, made: Gate) -> list[str]:
    """One gate out of torches; its output is the part of the gate's own name."""
    feeds = ", ".join(made.inputs)
    inverses = [f"{name}_no_{number}" for number in range(1, len(made.inputs) + 1)]
    inverters = [f"torch {no} from {source}" for no, source in zip(inverses, made.inputs, strict=True)]
    if made.kind in ("NOT", "NOR"):
        return [f"torch {name} from {feeds}"]
    if made.kind == "OR":
        return [f"torch {name}_none from {feeds}", f"torch {name} from {name}_none"]
    if made.kind == "AND":
        return [*inverters, f"torch {name} from {', '.join(inverses)}"]
    if made.kind == "NAND":
        return [*inverters, f"junction {name} joins {', '.join(inverses)}"]
    if made.kind == "XOR":
        both, none = f"{name}_both", f"{name}_none"
        return [
            *inverters,
            f"torch {both} from {', '.join(inverses)}",
            f"torch {none} from {feeds}",
            f"torch {name} from {both}, {none}",
        ]
    raise ValueError(f"no gate is called {made.kind}")


def flip_flop_lines(name: str, data: str, starts: bool = False) -> list[str]:
    """A master–slave flip-flop: takes the data over when the clock rises; its output has its own name."""
    start = "on" if starts else "off"
    return [
        f"latch {name}_master data {data} locked by {CLOCK} starts off",
        f"latch {name} data {name}_master locked by still starts {start}",
    ]


def circuit_text(
    inputs: Sequence[str],
    gates: Netlist,
    flip_flops: Mapping[str, str] | None = None,
    started: Sequence[str] = (),
) -> str:
    """The text of a circuit: a lever for each input, then its gates, then its flip-flops (output: data)."""
    lines = ["language 1", "circuit outside", "rules newer"]
    lines += [f"lever {name}" for name in inputs]
    for name, made in gates.items():
        lines += gate_lines(name, made)
    if flip_flops:
        lines += [f"lever {CLOCK}", f"torch still from {CLOCK}"]
        for name, data in flip_flops.items():
            lines += flip_flop_lines(name, data, name in started)
    return "\n".join([*lines, ""])


def shelf_text(inputs: Sequence[str], block: str, outputs: Sequence[str]) -> str:
    """The text of a circuit with one block off the shelf, for example `and_gate it (a a, b b)`, and what it gives."""
    levers = [f"lever {name}" for name in inputs]
    given = [f"output {name} from it.{name}" for name in outputs]
    head = ["language 1", "circuit outside", "rules newer", 'use "shelf.circuit"']
    return "\n".join([*head, *levers, block, *given, ""])


@cache
def _loaded(text: str) -> LoadedCircuit:
    return circuitcheck.loads(text, SHELF)


def start(text: str) -> Simulation:
    """The circuit of a text, started anew; `use` lines look on the shelf."""
    return _loaded(text).start()


def put(run: Simulation, values: Mapping[str, bool]) -> None:
    """Throws the levers, all in the next gt, to these values."""
    for name, value in values.items():
        run.set(name, value)


def clock(run: Simulation) -> None:
    """One full turn of the clock, with time to settle after each half."""
    run.set(CLOCK, True)
    run.run(gt=HALF_PERIOD)
    run.set(CLOCK, False)
    run.run(gt=HALF_PERIOD)
