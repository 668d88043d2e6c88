"""The drawn keeper of the mill: six cells a side below water that flows, cut by the heads of six pistons.

Common practice, no source: rules M2, M3, M5, M9, M12, X2, X3, G2, Z1 to Z9.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from circuitcheck.chance.first_edge.response import respond
from circuitcheck.chance.machine import moving_chain
from circuitcheck.chance.machine.draws import Draws
from circuitcheck.chance.machine.units import Units
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action, run_game_tick
from circuitcheck.language.load import load_file
from circuitcheck.model.claims import Atom, Test
from circuitcheck.model.light import Cycle

CIRCUIT = load_file(Path(__file__).resolve().parents[2] / "circuits" / "turfwatch.circuit").studies[0].circuit
PROGRAM = Program(CIRCUIT)
FADES, GROWN_OVER, LAST = 100, 240, 280
DAWN = [f"water_3_2_{column}" for column in (3, 5, 7, 9, 11, 13)]
DUSK = [f"water_4_11_{column}" for column in (2, 4, 6, 8, 10, 12)]


def test_it_stands_in_a_box_of_14_by_12_by_7_and_nothing_comes_by_hand() -> None:
    drawing = CIRCUIT.drawing
    assert drawing is not None
    assert drawing.size == (7, 12, 14)
    assert all(thing.when is None for thing in drawing.things.values())


def test_water_leaves_the_turf_5_gt_after_the_heads_start_and_is_back_10_gt_after_they_start_home() -> None:
    """Heads take it away where it falls (Z7), so that it dries at its next look; it falls 5 gt later, then spreads."""
    (simulator,) = Simulator(PROGRAM, 0, the_start(PROGRAM).levels).tell_everyone()
    actions = {FADES: ("dusk_turf.3", "off"), GROWN_OVER: ("dawn_turf.3", "on")}
    wet: dict[str, list[int]] = {name: [] for name in (*DAWN, *DUSK)}
    heads: dict[str, list[int]] = {"paddle.1": [], "sluice.3": []}
    for gt in range(1, LAST):
        before = simulator.snapshot().levels
        simulator.now = gt
        made = [Action(PROGRAM.number[actions[gt][0]], actions[gt][1])] if gt in actions else []
        (simulator,) = run_game_tick([simulator], made)
        for name, changes in (*wet.items(), *heads.items()):
            if simulator.levels[PROGRAM.number[name]] != before[PROGRAM.number[name]]:
                changes.append(gt)
    for head, row in (("paddle.1", DAWN), ("sluice.3", DUSK)):
        out, home = heads[head]  # where they land, 2 gt after their start
        assert all(wet[name] == [out - 2 + 5, home - 2 + 10] for name in row)


@pytest.mark.parametrize("row", ["dusk_turf", "dawn_turf"])
def test_all_cells_of_a_row_see_the_same_light_by_day_and_by_night(row: str) -> None:
    draws = Draws(PROGRAM, Units(PROGRAM, ()))
    levels = list(the_start(PROGRAM).levels)
    for wet in (7, 0):
        for name in (*DAWN, *DUSK):
            levels[PROGRAM.number[name]] = wet
        for sky in range(4, 16):
            effects = draws.effects(sky, levels)
            assert len({effects[cell.place] for cell in draws.cells.values() if cell.row == row}) == 1


def test_a_tank_whose_looks_change_nothing_tells_no_cell_from_another() -> None:
    quick = replace(CIRCUIT, cycle=Cycle(100, 100, 200, 100))
    moving_chain._KEPT.clear()
    assert respond(quick, "dusk", Atom("dark", Test.RISES)).exact
    (kept,) = moving_chain._KEPT
    assert kept.exchange is not None
    assert [len(units) for units in kept.exchange.groups] == [6, 6]
