"""A whole machine that moves in water that flows: what nobody feels has no say, and like cells are taken together.

Common practice, no source: rules M2, M5, M9, M12, W9, W10, X1 to X3, Z2 to Z8. `floodwatch.circuit` has the drawing.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from circuitcheck.chance.first_edge.response import respond
from circuitcheck.chance.machine import moving_chain
from circuitcheck.chance.machine.alike import NotAlike
from circuitcheck.chance.machine.exchange import Exchange
from circuitcheck.chance.machine.moving_chain import MovingChain
from circuitcheck.checks.outcome import Verdict
from circuitcheck.engine.program import PortDrivers, Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.state import State
from circuitcheck.language.load import load_file
from circuitcheck.model.claims import Atom, Test
from circuitcheck.model.light import Cycle
from circuitcheck.prove.influence import Influence
from circuitcheck.prove.meter import Limits
from circuitcheck.prove.prover import Prover

STUDY = load_file(Path(__file__).with_name("floodwatch.circuit")).studies[0]
PROGRAM = Program(STUDY.circuit)
DARK = Atom("dark", Test.RISES)
NONE: tuple[PortDrivers, ...] = ()


def at_the_start() -> State:
    (simulator,) = Simulator(PROGRAM, 0, the_start(PROGRAM).levels).tell_everyone()
    return simulator.snapshot()


def number(name: str) -> int:
    return PROGRAM.number[name]


def test_its_water_has_no_say_in_the_pistons_that_cut_it() -> None:
    assert PROGRAM.motion is not None
    water = PROGRAM.motion.flow.place_of.keys()
    assert water == PROGRAM.motion.unfelt
    assert water.isdisjoint(Influence(PROGRAM).cone((number("paddle.1"), number("sluice.3"))))


@pytest.mark.parametrize("wet", [False, True], ids=["without the water", "with the water above each"])
def test_all_six_cells_of_a_row_are_alike(wet: bool) -> None:
    exchange = Exchange(PROGRAM, NONE, wet)
    named = [[[PROGRAM.names[device] for device in unit.devices] for unit in units] for units in exchange.groups]
    above = [f"water_3_2_{column}" for column in (3, 5, 7, 9, 11, 13)] if wet else []
    assert [len(units) for units in named] == [6, 6]
    assert [unit[0] for unit in named[0]] == [f"dusk_turf.{cell}" for cell in range(1, 7)]
    assert [name for unit in named[0] for name in unit if name.startswith("water")] == above


def test_its_claims_are_proved_in_as_many_states_as_without_the_water() -> None:
    prover = Prover(STUDY, Limits(), solving=False)
    outcomes = [prover.prove(claim) for claim in STUDY.claims]
    assert [outcome.verdict for outcome in outcomes] == [Verdict.PROVED, Verdict.PROVED]
    assert [outcome.proof.states for outcome in outcomes if outcome.proof is not None] == [41, 169]


def test_a_response_is_the_same_with_like_cells_taken_together_and_each_apart(monkeypatch: pytest.MonkeyPatch) -> None:
    quick = replace(STUDY.circuit, cycle=Cycle(100, 100, 200, 100))
    together = respond(quick, "dusk", DARK)
    kept = MovingChain(quick, ["dark"]).groups
    monkeypatch.setattr(Exchange, "_candidates", lambda self: iter(()))
    moving_chain._KEPT.clear()
    apart = respond(replace(quick), "dusk", DARK)
    assert len(kept) == 2
    assert together.exact
    assert apart.exact
    assert apart.states != together.states
    assert apart.distribution.chances == pytest.approx(together.distribution.chances, abs=2.0 * together.left_out)


@pytest.mark.parametrize(
    ("name", "level", "told_apart"),
    [
        ("water_3_2_3", 0, True),  # its neighbour is wet, and would read it
        ("water_3_2_4", 0, True),  # what falls between one pair of cells, and not between the others
        ("dusk_turf.1", 0, False),
    ],
)
def test_water_that_stands_otherwise_at_one_cell_tells_it_apart(name: str, level: int, told_apart: bool) -> None:
    exchange, state = Exchange(PROGRAM, NONE), at_the_start()
    levels = bytearray(state.levels)
    levels[number(name)] = level
    changed = state._replace(levels=bytes(levels))
    exchange.turned([state])
    if told_apart:
        with pytest.raises(NotAlike):
            exchange.turned([changed])
    else:
        exchange.turned([changed])


def test_where_no_other_water_is_wet_beside_it_that_of_one_cell_may_be_dry_before_the_others() -> None:
    exchange, state = Exchange(PROGRAM, NONE), at_the_start()
    levels = bytearray(state.levels)
    for name in ("water_3_2_4", "water_3_2_8", "water_3_2_12", "water_3_2_3"):
        levels[number(name)] = 0
    (ordered,), turns, classes = exchange.turned([state._replace(levels=bytes(levels))])
    assert sorted(turns[0]) == list(range(6))
    assert len(set(classes[0])) == 2
    assert sum(ordered.levels[number(f"water_3_2_{column}")] > 0 for column in (3, 5, 7, 9, 11, 13)) == 5


def test_a_cell_of_no_unit_that_updates_water_of_one_would_tell_it_apart() -> None:
    assert {PROGRAM.names[cell].partition(".")[0] for cell in Exchange(PROGRAM, NONE).tell_apart} == {"bank"}
