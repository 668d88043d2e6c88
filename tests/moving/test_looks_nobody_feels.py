"""What chance makes of water that nobody feels: its looks are taken apart from all else in the second half of a gt.

Held against the engine, which is asked for each half with all its looks. Common practice, no source: C2, Z2, Z8, M2 to
M5. The machine is `weirwatch.py`, whose pistons and gates update the water of two channels.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator

import pytest

from circuitcheck.chance.first_edge import response
from circuitcheck.chance.first_edge.response import respond
from circuitcheck.chance.machine import moving_chain
from circuitcheck.chance.machine.cores import Cores
from circuitcheck.chance.machine.joint import Changed
from circuitcheck.engine.simulator import Simulator, restore
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, act
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Atom, Test
from circuitcheck.model.unsure import collected

from .weirwatch import weirwatch

SOME = 120
"""Of so many halves that were met, those that the engine is asked for anew."""


@pytest.fixture(scope="module")
def cores() -> Cores:
    """All that a response of the machine comes to."""
    circuit = load_text(weirwatch(3, "")).studies[0].circuit
    assert respond(circuit, "dusk", Atom("gate", Test.RISES)).exact
    return next(each.cores for each in reversed(moving_chain._KEPT) if each.is_of(circuit))


def halves(cores: Cores) -> Iterator[tuple[State, Changed]]:
    """Some second halves in which anything happens."""
    met = list(cores._drawn)
    random.Random(1).shuffle(met)
    for core, changed in met[:SOME]:
        for state in cores.states[core]:
            if changed or any(to_go == 0 for to_go, _, _ in state.waits):
                yield state, changed


def by_the_engine(cores: Cores, state: State, changed: Changed) -> list[State]:
    """What the whole machine comes to, its looks included."""
    simulators: list[Simulator] = [restore(cores._program, state, 0, kept=False)]
    simulators = act(simulators, [Action(cell, "throw") for cell in changed])
    return [each.snapshot() for simulator in simulators for each in simulator.run(0)]


def test_a_half_comes_to_what_the_engine_makes_of_it_with_all_its_looks(cores: Cores) -> None:
    compared = waiting = tied = 0
    for state, changed in halves(cores):
        compared += 1
        waiting += cores._looks.without(state) != state
        tied += bool(state.ties.descents)
        plain = [cores._looks.lone(each) for each in by_the_engine(cores, state, changed)]
        assert cores._ended(state, changed) == plain
    assert compared > 40
    assert waiting > 20
    assert tied > 20


def test_the_engine_is_asked_once_for_halves_that_differ_only_in_such_looks(cores: Cores) -> None:
    assert len(cores._ends) * 3 < len(cores._drawn)
    assert all(cores._looks.without(state) == state for state, _ in cores._ends)


def test_sources_that_touch_no_other_water_change_nothing_at_their_looks_and_never_wait(cores: Cores) -> None:
    names = cores._program.names
    still = {device for device in cores._looks._unfelt if re.match("water_[57]_9_", names[device])}
    assert len(still) == 14  # the tank over the dawn row; the springs of the channels are let out by their gates
    assert cores._looks.still == still
    waits = [set(devices) for states in cores.states for state in states for _, _, devices in state.waits]
    assert all(still.isdisjoint(devices) for devices in waits)
    assert any(not cores._looks._unfelt.isdisjoint(devices) for devices in waits)
    assert {state.levels[device] for states in cores.states for state in states for device in still} == {8}


def test_a_response_depends_on_a_rule_though_what_came_to_it_was_found_for_an_earlier_one() -> None:
    """V6: the cores are kept, and with them which rules that are not certain they came to."""
    older = re.sub(r"^rules +\w+", "rules older", weirwatch(1, ""), flags=re.MULTILINE)
    circuit = load_text(older).studies[0].circuit
    with collected() as first:
        respond(circuit, "dusk", Atom("gate", Test.RISES))
    response._KEPT.clear()
    with collected() as again:
        respond(circuit, "dusk", Atom("gate", Test.RISES))
    assert first
    assert again == first
