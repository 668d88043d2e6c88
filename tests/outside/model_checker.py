"""The formula of one gt in the AIGER format, for a model checker that is none of ours.

Source of the format: A. Biere, "The AIGER And-Inverter Graph (AIG) Format Version 20071012" (Johannes Kepler University
Linz); the binary form, one output that is true where the claim is broken.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from circuitcheck.prove.symbolic.formula import FALSE, TRUE
from circuitcheck.prove.symbolic.system import System

CHECKER = shutil.which("berkeley-abc") or shutil.which("abc")


class _Graph:
    """And-gates over numbered literals: twice a variable, plus one where it is negated."""

    def __init__(self, inputs: int, latches: int) -> None:
        self.inputs, self.latches = inputs, latches
        self.ands: list[tuple[int, int]] = []

    def both(self, one: int, other: int) -> int:
        """A literal for: both are true."""
        high, low = max(one, other), min(one, other)
        if low == 0 or high == low ^ 1:
            return 0
        if low == 1 or high == low:
            return high
        self.ands.append((high, low))
        return 2 * (self.inputs + self.latches + len(self.ands))

    def choose(self, condition: int, then: int, other: int) -> int:
        """A literal for `then` where the condition is true, and for `other` where it is not."""
        return self.both(self.both(condition, then) ^ 1, self.both(condition ^ 1, other) ^ 1) ^ 1

    def written(self, following: Iterable[int], output: int) -> bytes:
        """The graph in the binary form; `following` is what each latch becomes."""
        most = self.inputs + self.latches + len(self.ands)
        lines = [f"aig {most} {self.inputs} {self.latches} 1 {len(self.ands)}", *map(str, following), str(output)]
        found = bytearray("\n".join(lines).encode() + b"\n")
        for place, (high, low) in enumerate(self.ands, self.inputs + self.latches + 1):
            for delta in (2 * place - high, high - low):
                while delta >= 128:
                    found.append(delta & 127 | 128)
                    delta >>= 7
                found.append(delta)
        return bytes(found)


def aiger(system: System, broken: int) -> bytes:
    """A system and a literal of a state, as a graph whose output is true where an allowed run has come to it.

    Two latches are added: the first step only chooses a start, and after a step that is not allowed nothing counts.
    """
    formula = system.formula
    step_allowed, valid = system.allowed, system.valid
    gates = formula.gates
    states = set(system.state)
    free = [each for each in range(2, formula.variables + 1) if each not in gates and each not in states]
    choices = max(len(system.starts) - 1, 0).bit_length()
    graph = _Graph(len(free) + choices, len(system.state) + 2)
    literal = {TRUE: 1, FALSE: 0}

    def names(variable: int, number: int) -> None:
        literal[variable], literal[-variable] = number, number ^ 1

    for place, variable in enumerate(free, 1):
        names(variable, 2 * place)
    first = graph.inputs + 1
    for place, variable in enumerate(system.state, first):
        names(variable, 2 * place)
    begun, spoilt = 2 * (first + len(system.state)), 2 * (first + len(system.state) + 1)
    for variable, (condition, then, other) in sorted(gates.items()):
        names(variable, graph.choose(literal[condition], literal[then], literal[other]))
    allowed = graph.both(literal[step_allowed], literal[valid])
    chosen = [2 * (len(free) + 1 + place) for place in range(choices)]
    following = []
    for place, then in enumerate(system.following):
        start = _chosen(graph, chosen, [start[place] for start in system.starts])
        following.append(graph.choose(begun, literal[then], start))
    following += [1, graph.both(spoilt ^ 1, graph.both(begun, allowed ^ 1) ^ 1) ^ 1]
    counts = graph.both(graph.both(begun, spoilt ^ 1), literal[valid])
    return graph.written(following, graph.both(counts, literal[broken]))


def _chosen(graph: _Graph, chosen: list[int], bits: list[int]) -> int:
    """The bit of the start that some inputs choose; past the last, of the last."""
    if not chosen:
        return bits[0]
    half = 1 << len(chosen) - 1
    low, high = bits[:half], bits[half:] or bits[-1:]
    return graph.choose(chosen[-1], _chosen(graph, chosen[:-1], high), _chosen(graph, chosen[:-1], low))


class Answer(NamedTuple):
    """What the outside checker says: proved, or the length of a run that breaks the claim; neither if it gave up."""

    proved: bool
    broken_at: int | None


def asked(system: System, broken: int, folder: Path, seconds: int, proofs: bool) -> Answer:
    """The outside checker's answer: its search for an invariant, or for a shortest run."""
    assert CHECKER is not None
    path = folder / "claim.aig"
    path.write_bytes(aiger(system, broken))
    how = f"pdr -T {seconds}" if proofs else f"bmc3 -T {seconds}"
    done = subprocess.run(
        [CHECKER, "-q", f"read {path}; {how}; print_status"],
        capture_output=True, text=True, check=True, timeout=10 * seconds + 60,
    )  # fmt: skip
    broken_in = re.search(r"asserted in frame (\d+)", done.stdout)
    # The first step chooses a start: the frame 1 is before gt 0, and each later one a gt later.
    return Answer("Property proved" in done.stdout, int(broken_in[1]) - 1 if broken_in else None)
