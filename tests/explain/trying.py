"""What these tests share: circuits from lines, settling them in the real simulation, small ones drawn at random."""

from __future__ import annotations

import contextlib
import io
import subprocess
from collections.abc import Mapping, Sequence
from pathlib import Path

import networkx
from hypothesis import strategies as st

import circuitcheck
from circuitcheck import Simulation
from circuitcheck.cli import main
from circuitcheck.engine.program import Program
from circuitcheck.examine import Traced, opened_with, traced
from circuitcheck.model.circuit import Circuit

SLUICE = Path(__file__).resolve().parents[2] / "circuits" / "sluice.circuit"
SETTLES = 200
"""Gt that every circuit drawn here is given to settle: far more than its deepest way takes."""


def text_of(*lines: str) -> str:
    """Circuit text out of lines."""
    return "\n".join(["language 1", "circuit tried", *lines, ""])


def circuit_of(*lines: str) -> Circuit:
    """The circuit of these lines."""
    return circuitcheck.loads(text_of(*lines)).circuit


def machine_of(*lines: str) -> Program:
    """The circuit of these lines, wired up."""
    return Program(circuit_of(*lines))


def work(run: Simulation, name: str, verb: str, level: int = 0) -> None:
    """Works an input in the next gt, with an action as files and analyses name it."""
    if verb == "throw":
        run.throw(name)
    elif verb == "press":
        run.press(name)
    else:
        run.set(name, level if verb == "is" else verb == "on")


def settled(circuit: Circuit, row: Mapping[str, bool], names: Sequence[str]) -> dict[str, bool]:
    """The values of signals after the levers were thrown one by one and everything had time to settle."""
    run = Simulation(circuit).run(gt=SETTLES)
    for lever, on in row.items():
        run.set(lever, on)
        run.run(gt=SETTLES)
    return {name: run.is_on(name) for name in names}


def rows_over(inputs: Sequence[str]) -> list[dict[str, bool]]:
    """Every setting of the inputs, the first input changing fastest."""
    return [{name: bool(row >> bit & 1) for bit, name in enumerate(inputs)} for row in range(1 << len(inputs))]


def truth(circuit: Circuit, inputs: Sequence[str], output: str) -> list[bool]:
    """An output's settled value for every setting of the inputs, each found by simulation."""
    return [settled(circuit, row, [output])[output] for row in rows_over(inputs)]


def run_of(folder: Path, lines: Sequence[str], check: Sequence[str]) -> Traced:
    """The recorded run of a check of these lines on the circuit of the other lines."""
    path = folder / "tried.circuit"
    path.write_text(text_of(*lines), encoding="utf-8")
    return traced(opened_with(path, check))


def feeds_back(circuit: Circuit) -> bool:
    """Whether anything but dust meeting dust lies on a loop."""
    for component in networkx.strongly_connected_components(circuit.graph):
        kinds = {circuit.graph.nodes[name]["kind"] for name in component}
        if len(component) > 1 and not kinds <= {"dust", "junction"}:
            return True
    return False


@st.composite
def drawn_lines(draw: st.DrawFn) -> tuple[tuple[str, ...], tuple[str, ...], str]:
    """Lines of a random small circuit of levers, torches, dust and repeaters; its levers; its last part."""
    levers = [f"pond{number}" for number in range(1, draw(st.integers(2, 4)) + 1)]
    lines = [f"lever {name}" for name in levers]
    names = list(levers)
    for number in range(draw(st.integers(1, 7))):
        kind = draw(st.sampled_from(("torch", "torch", "torch", "repeater", "dust")))
        feeds = draw(st.lists(st.sampled_from(names), min_size=1, max_size=3, unique=True))
        more = f" delay {draw(st.integers(1, 4))}t" if kind == "repeater" else ""
        names.append(f"part{number}")
        lines.append(f"{kind} part{number} from {', '.join(feeds)}{more}")
    return tuple(lines), tuple(levers), names[-1]


def called(*words: str) -> subprocess.CompletedProcess[str]:
    """The program called in this process, which is quicker; what it writes is read as UTF-8, as through a pipe."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True) for _ in range(2))
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            main(words)
        except SystemExit as left:
            code = int(left.code or 0)
    said, told_off = (stream.buffer.getvalue().decode() for stream in (out, err))
    return subprocess.CompletedProcess(words, code, said, told_off)
