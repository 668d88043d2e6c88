"""What random runs of a certificate's system come to, and what is guessed of it."""

from __future__ import annotations

import itertools

import pytest

from circuitcheck.certificate.cases import Case, case_of
from circuitcheck.certificate.claim_rules import named
from circuitcheck.certificate.three_questions import QUESTIONS, question
from circuitcheck.certificate.transition import Wired
from circuitcheck.model.claims import Study
from circuitcheck.prove.certifying import certify, literal_of
from circuitcheck.prove.guesses import guessed, sampled
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.symbolic.sat import Sat

from .random_circuits import study_of

PLENTY = 10**7
ROWS = (
    "lever pond\nlever race\ndetector rise watches pond\ndetector fall watches race\n"
    "repeater opening from rise delay 2t\nrepeater closing from fall delay 2t\n"
    "latch gate set opening reset closing starts reset\nassume at most 1 changes within 8t\n"
)
BOTH = 'never "both asked" opening and closing\n'


def whole(study: Study) -> Case:
    """The system of all that feeds a study's first claim."""
    wired = Wired(study.circuit)
    return case_of(study, study.claims[0], wired.upstream(named(wired, study.claims[0].body)), wired)


TWO_TORCHES = "lever one\nlever other\nlatch gate set one reset other starts reset\n"
LATCH = whole(study_of(f'{TWO_TORCHES}never "it" gate and gate.inverse\n'))


def states(case: Case) -> set[tuple[int, ...]]:
    """The states that random runs come to: the bits of the latches."""
    found = sampled(case.model, Meter(PLENTY))
    rows = [found.rows[latch.literal >> 1] for latch in case.model.latches]
    return {tuple(row >> place & 1 for row in rows) for place in range(found.states)}


def test_runs_come_to_every_state_of_a_small_system_and_to_no_other() -> None:
    model = LATCH.model
    start = tuple(int(bool(latch.reset)) for latch in model.latches)
    known, queue = {start}, [start]
    for state in queue:
        for inputs in itertools.product((0, 1), repeat=len(model.inputs)):
            values = model.values(state, inputs)
            if all(values[each >> 1] ^ each & 1 for each in model.constraints):
                then = tuple(values[latch.then >> 1] ^ latch.then & 1 for latch in model.latches)
                if then not in known:
                    known.add(then)
                    queue.append(then)
    assert states(LATCH) == known


def test_a_guess_holds_in_every_state_that_was_come_to() -> None:
    found = sampled(LATCH.model, Meter(PLENTY))
    clauses = list(guessed(LATCH.model, found, Meter(PLENTY)))
    place = {latch.literal >> 1: number for number, latch in enumerate(LATCH.model.latches)}
    assert {1, 2, 3} >= set(map(len, clauses))
    for state, clause in itertools.product(states(LATCH), clauses):
        assert any(state[place[abs(literal)]] == int(literal > 0) for literal in clause)


def test_the_same_is_guessed_each_time() -> None:
    first, second = (sampled(LATCH.model, Meter(PLENTY)) for _ in range(2))
    assert first == second


def test_runs_and_guesses_keep_to_their_budget() -> None:
    with pytest.raises(OverBudget):
        sampled(LATCH.model, Meter(50))


# A claim that no single part decides, under a pace: proved by walking; no invariant is found for it clause by clause
# within a short search. Its three questions are asked again here, with another solver than the one that made the proof.
def test_what_a_pace_keeps_apart_is_certified() -> None:
    study = study_of(ROWS + BOTH)
    made = certify(study, study.claims[0], Meter(PLENTY))
    assert len(made.invariant) > 20
    for which in QUESTIONS:
        clauses = question(made.case.model, made.invariant, which)
        assert not Sat(clauses, Meter(PLENTY)).ask([])
        assert made.proofs[which]
    assert literal_of(made.case.model.bad) > 0
