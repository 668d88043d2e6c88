"""What an open claim says of how far its search came, and whether that is so.

The longest depths are held against the explorer: what it breaks in n gt is not unbroken within n.
"""

from __future__ import annotations

import pytest

from circuitcheck.checks.outcome import Verdict
from circuitcheck.engine.program import Program
from circuitcheck.prove.burnt_torches import TOO_LARGE, quiet
from circuitcheck.prove.cut import cut
from circuitcheck.prove.explore import Exploration
from circuitcheck.prove.meter import Limits, Meter, OverBudget
from circuitcheck.prove.prover import Prover
from circuitcheck.prove.space import Setting
from circuitcheck.prove.symbolic.decide import decide

from .random_circuits import SMALL, sluice, study_of

BUDGET = 10_000
SHORT = (300, 2_000)

# R1 to R4: nothing comes to the end of 12 repeaters of 8 gt before 96 gt.
LINE = "".join(f"repeater link{at} from {f'link{at - 1}' if at else 'rope'} delay 4t\n" for at in range(12))
LONG_LINE = f'lever rope\nlever ebb\n{LINE}never "far" link11 and rope off and ebb rises\n'
STATES = 14_000


def test_no_run_breaks_a_claim_within_as_many_gt_as_are_said() -> None:
    far = 0
    for seed in range(10):
        study = sluice(seed, SMALL).study()
        body, program = study.claims[0].body, Program(quiet(study.circuit))
        try:
            exact = Exploration(Setting(program, study.assumptions, cut, Meter(BUDGET)), body).run()
        except (*TOO_LARGE, OverBudget):
            continue
        for states in SHORT:
            try:
                each = decide(program, body, study.assumptions, Meter(states))
            except (*TOO_LARGE, OverBudget):
                continue
            assert 0 <= each.kept <= each.sought
            if each.limit and exact.counterexample is not None:
                far += each.depth > 0
                assert each.depth < len(exact.counterexample), seed
    assert far > 0


def test_an_open_claim_says_within_how_many_gt_nothing_breaks_it_and_what_ran_out() -> None:
    study = study_of(LONG_LINE)
    outcome = Prover(study, Limits(STATES), solving=False).prove(study.claims[0])
    assert outcome.verdict is Verdict.UNDECIDED
    proof = outcome.proof
    assert proof is not None
    assert 0 < proof.unbroken_to < 96
    assert f"{STATES:,}" in proof.limit
    assert any("--states" in hint for hint in proof.hints)
    assert f"{proof.unbroken_to // 2}t" in outcome.detail or f"{proof.unbroken_to}gt" in outcome.detail


@pytest.mark.parametrize("states", [100, 5_000])
def test_with_no_formula_nothing_is_said_of_it(states: int) -> None:
    study = study_of(LONG_LINE)
    outcome = Prover(study, Limits(states), solving=False).prove(study.claims[0])
    assert outcome.verdict is Verdict.UNDECIDED
    assert outcome.proof is not None
    assert (outcome.proof.unbroken_to, outcome.proof.clauses_sought) == (0, 0)
