"""An answer always comes: assumptions are applied while inputs are enumerated, and one budget bounds all work."""

from __future__ import annotations

import pytest

from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.engine.program import Program
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Study
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.meter import CLAIMS_A_FILE, Limits, Meter, OverBudget
from circuitcheck.prove.prover import Prover
from circuitcheck.prove.world import World
from circuitcheck.verify import Exit, verify_text

PACE = "assume at most 1 changes within 10t\n"
ANY = (
    "lever d.1 to d.{n}\ntorch none from d.*\nlamp calm from none\n{pace}"
    'always "one is enough"  when d.1 rises then calm off within 6t unless d.1 off\n'
)
# Source: the magnitude comparator, equal bits first: M. Morris Mano, Digital Design, chapter 4; from memory.
GREATER = (
    "lever a.1 to a.3\nlever b.1 to b.3\ntorch na.* from a.*\ntorch nb.* from b.*\ntorch gt.* from na.*, b.*\n"
    "torch lt.* from a.*, nb.*\ntorch same.* from gt.*, lt.*\ntorch d3 from same.3\ntorch d2 from same.2\n"
    "torch d1 from same.1\ntorch ngt2 from gt.2\ntorch ngt1 from gt.1\ntorch hi2 from ngt2, d3\n"
    "torch hi1 from ngt1, d3, d2\njunction more_line joins gt.3, hi2, hi1\ntorch eq from d3, d2, d1\n"
    "lamp more from more_line\nlamp equal from eq\nassume at most 1 changes within 20t\n"
    'always "top bit" when a.3 and b.3 off then more within 5t unless a.3 off or b.3\n'
)
ROWS = (
    "lever a.1 to a.{n}\nlever b.1 to b.{n}\ndetector rise.* watches a.*\ndetector fall.* watches b.*\n"
    "junction up joins rise.*\njunction down joins fall.*\nrepeater opening from up delay 2t\n"
    "repeater closing from down delay 2t\nlatch gate set opening reset closing starts reset\nlamp open from gate\n"
    "{pace}"
    'always "one"  when a.1 changes and gate reset then open on within 6t\n'
    'never "both" gate and gate.inverse\n'
)
LINE = (
    "lever d\nrepeater r.1 from d delay 4t\n"
    + "".join(f"repeater r.{place} from r.{place - 1} delay 4t\n" for place in range(2, 9))
    + 'always "pulses"  every pulse of r.8 lasts at least 4t\n'
)


def study_of(text: str) -> Study:
    (only,) = load_text(text).studies
    return only


def proved(text: str, states: int, number: int = 0) -> tuple[Outcome, int]:
    """The outcome of a claim, and how much was looked at for it."""
    study = study_of(text)
    budget = Limits(states).meter()
    outcome = Prover(study, Limits(states), solving=False, budget=budget).prove(study.claims[number])
    return outcome, budget.steps


# What is assumed is applied while inputs are enumerated


@pytest.mark.parametrize(("most", "choices"), [(0, 1), (1, 14), (2, 14 + 78)])
def test_of_thirteen_levers_only_the_choices_that_the_pace_allows_are_looked_at(most: int, choices: int) -> None:
    study = study_of(ANY.format(n=13, pace=f"assume at most {most} changes within 10t\n"))
    program = Program(study.circuit)
    world = World(program, study.assumptions)
    zeros = bytes(len(program.devices))
    assert len(list(world.choices(world.start(), zeros, zeros))) == choices


def test_thirteen_levers_with_a_free_hand_are_refused_and_with_exactly_one_act_are_not() -> None:
    study = study_of(ANY.format(n=13, pace=""))
    program = Program(study.circuit)
    world = World(program, study.assumptions)
    zeros = bytes(len(program.devices))
    with pytest.raises(TooMuch):
        list(world.choices(world.start(), zeros, zeros))
    assert len(list(world.choices(world.start(), zeros, zeros, acts=1))) == 13


# Ten levers can stand in 1,024 ways, and in each the pace has some twenty ages.
def test_one_lever_of_ten_is_enough_is_proved_within_the_usual_budget() -> None:
    outcome, _ = proved(ANY.format(n=10, pace=PACE), Limits().states)
    assert outcome.verdict is Verdict.PROVED


def test_a_comparator_of_three_bits_is_proved_within_the_usual_budget() -> None:
    outcome, spent = proved(GREATER, Limits().states)
    assert outcome.verdict is Verdict.PROVED
    assert spent < Limits().states // 4


@pytest.mark.parametrize("n", [7, 12])
def test_detectors_under_a_pace_take_little_more_the_more_there_are(n: int) -> None:
    outcome, spent = proved(ROWS.format(n=n, pace="assume at most 1 changes within 8t\n"), Limits().states)
    assert outcome.verdict is Verdict.PROVED
    assert outcome.proof is not None
    assert outcome.proof.states == 71
    assert spent < 10_000


# Beyond 600 states a row of twins used not to be made smaller: 13 detectors a side took 30 times what 12 take.
def test_thirteen_detectors_a_side_with_a_free_hand_are_made_as_small_as_twelve() -> None:
    outcome, _ = proved(ROWS.format(n=13, pace=""), Limits().states, number=1)
    assert outcome.verdict is Verdict.PROVED


# One budget bounds all work


@pytest.mark.parametrize("states", [50, 2_000, 20_000])
@pytest.mark.parametrize(
    "text",
    [
        ANY.format(n=12, pace=""),
        ANY.format(n=13, pace=""),
        ROWS.format(n=14, pace=""),
        ROWS.format(n=40, pace=""),
        LINE,
        GREATER.replace("20t", "9t"),
        "analogue rope.1 to rope.3\ntorch winch from rope.1\nalways \"x\" every pulse of winch lasts at least 9t\n",
    ],
    ids=["any of 12", "any of 13", "14 a side", "40 a side", "line", "comparator", "analogue"],
)  # fmt: skip
def test_no_more_is_looked_at_than_the_budget_allows(text: str, states: int) -> None:
    outcome, spent = proved(text, states)
    last = 300  # what the last thing looked at costs
    assert spent <= 3 * states + last  # as much again for the formula, and to see which torches can burn out
    assert outcome.verdict in (Verdict.UNDECIDED, Verdict.PROVED, Verdict.FAILS)


def test_a_file_has_one_budget_however_many_claims_it_has() -> None:
    claims = "".join(f'always "{number}"  every pulse of r.8 lasts at least 4t\n' for number in range(20))
    study = study_of(LINE + claims)
    limits = Limits(500)
    prover = Prover(study, limits, solving=False, budget=(budget := limits.meter()))
    outcomes = [prover.prove(claim) for claim in study.claims]
    assert all(each.verdict is Verdict.UNDECIDED for each in outcomes)
    assert 500 * CLAIMS_A_FILE < budget.steps <= 500 * CLAIMS_A_FILE + 20
    limits_said = [each.proof.limit for each in outcomes if each.proof is not None]
    assert "500" in limits_said[0]
    assert "4,000" in limits_said[-1]


def test_a_budget_within_another_spends_for_both_and_ends_with_the_first_that_ends() -> None:
    file = Meter(10, of="for the file")
    claim = file.part(8, "for one claim")
    claim.count(3, 16)
    assert (claim.steps, file.steps, claim.left) == (4, 4, 4)
    file.count(4)
    assert claim.left == 2
    with pytest.raises(OverBudget, match="10"):
        claim.count(3)


def test_moves_add_up_to_states() -> None:
    meter = Meter(100)
    for _ in range(32):
        meter.count(0, 1)
    assert meter.steps == 2


# What an open verdict says


def test_what_is_not_decided_is_open_and_says_how_far_what_ran_out_and_what_would_help() -> None:
    report = verify_text(LINE + 'check "still"\n  at 5t d on\n  at 20t d off\n  until 99t\nend\n', states=400)
    outcome = report.outcomes[-1]
    assert report.exit is Exit.UNDECIDED
    assert outcome.verdict is Verdict.UNDECIDED
    assert outcome.runs == 1
    proof = outcome.proof
    assert proof is not None
    assert proof.states > 0
    assert f"{proof.states:,}" in outcome.detail
    assert "400" in proof.limit
    assert [hint.split()[1] for hint in proof.hints[:3]] == ["pace", "claim", "states:"]
    assert "--states 1600" in proof.hints[2]


def test_where_a_pace_is_assumed_none_is_asked_for() -> None:
    outcome, _ = proved(GREATER, 400)
    assert outcome.proof is not None
    assert not any("pace" in hint for hint in outcome.proof.hints)
    assert any("--states" in hint for hint in outcome.proof.hints)
