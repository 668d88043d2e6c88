"""The SAT solver beside the explorer: the same verdict and the same shortest length, over the same tables.

Source of the method: Sheeran, Singh, Stålmarck, "Checking safety properties using induction and a SAT-solver", FMCAD
2000. The solver itself is the published library python-sat.
"""

from __future__ import annotations

import pytest

from circuitcheck.checks.outcome import Verdict
from circuitcheck.engine.program import Program
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Study
from circuitcheck.prove import solver
from circuitcheck.prove.compose import PieceTooLarge
from circuitcheck.prove.cut import cut
from circuitcheck.prove.explore import Exploration
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.meter import Limits, Meter, OverBudget
from circuitcheck.prove.prover import Prover
from circuitcheck.prove.space import Setting

from .plain import quiet
from .random_circuits import SMALL, sluice

GATE = (
    "lever pond\nlever race\ndetector rise watches pond\ndetector fall watches race\n"
    "repeater opening from rise delay {wait}\nrepeater closing from fall delay {wait}\n"
    "latch gate set opening reset closing starts reset\n"
)
CLAIMS = {
    'never "both lit" gate and gate.inverse': "2t",
    'always "long enough" every pulse of opening lasts at least 2t': "2t",
    'always "too short" every pulse of opening lasts at least 2t': "1t",
    'always "answered" when rise rises then gate within 4t': "2t",
    'never "open" gate set': "2t",
    'always "never opens" gate off': "1t",
}


def study(wait: str, claim: str) -> Study:
    (only,) = load_text(GATE.format(wait=wait) + claim + "\n").studies
    return only


def exploration(asked: Study) -> Exploration:
    program = Program(quiet(asked.circuit))
    return Exploration(Setting(program, (), cut, Meter(1_000_000)), asked.claims[0].body)


@pytest.mark.parametrize(("claim", "wait"), list(CLAIMS.items()))
def test_the_solver_finds_what_the_explorer_finds_and_no_sooner_way(claim: str, wait: str) -> None:
    asked = study(wait, claim)
    explored = exploration(asked).run()
    fresh = exploration(asked)
    solved = solver.solve(fresh.space, fresh.watch, fresh.questions, Meter(1_000_000))
    if explored.counterexample is None:
        assert solved.counterexample is None
    else:
        assert solved.counterexample is not None
        assert solved.depth == len(solved.counterexample) - 1 == len(explored.counterexample) - 1


# Common practice, no source, L1: each torch holds the other dark, so that they are never both lit.
def test_induction_proves_what_holds_for_ever() -> None:
    fresh = exploration(study("2t", 'never "both lit" gate and gate.inverse'))
    assert solver.solve(fresh.space, fresh.watch, fresh.questions, Meter(1_000_000)).proved


def test_what_exploring_cannot_finish_is_handed_to_the_solver() -> None:
    asked = study("2t", 'never "both lit" gate and gate.inverse')
    outcome = Prover(asked, Limits(3_000)).prove(asked.claims[0])
    assert outcome.verdict is Verdict.PROVED
    assert outcome.proof is not None
    assert outcome.proof.solver == solver.NAME


NEAR = 8
"""Up to how many gt the two are compared on random circuits."""


def test_of_random_circuits_the_solver_finds_the_same_ways_of_the_same_length(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(solver, "DEEPEST", NEAR)
    monkeypatch.setattr(solver, "MOST_MOVES", 300)  # larger ones are left out: they take long
    broken = unbroken = 0
    for seed in range(90):
        study = sluice(seed, SMALL).study()
        if study.assumptions:
            continue  # how often inputs may change is not part of the formula
        program = Program(quiet(study.circuit))
        setting = Setting(program, (), cut, Meter(4_000))
        try:
            explored = Exploration(setting, study.claims[0].body).run()
            fresh = Exploration(setting._replace(meter=Meter(4_000)), study.claims[0].body)
            solved = solver.solve(fresh.space, fresh.watch, fresh.questions, Meter(1_000_000))
        except (TooMuch, PieceTooLarge, OverBudget):
            continue
        if not explored.complete and explored.counterexample is None:
            continue
        near = explored.counterexample is not None and len(explored.counterexample) <= NEAR
        assert (solved.counterexample is not None) is near, seed
        if explored.counterexample is not None and solved.counterexample is not None:
            assert len(solved.counterexample) == len(explored.counterexample), seed
        broken, unbroken = broken + near, unbroken + (not near)
    assert broken >= 3
    assert unbroken >= 1
