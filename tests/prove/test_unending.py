"""Claims about runs without end that the formula decides: random ones against a plain search, and real circuits.

`CIRCUITCHECK_RANDOM=1000 python -m pytest tests/prove/test_unending.py -s` compares so many circuits.
"""

from __future__ import annotations

import os
import random

import pytest

from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts
from circuitcheck.model.claims import ForEver, RateLimit, Study
from circuitcheck.prove import endless
from circuitcheck.prove.burnt_torches import TOO_LARGE
from circuitcheck.prove.forever import Endless, ForEverSearch, Lasso
from circuitcheck.prove.lasso import gone_round
from circuitcheck.prove.meter import Limits, Meter, OverBudget
from circuitcheck.prove.prover import Prover
from circuitcheck.prove.symbolic.rest import rests_within_pace
from circuitcheck.prove.symbolic.system import System
from circuitcheck.prove.symbolic.unending import decide_unending
from circuitcheck.prove.symbolic.watched import alone_and_in_one_gt

from .plain import quiet
from .random_circuits import FEW_STATES, Size, sluice, study_of
from .test_for_ever import Plain, asked

CIRCUITS = int(os.environ.get("CIRCUITCHECK_RANDOM", "0")) or 12
BUDGET = 8_000


def test_what_the_formula_proves_no_run_breaks_and_its_lassos_are_runs() -> None:
    proved = broken = 0
    for seed in range(CIRCUITS):
        chance = random.Random(seed)
        drawn = sluice(seed, Size(2, 2, FEW_STATES))
        study = drawn.study()
        circuit, assumptions = quiet(study.circuit), (RateLimit(1, chance.choice((4, 20)), "pace"),)
        body = asked(drawn, chance)
        program = Program(circuit)
        try:
            found = decide_unending(program, body, assumptions, Meter(BUDGET))
            breaks = Plain(program, body, assumptions).broken()
        except (*TOO_LARGE, TooManyStarts, OverBudget):
            continue
        if breaks is None:
            continue
        if found.proved:
            assert not breaks, (seed, drawn.text, body)
            proved += 1
        elif found.lasso is not None and gone_round(program, body, found.lasso) is not None:
            assert breaks, (seed, drawn.text, body)
            broken += 1
    print(f"\n{proved} proved, {broken} broken")
    assert min(proved, broken) > 0


def arbiter(count: int, *claims: str) -> str:
    """Requests that are granted one at a time: each grant locks the others."""
    lines = [f"lever ask.1 to ask.{count}", "assume at most 1 changes within 12t"]
    for each in range(1, count + 1):
        others = ", ".join(f"lock{other}" for other in range(1, count + 1) if other != each)
        lines.append(f"repeater grant{each} from ask.{each} delay {min(each, 4)}t locked by {others} starts off")
        lines.append(f"repeater lock{each} from grant{each} delay 1t starts off")
    return "\n".join([*lines, *claims]) + "\n"


FAIR = 'always "fair" when ask.1 rises then eventually (grant1 or ask.1 off) if lock2 off again and again'
UNFAIR = 'always "unfair" when ask.1 rises then eventually (grant1 or ask.1 off)'
RESTS = 'always "rests" comes to rest'
VACUOUS = 'always "vacuous" lock1 again and again if (grant1 and grant1 off) again and again'


def by_formula(text: str, monkeypatch: pytest.MonkeyPatch) -> list[Outcome]:
    """What the prover makes of the claims of a text where a walk ends at once."""
    monkeypatch.setattr(endless, "SHORT_WALK", 20)
    study = study_of(text)
    prover = Prover(study, Limits(), solving=False)
    return [prover.prove(claim) for claim in study.claims]


def test_an_arbiter_is_fair_if_the_others_let_go_again_and_again(monkeypatch: pytest.MonkeyPatch) -> None:
    fair, unfair, vacuous, rest = by_formula(arbiter(2, FAIR, UNFAIR, VACUOUS, RESTS), monkeypatch)
    assert fair.verdict is Verdict.PROVED
    assert fair.proof is not None
    assert fair.proof.solver
    assert fair.proof.rounds > 0
    assert fair.proof.clauses > 0
    assert unfair.verdict is Verdict.FAILS
    assert unfair.proof is not None
    assert unfair.proof.round is not None, "it is shown as a way in and a round"
    assert vacuous.verdict is Verdict.VACUOUS
    assert vacuous.detail
    assert rest.verdict is Verdict.PROVED


def test_the_formula_decides_where_a_walk_that_ran_out_came_upon_a_round_that_the_engine_does_not_go(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = Endless(20, 3, Lasso([[]], [[]]), True, True, "its budget ran out")
    monkeypatch.setattr(ForEverSearch, "run", lambda search: found)
    (rest,) = by_formula(arbiter(2, RESTS), monkeypatch)
    assert rest.verdict is Verdict.PROVED
    assert rest.proof is not None
    assert rest.proof.solver


def test_where_a_circuit_rests_again_and_again_rounds_are_counted_from_rest_to_rest() -> None:
    # Counted gt by gt, 16 rounds were needed, and 242,000 states to prove them.
    text = (
        "lever ask.1 to ask.2\nassume at most 1 changes within 12t\njunction held joins grant.1, grant.2\n"
        "repeater busy from held delay 1t\ntorch quiet.* from ask.*\n"
        "repeater heard.* from ask.* locked by busy delay 1t starts off\ntorch unheard.* from heard.*\n"
        "torch wins.1 from unheard.1\ntorch wins.2 from unheard.2, heard.1\ntorch loses.* from wins.*\n"
        "torch grant.* from loses.*, quiet.*\n"
        'always "fair" when ask.1 then eventually (grant.1 or ask.1 off) if ask.2 off again and again\n'
    )
    study = study_of(text)
    body = study.claims[0].body
    assert isinstance(body, ForEver)
    found = decide_unending(Program(quiet(study.circuit)), body, study.assumptions, Meter(60_000))
    assert (found.proved, found.rounds) == (True, 1)


def rests(text: str) -> bool:
    """Whether a circuit always comes to rest within the pace that its file assumes, as far as is shown."""
    study: Study = study_of(text)
    program = Program(quiet(study.circuit))
    system = System(program, range(len(program.devices)), Meter(10**9))
    alone_and_in_one_gt(system, study.assumptions)
    return rests_within_pace(system, study.assumptions, Meter(10**9))


def test_inputs_wait_for_rest_only_where_the_circuit_rests_within_their_pace() -> None:
    line = "lever rope\nrepeater one from rope delay 4t\nrepeater two from one delay 4t\nassume at most {}\n"
    assert rests(line.format("1 changes within 17gt"))
    assert not rests(line.format("1 changes within 16gt")), "the second repeater acts in the gt of the next change"
    assert not rests(line.format("2 changes within 60gt")), "two may come at once, and one soon after the other"
    assert not rests("torch wheel from drag starts on\nrepeater drag from wheel starts off\nlever rope\n"
                     "assume at most 1 changes within 60gt\n")  # fmt: skip
