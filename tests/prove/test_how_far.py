"""What an open claim says of how far its search came, and whether that is so.

The longest depths are held against the explorer: what it breaks in n gt is not unbroken within n.
"""

from __future__ import annotations

import random

import pytest

from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts
from circuitcheck.model.claims import RateLimit
from circuitcheck.prove import endless
from circuitcheck.prove.burnt_torches import TOO_LARGE, quiet
from circuitcheck.prove.cut import cut
from circuitcheck.prove.explore import Exploration
from circuitcheck.prove.forever import ForEverSearch
from circuitcheck.prove.meter import Limits, Meter, OverBudget
from circuitcheck.prove.prover import Prover
from circuitcheck.prove.space import Setting
from circuitcheck.prove.symbolic import unending
from circuitcheck.prove.symbolic.decide import decide
from circuitcheck.report.exchange.data import proof_data

from .random_circuits import FEW_STATES, SMALL, Size, sluice, study_of
from .test_for_ever import asked

BUDGET = 10_000
SHORT = (300, 2_000)

# R1 to R4: nothing comes to the end of 12 repeaters of 8 gt before 96 gt.
LINE = "".join(f"repeater link{at} from {f'link{at - 1}' if at else 'rope'} delay 4t\n" for at in range(12))
LONG_LINE = f'lever rope\nlever ebb\n{LINE}never "far" link11 and rope off and ebb rises\n'
STATES = 14_000
SHORT_LINE = "\n".join(LINE.splitlines()[:2]) + "\n"


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


# Claims about runs without end

COMES = 'always "comes" when rope and ebb then eventually link1 if ebb again and again\n'
FEW = 2_000


def open_for_ever(claim: str, monkeypatch: pytest.MonkeyPatch) -> Outcome:
    """The outcome of a claim that neither a walk nor the formula decides within a small budget."""
    monkeypatch.setattr(endless, "SHORT_WALK", 100)
    study = study_of(f"lever rope\nlever ebb\n{SHORT_LINE}{claim}")
    return Prover(study, Limits(FEW), solving=False).prove(study.claims[0])


def test_an_open_claim_for_ever_says_how_far_its_search_came_and_what_ran_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    outcome = open_for_ever(COMES, monkeypatch)
    assert outcome.verdict is Verdict.UNDECIDED
    proof = outcome.proof
    assert proof is not None
    assert proof.states > 0
    assert proof.no_round_to > 0
    assert proof.rounds_sought > 0
    budgets = [f"{FEW:,}" in proof.limit, f"{2 * FEW:,}" in proof.limit]
    assert all(budgets), "the walk's budget and the formula's"
    assert f"--states {4 * FEW}" in " ".join(proof.hints)
    assert f"{proof.states:,}" in outcome.detail
    assert "nothing broke it" not in outcome.detail, "a run that is not over breaks no claim of this kind"
    data = proof_data([outcome], [], None)["claims"][0]["proof"]
    assert (data["no_round_to"], data["rounds_sought"]) == (proof.no_round_to, proof.rounds_sought)


def test_no_round_that_breaks_a_claim_is_as_short_as_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(unending, "LONGEST", 5)
    monkeypatch.setattr(unending, "MOST_ROUNDS", (1,))
    compared = 0
    for seed in (6, 8, 11):  # each breaks its claim, by no round of 5 gt
        chance = random.Random(seed)
        drawn = sluice(seed, Size(1, 1, FEW_STATES))
        study = drawn.study()
        assumptions = (RateLimit(1, chance.choice((4, 20)), "pace"),)
        body = asked(drawn, chance)
        program = Program(quiet(study.circuit))
        try:
            exact = ForEverSearch(Setting(program, assumptions, cut, Meter(1_000)), body).run()
            found = unending.decide_unending(program, body, assumptions, Meter(4_000))
        except (*TOO_LARGE, TooManyStarts, OverBudget):
            continue
        if exact.lasso is not None and found.lasso is None:
            compared += found.no_round_to > 0
            assert found.no_round_to < len(exact.lasso.way) + len(exact.lasso.round), seed
    assert compared > 0


def test_a_round_among_what_was_explored_breaks_a_claim_though_the_budget_ran_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(endless, "decide_unending", None)  # the formula has no part in it
    outcome = open_for_ever('always "up" link0 again and again\n', monkeypatch)
    assert outcome.verdict is Verdict.FAILS
    assert outcome.proof is not None
    assert outcome.proof.round is not None
    assert not outcome.proof.complete
