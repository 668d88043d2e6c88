"""A whole machine that moves, drawn on another plan than the demo: rows side by side, armed again by their own blocks.

Common practice, no source: rules M2, M5, M6, M9, M12, W9, W10, X1 to X3, Z2 to Z7. `weirwatch.py` has the drawing.

`CIRCUITCHECK_WEIR=7 python -m pytest tests/moving/test_weirwatch.py` takes seven cells a side for claims and chance
too, and one more claim; it takes some minutes.
"""

from __future__ import annotations

import os
from dataclasses import replace

import pytest

from circuitcheck.chance.days.calendar import Calendar
from circuitcheck.chance.days.together import Plan, live_through
from circuitcheck.chance.days.walk import Watching
from circuitcheck.chance.first_edge import sampled
from circuitcheck.chance.first_edge.response import respond
from circuitcheck.chance.machine.chain import MOST_WALKED
from circuitcheck.chance.machine.moving_chain import chain_of
from circuitcheck.checks.outcome import Verdict
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action, run_game_tick
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Atom, Test
from circuitcheck.prove.meter import Limits
from circuitcheck.prove.prover import Prover

from .weirwatch import weirwatch

CELLS = int(os.environ.get("CIRCUITCHECK_WEIR", "3"))
"""How many cells a side claims and chance are asked about; a run has seven, always."""
FADES, GROWN_OVER, LAST = 100, 240, 320
"""The gt in which a cell of the dusk row fades, in which one of the dawn row is grown over, and the last one."""
DARK = Atom("gate", Test.RISES)
BRIGHT = Atom("gate", Test.FALLS)
DAYS = 200
"""How many days are sampled for each cell that a side has more than two."""
CLAIMS = """
assume at most 1 changes within 2s

never  "the latch is never asked for both at once"  gate forbidden
always "the row is armed again in time"             every gap of dusk_arm lasts at most 10t
"""
ONE_MORE = """
always "the water is cut in time"                   when darkness rises then sluice.1 and weir.2 within 3t
"""


def test_a_row_of_seven_goes_out_and_home_together_and_no_order_of_its_strokes_matters() -> None:
    """All that ties, the calls in one start, seven landings beside one line, and four gates, is followed as one."""
    circuit = load_text(weirwatch(7, "")).studies[0].circuit
    program = Program(circuit)
    simulators = Simulator(program, 0, the_start(program).levels).tell_everyone()
    actions = {FADES: ("dusk_bed.3", "off"), GROWN_OVER: ("dawn_bed.6", "on")}
    shown: dict[str, list[tuple[int, bool]]] = {}
    for gt in range(1, LAST):
        for simulator in simulators:
            simulator.now = gt
        made = [Action(program.number[cell], verb) for cell, verb in [actions[gt]]] if gt in actions else []
        simulators = run_game_tick(simulators, made)
        assert len(simulators) == 1, gt
        for name in ("dusk_stir.1", "dusk_stir.7", "dusk_arm", "dawn_stir.4", "gate", "sluice.1", "weir.2"):
            on, seen = simulators[0].levels[program.number[name]] > 0, shown.setdefault(name, [])
            if not seen or seen[-1][1] is not on:
                seen.append((gt, on))
    # As in the last line of M12: it starts home 4 gt after its start, is home 2 gt later, armed again 4 gt after that.
    row = [(1, False), (FADES + 2, True), (FADES + 6, False)]
    assert shown["dusk_stir.1"] == shown["dusk_stir.7"] == row
    assert shown["dusk_arm"] == [(1, True), (FADES + 4, False), (FADES + 10, True)]
    assert shown["dawn_stir.4"] == [(1, False), (GROWN_OVER + 2, True), (GROWN_OVER + 6, False)]
    gate = shown["gate"]
    assert [on for _, on in gate] == [False, True, False]
    assert FADES < gate[1][0] < FADES + 20
    assert GROWN_OVER < gate[2][0] < GROWN_OVER + 20
    landed = [(gt + 2, on) for gt, on in gate[1:]]
    assert shown["sluice.1"] == shown["weir.2"] == [(1, False), *landed]


def test_its_claims_are_proved_whenever_cells_change() -> None:
    loaded = load_text(weirwatch(CELLS, CLAIMS if CELLS < 7 else CLAIMS + ONE_MORE))
    assert not loaded.diagnostics
    prover = Prover(loaded.studies[0], Limits(20_000))
    assert {prover.prove(claim).verdict for claim in loaded.studies[0].claims} == {Verdict.PROVED}


def test_its_response_is_followed_exactly_and_days_lived_through_agree() -> None:
    circuit = load_text(weirwatch(CELLS, "")).studies[0].circuit
    found = respond(circuit, "dusk", DARK)
    assert found.exact
    assert found.left_out + found.open < 0.02
    tally = live_through(Plan(circuit, Watching((DARK,), ("dusk",)), 10, 1)).tallies[0][0]
    wait = found.distribution.quantile(0.5)
    assert wait is not None
    within = found.distribution.within(wait)
    sampled = sum(each <= wait for each in tally.waits) / tally.asked
    assert sampled == pytest.approx(within, abs=4.0 * (within * (1.0 - within) / tally.asked) ** 0.5)


@pytest.mark.parametrize("at_once", [False] if CELLS < 7 else [False, True])
def test_its_response_at_dawn_is_followed_exactly_and_days_sampled_agree(
    at_once: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its cells are not alike at dawn, as their neighbours grow them over: every set of them that is grown counts."""
    circuit = load_text(weirwatch(CELLS, "")).studies[0].circuit
    if at_once:
        circuit = replace(circuit, cycle=circuit.cycle.at_once())
    found = respond(circuit, "dawn", BRIGHT)
    assert found.exact
    assert found.left_out + found.open < 0.02
    monkeypatch.setattr(sampled, "MOST_DAYS", DAYS * (CELLS - 2))
    calendar = Calendar(circuit.cycle, 1, "fair")
    window, wrong = next(calendar.windows("dawn")), next(calendar.wrong("dawn"))
    chain = chain_of(circuit, ("gate",), MOST_WALKED, whole=False, exchanges=False)
    sample = sampled.sampled(chain, calendar, "dawn", BRIGHT, window, wrong)
    assert not sample.already
    assert sample.days >= DAYS
    for share in (0.2, 0.5, 0.8):
        wait = found.distribution.quantile(share)
        assert wait is not None
        within = found.distribution.within(wait)
        days = sum(count for each, count in sample.waits.items() if each <= wait)
        off = 4.0 * (within * (1.0 - within) / sample.days) ** 0.5
        assert days / sample.days == pytest.approx(within, abs=off + found.left_out + found.open)
