"""Rows of pistons that call each other: what chance makes of them does not depend on which cell changed first.

Held against the engine, which is asked about each set of cells apart. Common practice, no source: C5, D2, M5, M13. The
machine is `weirwatch.py` with three cells a side, whose pistons stand side by side.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator

import pytest

from circuitcheck.chance.first_edge import response
from circuitcheck.chance.first_edge.response import Response, respond
from circuitcheck.chance.machine import moving_chain
from circuitcheck.chance.machine.calls_alike import Row
from circuitcheck.chance.machine.chain import Chain
from circuitcheck.chance.machine.cores import Cores
from circuitcheck.chance.machine.joint import Changed
from circuitcheck.chance.machine.moving_chain import chain_of
from circuitcheck.engine.simulator import Simulator, restore
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, act
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Atom, Test
from circuitcheck.model.parts.waits import LANDING

from .weirwatch import weirwatch

DARK, BRIGHT = Atom("gate", Test.RISES), Atom("gate", Test.FALLS)
SOME = 40
"""Of so many cores that were met, the sets of cells that the engine is asked about one by one."""


@pytest.fixture(scope="module")
def cores() -> Cores:
    """What the response at dawn comes to: by night the channels are dry."""
    circuit = load_text(weirwatch(3, "")).studies[0].circuit
    assert respond(circuit, "dawn", BRIGHT).exact
    return next(each.cores for each in reversed(moving_chain._KEPT) if each.is_of(circuit))


def sets_of_a_row(cores: Cores) -> Iterator[tuple[State, Row, Changed]]:
    """Every set of cells of one row, in some of the states that second halves began with."""
    assert cores._calls is not None
    met = sorted({core for core, _ in cores._drawn})
    random.Random(1).shuffle(met)
    for core in met[:SOME]:
        for row in dict.fromkeys(cores._calls._row_of.values()):
            for size in range(1, len(row.cells) + 1):
                for changed in itertools.combinations(row.cells, size):
                    yield cores._looks.without(cores.states[core][0]), row, changed


def told(cores: Cores, states: list[State]) -> set[State]:
    assert cores._orders is not None
    return {cores._orders.opened(cores._looks.lone(cores._without_cells(each))) for each in states}


def test_one_cell_stands_for_any_set_of_its_row(cores: Cores) -> None:
    assert cores._calls is not None
    silent = out = 0
    for state, row, changed in sets_of_a_row(cores):
        asked = cores._calls.instead_of(state, changed)
        if asked.changed == changed:
            continue
        silent += not asked.changed
        out += asked.goes_out is row
        simulators: list[Simulator] = [restore(cores._program, state, 0, kept=False)]
        simulators = act(simulators, [Action(cell, "throw") for cell in changed])
        plain = [each.snapshot() for simulator in simulators for each in simulator.run(0)]
        assert told(cores, cores._ended(state, changed)) == told(cores, plain)
    assert silent > 20
    assert out > 20


def test_the_order_of_a_row_is_open_and_that_of_the_gates_stays(cores: Cores) -> None:
    assert cores._orders is not None
    rows = gates = 0
    for state in (each for states in cores.states for each in states):
        for slot, (to_go, order_class, devices) in enumerate(state.waits):
            if order_class == LANDING and len(devices) > 1:
                turned = list(state.waits)
                turned[slot] = (to_go, order_class, devices[::-1])
                alike = cores._orders.opened(state._replace(waits=tuple(turned))) == cores._orders.opened(state)
                of_cells = {cores._program.names[each].split("_")[-1].split(".")[0] for each in devices} == {"stir"}
                mixed = len({cores._program.names[each].split(".")[0] for each in devices}) > 1
                assert alike is (of_cells and not mixed)
                rows += alike
                gates += not alike
    assert rows > 20
    assert gates > 5


def test_a_response_is_the_same_with_all_orders_told_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    def plainly(
        circuit: Circuit, watched: list[str], most: int = 0, whole: bool = True, exchanges: bool = True
    ) -> Chain:
        return chain_of(circuit, watched, most, whole, exchanges=False)

    def found() -> Response:
        return respond(load_text(weirwatch(3, "")).studies[0].circuit, "dusk", DARK)

    quickly = found()
    monkeypatch.setattr(response, "chain_of", plainly)
    plain = found()
    assert quickly.exact
    assert plain.exact
    assert quickly.open == plain.open == 0.0
    assert quickly.distribution.chances == pytest.approx(
        plain.distribution.chances, abs=quickly.left_out + plain.left_out
    )
    assert quickly.distribution.quantile(0.5) == plain.distribution.quantile(0.5)
