"""Blocks, not heads, that cut flowing water: four planks in four channels, each felt at the foot of its fall.

Common practice, no source: rules M2, M3, M6, Z2, Z6 to Z8, in gt from when the lever is thrown, calculated by hand
as in the paddles' circuit. `plankwatch.circuit` has the drawing, with its checks and claims.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from circuitcheck.checks.judge import outcomes_of_runs
from circuitcheck.checks.outcome import FAILING, Verdict
from circuitcheck.diagnostics import Diagnostic
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.language.load import load_file
from circuitcheck.prove.meter import Limits
from circuitcheck.prove.prover import Prover
from circuitcheck.space import daylight
from circuitcheck.space.circuit import under

STUDY = load_file(Path(__file__).with_name("plankwatch.circuit")).studies[0]


def test_its_checks_hold_and_no_claim_is_broken_in_their_runs() -> None:
    verdicts = [outcome.verdict for outcome in outcomes_of_runs(STUDY)]
    assert verdicts[:4] == [Verdict.HOLDS] * 4
    assert not set(verdicts[4:]) & FAILING


def test_four_planks_that_take_the_water_of_four_channels_are_followed_in_one_order() -> None:
    """No place of water is updated by two of them (Z8), so nothing shows which started first (C5)."""
    program = Program(STUDY.circuit)
    gear, most = program.number["gear"], 0
    simulators = Simulator(program, 0, the_start(program).levels).tell_everyone()
    actions = {10: [Action(gear, "on")], 80: [Action(gear, "off")]}
    for gt in range(1, 120):
        for simulator in simulators:
            simulator.now = gt
        simulators = merge(run_game_tick(simulators, actions.get(gt, [])))
        most = max(most, len(simulators))
    assert most == 1


def test_every_throw_is_felt_at_the_foot_for_ever() -> None:
    """M2 and Z2: 15 gt after the start where the water goes, 20 where it comes, and 1 or 2 for hand and detector."""
    prover = Prover(STUDY, Limits())
    (claim,) = (claim for claim in STUDY.claims if claim.title == "each throw is felt at the foot")
    assert prover.prove(claim).verdict is Verdict.PROVED


def test_its_light_is_looked_at_again_only_under_settings_that_have_a_say_in_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    circuit, asked, usual = STUDY.circuit, list[object](), daylight._worked_out

    def worked_out(*each: object) -> object:
        asked.append(each)
        return usual(*each)  # type: ignore[arg-type]

    monkeypatch.setattr(daylight, "_worked_out", worked_out)
    under(circuit, circuit.rules)
    asked.clear()
    again = under(circuit, replace(circuit.rules, piston_lands="wait"))
    assert not isinstance(again, Diagnostic)
    assert again.places == circuit.places
    assert not asked
    under(circuit, replace(circuit.rules, water_takes=3))
    assert asked
