"""Rings and chains against small models of them in SimPy, a general simulator of events, edge for edge.

Source: SimPy (simpy.readthedocs.io) supplies time and the order of events; what a torch and a repeater do is written
here in its terms: common practice, no source; rules T2 and R2. The period of a ring, 2·n·1t, is the formula of
the ring oscillator in any textbook of VLSI design, f = 1 / (2·n·t_pd), for example Weste and Harris, CMOS VLSI Design.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable, Generator, Sequence

import pytest
import simpy

from outside.building import start

Edges = list[tuple[int, bool]]
Process = Generator[simpy.Event, object, None]

TORCH_DELAY = 2
"""1t in gt."""


class Wire:
    """A level in a SimPy environment, with an event for its next change and a note of all its edges."""

    def __init__(self, env: simpy.Environment, on: bool) -> None:
        self.env, self.on = env, on
        self.changed = env.event()
        self.edges: Edges = []

    def put(self, on: bool) -> None:
        if on is not self.on:
            self.on = on
            self.edges.append((int(self.env.now), on))
            event, self.changed = self.changed, self.env.event()
            event.succeed()


def torch(env: simpy.Environment, block: Wire, out: Wire) -> Process:
    """While block and torch disagree, wait 1t and look again."""
    while True:
        if block.on is out.on:
            yield env.timeout(TORCH_DELAY)
            out.put(not block.on)
        else:
            yield block.changed


def repeater(env: simpy.Environment, back: Wire, out: Wire, delay: int) -> Process:
    """While input and output disagree, wait the delay; then come on whatever the input is, or go off if it still is."""
    while True:
        if back.on is not out.on:
            yield env.timeout(delay)
            out.put(back.on if out.on else True)
        else:
            yield back.changed


def hand(env: simpy.Environment, lever: Wire, throws: Sequence[int]) -> Process:
    """Throws a lever at these times."""
    for at in throws:
        yield env.timeout(at - env.now)
        lever.put(not lever.on)


# Rings


@pytest.mark.parametrize("length", [5, 7, 9])
def test_every_torch_of_a_ring_changes_when_the_model_says(length: int) -> None:
    # On and off by turns; the first torch, fed by the last, is the only one that disagrees with its block.
    levels = [number % 2 == 0 for number in range(length)]
    env = simpy.Environment()
    wires = [Wire(env, level) for level in levels]
    for number in range(length):
        env.process(torch(env, wires[number - 1], wires[number]))
    lines = ["language 1", "circuit ring"]
    for number, level in enumerate(levels):
        lines.append(f"torch t{number} from t{(number - 1) % length} starts {'on' if level else 'off'}")
    run = start("\n".join([*lines, ""])).run(gt=400)
    env.run(until=401)
    for number in range(length):
        found = [(edge.at, edge.level > 0) for edge in run.edges(f"t{number}")]
        assert found == wires[number].edges, f"torch {number}"
    rises = [at for at, on in wires[0].edges if on]
    periods = {after - before for before, after in itertools.pairwise(rises)}
    assert periods == {2 * length * TORCH_DELAY}


# Chains


def repeater_chain(delays: Sequence[int], throws: Sequence[int], until: int) -> tuple[list[Edges], list[Edges]]:
    """The edges of every repeater of a chain behind a lever: the model's and the circuit's."""
    env = simpy.Environment()
    lever = Wire(env, False)
    wires = [lever]
    for delay in delays:
        wires.append(Wire(env, False))
        env.process(repeater(env, wires[-2], wires[-1], 2 * delay))
    env.process(hand(env, lever, throws))
    env.run(until=until + 1)
    lines = ["language 1", "circuit chain", "lever r0"]
    lines += [f"repeater r{number} from r{number - 1} delay {delay}t" for number, delay in enumerate(delays, start=1)]
    run = start("\n".join([*lines, ""]))
    for at in throws:
        run.run(gt=at - 1 - run.now)
        run.throw("r0")
    run.run(gt=until - run.now)
    names = [f"r{number}" for number in range(1, len(delays) + 1)]
    found = [[(edge.at, edge.level > 0) for edge in run.edges(name)] for name in names]
    return [wire.edges for wire in wires[1:]], found


@pytest.mark.parametrize("delay", [1, 2, 3, 4])
@pytest.mark.parametrize("length", [1, 2, 3, 5, 10, 17])
def test_a_single_pulse_leaves_a_repeater_when_the_model_says(delay: int, length: int) -> None:
    model, circuit = repeater_chain([delay], [10, 10 + length], 60)
    assert circuit == model
    assert len(circuit[0]) == 2


@pytest.mark.parametrize("seed", range(20))
def test_every_repeater_of_a_chain_changes_when_the_model_says(seed: int) -> None:
    choose = random.Random(seed)
    delays = [choose.randint(1, 4) for _ in range(choose.randint(2, 6))]
    # No throw comes in the very gt in which the first repeater may look: who acts first then is a rule about hands
    # (C2), and SimPy knows none.
    throws = [10]
    for _ in range(choose.randint(1, 9)):
        throws.append(throws[-1] + choose.choice((3, 5, 7, 9, 15, 21)))
    first_looks = {at + 2 * delays[0] * turns for at in throws for turns in range(1, 12)}
    throws = throws[:1] + [at for at in throws[1:] if at not in first_looks]
    model, circuit = repeater_chain(delays, throws, 300)
    assert circuit == model, f"delays {delays}, throws {throws}"
    assert circuit[0], "the chain should have been moved"


def alternating_chain(kinds: str) -> tuple[str, Callable[[simpy.Environment, Wire], list[Wire]]]:
    """A chain of torches (letter t) and repeaters (their delay as a digit): its text, and its model behind a lever."""
    lines = ["language 1", "circuit chain", "lever p0"]
    for number, kind in enumerate(kinds, start=1):
        what = f"torch p{number} from p{number - 1}" if kind == "t" else f"repeater p{number} from p{number - 1}"
        lines.append(what if kind == "t" else f"{what} delay {kind}t")

    def model(env: simpy.Environment, lever: Wire) -> list[Wire]:
        wires = [lever]
        for kind in kinds:
            before = wires[-1]
            after = Wire(env, not before.on if kind == "t" else before.on)
            wires.append(after)
            made = torch(env, before, after) if kind == "t" else repeater(env, before, after, 2 * int(kind))
            env.process(made)
        return wires[1:]

    return "\n".join([*lines, ""]), model


@pytest.mark.parametrize("kinds", ["ttt", "t1t2t", "4t", "t4t4", "tt3tt1", "1t2t3t4"])
def test_torches_and_repeaters_by_turns_pass_pulses_as_the_model_says(kinds: str) -> None:
    text, model = alternating_chain(kinds)
    throws = [11, 32, 53, 60, 90, 95]
    env = simpy.Environment()
    lever = Wire(env, False)
    wires = model(env, lever)
    env.process(hand(env, lever, throws))
    env.run(until=201)
    run = start(text)
    for at in throws:
        run.run(gt=at - 1 - run.now)
        run.throw("p0")
    run.run(gt=200 - run.now)
    for number, wire in enumerate(wires, start=1):
        assert [(edge.at, edge.level > 0) for edge in run.edges(f"p{number}")] == wire.edges, f"part {number}"
    assert all(wire.edges for wire in wires)
