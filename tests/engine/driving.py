"""Drives a circuit by hand: inputs worked in given gt, and signals read back as plain lists of gt."""

from __future__ import annotations

from collections.abc import Sequence

import circuitcheck
from circuitcheck.simulation import Simulation

Act = tuple[int, str, str]
"""The gt, the input's name, and what is done: on, off, throw, press, or a level in digits."""

HEADER = "language 1\ncircuit sluice\n"
OUTSIDE_FIRST = "setting outside_first yes\n"
DELAYS = (1, 2, 3, 4)
"""The delays of a repeater, in t."""


def start(body: str) -> Simulation:
    """The circuit of these lines at the end of gt 0."""
    return circuitcheck.loads(HEADER + body).start()


def work(run: Simulation, name: str, verb: str) -> Simulation:
    """Works an input in the next gt: on, off, throw, press, or a level in digits."""
    if verb in ("throw", "press"):
        return run.throw(name) if verb == "throw" else run.press(name)
    return run.set(name, int(verb) if verb.isdecimal() else verb == "on")


def proceed(run: Simulation, acts: Sequence[Act], until: int) -> Simulation:
    """Works each input in its gt, and lets time pass up to and with the gt `until`."""
    for at in sorted({at for at, _, _ in acts}):
        run.run(gt=at - 1 - run.now)
        for _, name, verb in (act for act in acts if act[0] == at):
            work(run, name, verb)
        run.run(gt=1)
    return run.run(gt=until - run.now)


def drive(body: str, acts: Sequence[Act], until: int) -> Simulation:
    """A fresh circuit, worked as said, as it stands at the end of the gt `until`."""
    return proceed(start(body), acts, until)


def pulse(name: str, at: int, length: int) -> list[Act]:
    """A lever on from gt `at` for `length` gt."""
    return [(at, name, "on"), (at + length, name, "off")]


def gap(name: str, at: int, length: int) -> list[Act]:
    """A lever off from gt `at` for `length` gt."""
    return [(at, name, "off"), (at + length, name, "on")]


def edges(run: Simulation, name: str) -> list[tuple[int, int]]:
    """Every change: the gt and the level it went to."""
    return [(edge.at, edge.level) for edge in run.edges(name)]


def ons(run: Simulation, name: str) -> list[tuple[int, int | None]]:
    """Every stretch of on that began in the run: from gt, to before gt."""
    return [(each.start, each.end) for each in run.pulses(name)]


def offs(run: Simulation, name: str) -> list[tuple[int, int | None]]:
    """Every stretch of off that began in the run: from gt, to before gt."""
    found: list[tuple[int, int | None]] = []
    for at, level in edges(run, name):
        if not level:
            found.append((at, None))
        elif found:
            found[-1] = (found[-1][0], at)
    return found
