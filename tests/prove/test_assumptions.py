"""What is assumed of the world: what it allows, what a proof depends on, and what is said where nothing is left.

An assumption `stable for N` lets an input change at gt g and next at g + N; `at most K changes within N` lets no more
than K changes of all inputs together fall into any N gt on end. Source of both: grammar/circuit.lark and the docstrings
of model/claims.py. Rules of the trade: common practice, no source, by their ids.
"""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from circuitcheck import FileReport, verify_text
from circuitcheck.checks.allowed import allowed
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.language.load import load_text
from circuitcheck.model.claims import Act, Check, Holding, RateLimit, Study
from circuitcheck.prove.leaning import with_leanings
from circuitcheck.prove.meter import Limits, Meter
from circuitcheck.prove.prover import Prover

ROPES = "lever rope\nlever ebb\ntorch dry from rope\nrepeater slow from rope delay 2t\n"


def proved(text: str, claim: str) -> Outcome:
    """The outcome of one claim, written without its title, under the assumptions in a text."""
    study = asking(text, claim)
    return Prover(study, Limits(50_000)).prove(study.claims[0])


def asking(text: str, *claims: str) -> Study:
    """A study of some claims, written without their titles, under the assumptions in a text."""
    titled = (claim.replace(" ", f' "{number}" ', 1) for number, claim in enumerate(claims))
    loaded = load_text("\n".join([text, *titled, ""]))
    assert loaded.diagnostics == ()
    (study,) = loaded.studies
    return study


def broken_at(text: str, claim: str) -> int | None:
    """The gt in which a claim breaks; None if it is proved."""
    outcome = proved(text, claim)
    assert outcome.verdict in (Verdict.PROVED, Verdict.FAILS), outcome.detail
    return None if outcome.failure is None else outcome.failure.at


# How long inputs keep still


@pytest.mark.parametrize("still", [1, 2, 5, 20])
def test_an_input_that_is_stable_for_n_changes_again_after_n_and_no_sooner(still: int) -> None:
    text = f"{ROPES}assume rope stable for {still}gt\n"
    claim = "always from rope changes to rope changes takes at least {}gt"
    assert broken_at(text, claim.format(still)) is None
    assert broken_at(text, claim.format(still + 1)) == still


def test_the_first_change_may_come_at_once() -> None:
    assert broken_at(f"{ROPES}assume rope stable for 20gt\n", "never rope") == 0


def test_an_input_of_which_nothing_is_assumed_is_held_to_nothing() -> None:
    text = f"{ROPES}assume rope stable for 20gt\n"
    assert broken_at(text, "always from ebb changes to ebb changes takes at least 2gt") == 1


def test_inputs_named_together_each_keep_still_by_themselves() -> None:
    text = f"{ROPES}assume rope, ebb stable for 5gt\n"
    assert broken_at(text, "never rope rises and ebb rises") == 0
    assert broken_at(text, "always from rope changes to ebb changes takes at least 2gt") == 0
    assert broken_at(text, "always from ebb changes to ebb changes takes at least 5gt") is None


def test_of_two_assumptions_about_an_input_the_longer_counts() -> None:
    text = f"{ROPES}assume rope stable for 7gt\nassume rope, ebb stable for 3gt\n"
    assert broken_at(text, "always from rope changes to rope changes takes at least 7gt") is None
    assert broken_at(text, "always from rope changes to rope changes takes at least 8gt") == 7
    assert broken_at(text, "always from ebb changes to ebb changes takes at least 4gt") == 3


def test_a_whole_row_can_be_assumed_of() -> None:
    text = "lever pond.1 to pond.2\nassume pond.* stable for 3gt\n"
    for name in ("pond.1", "pond.2"):
        assert broken_at(text, f"always from {name} changes to {name} changes takes at least 3gt") is None
        assert broken_at(text, f"always from {name} changes to {name} changes takes at least 4gt") == 3


# T2, C2: a lever thrown back after 3 gt finds the torch settled; after 2 gt it is thrown behind the torch's look.
@pytest.mark.parametrize(("still", "at"), [(3, None), (2, 2)])
def test_a_torch_inverts_what_keeps_still_longer_than_its_delay(still: int, at: int | None) -> None:
    text = f"{ROPES}assume rope stable for {still}gt\n"
    assert broken_at(text, "always dry inverts rope, settled within 2gt") == at


# R2: thrown every 4 gt, the repeater follows each rise 4 gt later. Thrown in gt 0, 3 and 6 it is on from gt 4 and stays
# on, and the rise of gt 6 finds no answer by gt 10.
@pytest.mark.parametrize(("still", "at"), [(4, None), (3, 10)])
def test_a_repeater_answers_each_rise_of_what_keeps_still_for_its_delay(still: int, at: int | None) -> None:
    text = f"{ROPES}assume rope stable for {still}gt\n"
    assert broken_at(text, "always from rope rises to slow rises takes 4gt") == at


# T4: a period of 2 · 4 gt makes 8 offs in 56 gt, within the window of 60, the first in gt 2; of 2 · 5 gt, in 70.
@pytest.mark.parametrize(("still", "at"), [(4, 58), (5, None)])
def test_what_keeps_still_long_enough_burns_no_torch_out(still: int, at: int | None) -> None:
    assert broken_at(f"{ROPES}assume rope stable for {still}gt\n", "never dry burnt") == at


# An analogue input: every change of level counts as one.
def test_an_analogue_input_keeps_its_level() -> None:
    text = "analogue depth\nassume depth stable for 4gt\n"
    assert broken_at(text, "always from depth changes to depth changes takes at least 4gt") is None
    assert broken_at(text, "always from depth changes to depth changes takes at least 5gt") == 4


# How often inputs change together


@pytest.mark.parametrize("within", [1, 2, 8])
def test_one_change_within_n_lets_the_next_come_after_n_whichever_input_it_is(within: int) -> None:
    text = f"{ROPES}assume at most 1 changes within {within}gt\n"
    for first, second in itertools.product(("rope", "ebb"), repeat=2):
        claim = f"always from {first} changes to {second} changes takes at least"
        assert broken_at(text, f"{claim} {within}gt") is None
        assert broken_at(text, f"{claim} {within + 1}gt") == within


def test_one_change_within_one_gt_means_one_in_each_gt() -> None:
    text = f"{ROPES}assume at most 1 changes within 1gt\n"
    assert broken_at(text, "never rope changes and ebb changes") is None
    assert broken_at(text, "never rope off and ebb changes") == 0


# The two changes of gt 0 leave none for gt 1 to 7.
@pytest.mark.parametrize(("still", "at"), [(7, None), (8, 8)])
def test_two_changes_in_one_gt_count_as_two(still: int, at: int | None) -> None:
    text = f"{ROPES}assume at most 2 changes within 8gt\n"
    assert broken_at(text, "never rope rises and ebb rises") == 0
    assert broken_at(text, f"always when rope rises and ebb rises then rope stable for {still}gt") == at


# From fall to fall there are three changes. Rising in gt 0, falling in 1, rising in 8, falling in 9 is allowed; falling
# in 7, rising in 8 and falling in 9 is not, though no more than two of gt 0 to 7, and of gt 8 to 15, would be in it.
def test_any_n_gt_on_end_are_looked_at_and_not_only_those_since_the_first() -> None:
    text = "lever rope\nassume at most 2 changes within 8gt\n"
    assert broken_at(text, "always from rope falls to rope falls takes at least 8gt") is None
    assert broken_at(text, "always from rope falls to rope falls takes at least 9gt") == 9


# C5, L4: both sides of a latch are let go in one gt only where two hands may act in one.
@pytest.mark.parametrize(("most", "verdict"), [(1, Verdict.PROVED), (2, Verdict.RACE)])
def test_a_latch_is_raced_for_only_where_two_hands_may_act_in_one_gt(most: int, verdict: Verdict) -> None:
    text = "lever rope\nlever ebb\nlatch gate set rope reset ebb starts reset\n"
    assert proved(f"{text}assume at most {most} changes within 1gt\n", "never gate races").verdict is verdict


# Buttons and plates


# O1: 10t and 15t from the press.
@pytest.mark.parametrize(("kind", "held"), [("short", 20), ("long", 30)])
def test_a_button_holds_its_time(kind: str, held: int) -> None:
    text = f"button bell {kind}\n"
    assert broken_at(text, f"always from bell rises to bell falls takes at least {held}gt") is None
    assert broken_at(text, f"always from bell rises to bell falls takes at least {held + 1}gt") == held
    assert broken_at(text, f"always from bell rises to bell falls takes at most {held - 1}gt") == held - 1


# O1, C2: the end of the hold comes before the hands of its gt, so a press of that gt finds the button let go, and at
# the end of each gt it is on.
def test_a_button_can_be_pressed_again_in_the_gt_in_which_it_lets_go() -> None:
    assert broken_at("button bell short\n", "always from bell rises to bell falls takes at most 20gt") == 20


# O1: a press while it is held is ignored. The presses, not the end of the hold, are what is assumed of.
def test_a_button_keeps_still_between_presses() -> None:
    text = "button bell short\nassume bell stable for 30gt\n"
    assert broken_at(text, "always from bell rises to bell rises takes at least 30gt") is None
    assert broken_at(text, "always from bell rises to bell rises takes at least 31gt") == 30
    assert broken_at(text, "always from bell rises to bell falls takes 20gt") is None


# O1: looks every 10t from the first step, so on for 20, 40 … gt; never for 21 and never for less than 20.
def test_a_plate_is_on_from_look_to_look() -> None:
    text = "plate doorstep\n"
    assert broken_at(text, "always from doorstep rises to doorstep falls takes at least 20gt") is None
    assert broken_at(text, "always from doorstep rises to doorstep falls takes at least 21gt") == 20
    assert broken_at(text, "always from doorstep rises to doorstep falls takes at most 20gt") == 20


# O1: stepped on in gt 0; the look of gt 20 comes before the hands of its gt, so he must be off in gt 19. What keeps
# still for 25 gt is still there at that look, and off at that of gt 40.
def test_a_plate_that_somebody_stays_on_stays_on() -> None:
    text = "plate doorstep\nassume doorstep stable for 25gt\n"
    assert broken_at(text, "always from doorstep rises to doorstep falls takes at least 40gt") is None
    assert broken_at(text, "always from doorstep rises to doorstep falls takes at least 41gt") == 40


# What a proof depends on


LIMITS = Limits(50_000)


def leanings(text: str, *claims: str, budget: Meter | None = None) -> list[dict[str, bool | None]]:
    """What the proof of each of some claims depends on."""
    study = asking(text, *claims)
    prover = Prover(study, LIMITS, budget=budget)
    outcomes = [prover.prove(claim) for claim in study.claims]
    assert {each.verdict for each in outcomes} == {Verdict.PROVED}
    leaned = with_leanings(study, outcomes, LIMITS, prover.budget, lambda states: None)
    proofs = [outcome.proof for outcome in leaned]
    return [{each.words: each.holds_without for each in proof.leanings} for proof in proofs if proof is not None]


def test_a_proof_says_which_assumptions_it_needs() -> None:
    text = f"{ROPES}assume rope stable for 3gt\nassume ebb stable for 3gt  # the brake\n"
    assert leanings(text, "always dry inverts rope, settled within 2gt") == [
        {"assume rope stable for 3gt": False, "assume ebb stable for 3gt": True}
    ]


def test_of_two_assumptions_that_each_suffice_neither_is_needed() -> None:
    text = f"{ROPES}assume rope stable for 3gt\nassume at most 1 changes within 3gt\n"
    (found,) = leanings(text, "always dry inverts rope, settled within 2gt")
    assert list(found.values()) == [True, True]


# R3 needs nothing of the world.
def test_what_holds_anyway_depends_on_nothing() -> None:
    text = f"{ROPES}assume rope stable for 3gt\n"
    assert leanings(text, "always every pulse of slow lasts at least 4gt") == [{"assume rope stable for 3gt": True}]


def test_without_assumptions_there_is_nothing_to_lean_on() -> None:
    assert leanings(ROPES, "always every pulse of slow lasts at least 4gt") == [{}]


def test_what_proofs_depend_on_shares_what_the_verdicts_leave_of_the_budget() -> None:
    text = f"{ROPES}assume rope stable for 3gt\n"
    claims = ["always every pulse of slow lasts at least 4gt"] * 6
    spent = Meter(10**6)
    assert leanings(text, claims[0], budget=spent) == [{"assume rope stable for 3gt": True}]
    verdicts = Meter(10**6)
    study = asking(text, *claims)
    prover = Prover(study, LIMITS, budget=verdicts)
    assert {prover.prove(claim).verdict for claim in study.claims} == {Verdict.PROVED}
    # With less than one state for each, nothing is looked into; with some, what does not end is not decided.
    assert leanings(text, *claims, budget=Meter(verdicts.steps + 5))[0] == {}
    assert leanings(text, *claims, budget=Meter(verdicts.steps + 6 * 5))[0] == {"assume rope stable for 3gt": None}
    plenty = verdicts.steps + 6 * spent.steps
    assert leanings(text, *claims, budget=Meter(plenty)) == [{"assume rope stable for 3gt": True}] * 6


# Where nothing is left


NOTHING = f"{ROPES}assume at most 0 changes within 1gt\n"


def test_that_nothing_can_happen_is_said_with_what_is_proved_so() -> None:
    outcome = proved(NOTHING, "always dry")
    assert (outcome.verdict, outcome.detail) == (
        Verdict.PROVED,
        "under the assumptions no input can ever change",
    )


def test_that_nothing_can_happen_is_said_of_a_trigger_that_never_comes() -> None:
    outcome = proved(NOTHING, "always when rope rises then dry off within 2gt")
    assert outcome.verdict is Verdict.VACUOUS
    assert "under the assumptions no input can ever change" in outcome.detail


def test_where_something_can_happen_nothing_is_said_of_that() -> None:
    assert proved(f"{ROPES}assume at most 1 changes within 1gt\n", "always dry or slow or rope off").detail == ""


@pytest.mark.parametrize(
    "claim",
    [
        "always when rope and rope off then ebb",
        "always when gate set and gate reset then ebb until rope",
        "always when gate rises and gate falls then ebb stable for 1t",
        # T3, D1: the latch is never set, so it never rises.
        "always from gate rises to ebb rises takes 4t",
        "always every pulse of gate lasts 4t",
    ],
)
def test_a_trigger_that_never_occurs_is_said_to_be_vacuous(claim: str) -> None:
    text = "lever rope\nlever ebb\ndetector ripple watches rope\nlatch gate set ripple reset ebb starts reset\n"
    outcome = proved(text, claim)
    assert (outcome.verdict, outcome.detail) == (Verdict.VACUOUS, "its trigger never occurs")


# Checks that do what is assumed away


def judged(check: str, assumed: str) -> FileReport:
    claim = 'always "it" dry inverts rope, settled within 2gt\n'
    report = verify_text(f'{ROPES}{assumed}{claim}check "scene"\n{check}  until 2s\nend\n')
    assert report.diagnostics == ()
    return report


def verdict(report: FileReport) -> Verdict:
    (found,) = [each for each in report.outcomes if each.title == "it"]
    return found.verdict


FAST = "  at 10gt rope on\n  at 12gt rope off\n  at 14gt rope on\n"


# T2, C2: thrown behind the look of gt 12, so wrong to each other for 3 gt.
def test_a_check_that_does_what_is_assumed_away_is_not_held_against_a_claim() -> None:
    assert verdict(judged(FAST, "assume rope stable for 3gt\n")) is Verdict.PROVED
    assert verdict(judged(FAST, "assume at most 1 changes within 3gt\n")) is Verdict.PROVED


def test_a_check_that_keeps_to_the_assumptions_is_held_against_a_claim() -> None:
    assert verdict(judged(FAST, "")) is Verdict.FAILS
    assert verdict(judged(FAST, "assume rope stable for 2gt\nassume ebb stable for 1s\n")) is Verdict.FAILS


def test_a_check_that_does_what_is_assumed_away_is_judged_itself_all_the_same() -> None:
    check = "  at 10gt rope on\n  at 11gt rope off\n  at 13gt expect dry off\n"
    (scene, _) = judged(check, "assume rope stable for 3gt\n").outcomes
    assert (scene.title, scene.verdict) == ("scene", Verdict.FAILS)  # T3: a pulse of 1 gt is swallowed


acts = st.lists(st.tuples(st.integers(0, 12), st.sampled_from(("rope", "ebb"))), max_size=6, unique=True)


def scene(done: list[tuple[int, str]]) -> Check:
    return Check("", tuple(Act(at, name, "throw", 0, NOWHERE) for at, name in done), (), (), 20, NOWHERE)


@settings(max_examples=300, deadline=None)
@given(acts, st.integers(0, 3), st.integers(1, 9))
def test_at_most_so_many_changes_is_asked_of_every_stretch(done: list[tuple[int, str]], most: int, within: int) -> None:
    """Every stretch of so many gt on end is counted, one by one."""
    fits = all(sum(begin <= at < begin + within for at, _ in done) <= most for begin in range(-12, 13))
    assert allowed(scene(done), (RateLimit(most, within, ""),)) is fits


@settings(max_examples=300, deadline=None)
@given(acts, st.integers(1, 9))
def test_stable_is_asked_of_every_two_changes_of_one_input(done: list[tuple[int, str]], still: int) -> None:
    """Every two changes of one input are at least so far apart."""
    fits = all(
        abs(one - other) >= still
        for name in ("rope", "ebb")
        for one, other in itertools.combinations([at for at, own in done if own == name], 2)
    )
    assert allowed(scene(done), (Holding(("rope", "ebb"), still, ""),)) is fits


# Mistakes


PARTS = "lever rope\nrepeater slow from rope\ntorch dry from slow\nlatch gate set rope reset slow starts reset\n"


@pytest.mark.parametrize(
    ("line", "code", "says"),
    [
        ("assume rope stable for 0gt", "CKT305", "from 1gt to 24000gt"),
        ("assume rope stable for 24001gt", "CKT305", "from 1gt to 24000gt"),
        ("assume at most 1 changes within 0t", "CKT305", "from 1gt to 24000gt"),
        ("assume at most 1 changes within 24001gt", "CKT305", "from 1gt to 24000gt"),
        ("assume at most 1000 changes within 1t", "CKT305", "1000"),
        ("assume at most 99999999 changes within 1t", "CKT305", "99999999"),
        ("assume rope stable for 10", "CKT306", "unit"),
        ("assume at most 1 changes within 3", "CKT306", "unit"),
        ("assume dry stable for 1t", "CKT401", "'dry' is a torch"),
        ("assume rope, slow stable for 1t", "CKT401", "'slow' is a repeater"),
        ("assume rpoe stable for 1t", "CKT201", "rpoe"),
        ("assume at most 1t changes within 3t", "CKT101", ""),
        ("assume rope", "CKT101", ""),
        ("assume at most -1 changes within 3t", "CKT102", ""),
        ('never "x" possible dry', "CKT404", "never"),
        ('never "x" possible rest', "CKT404", "never"),
        ('always "x" dry races', "CKT404", "never"),
        ('always "x" dry burnt', "CKT404", "never"),
        ('never "x" slow burnt', "CKT402", "only torches burn out"),
        ('never "x" rope burnt', "CKT402", "only torches burn out"),
        ('never "x" dyr burnt', "CKT201", "dyr"),
        ('never "x" dyr races', "CKT201", "dyr"),
        ('check "x"\n  throughout possible rest\nend', "CKT408", "all runs"),
        ('check "x"\n  throughout possible dry\nend', "CKT408", "all runs"),
        ('check "x"\n  throughout dry races\nend', "CKT408", "all runs"),
        ('check "x"\n  throughout dry burnt\nend', "CKT408", "all runs"),
        ("lever rest", "CKT103", "rest"),
    ],
)
def test_a_mistake_is_reported_with_its_code(line: str, code: str, says: str) -> None:
    (told,) = verify_text(f"{PARTS}{line}\n").diagnostics
    assert told.code == code
    assert told.span.line == PARTS.count("\n") + (2 if line.startswith("check") else 1)
    assert says in f"{told.message}; {told.hint}"
    assert told.hint or code in ("CKT101", "CKT102")


@pytest.mark.parametrize("line", ["assume rope stable for 1gt", "assume rope stable for 24000gt"])
def test_the_bounds_themselves_are_no_mistake(line: str) -> None:
    assert verify_text(f"{PARTS}{line}\nassume at most 999 changes within 24000gt\n").diagnostics == ()


def test_either_side_of_a_latch_can_be_asked_to_burn_out() -> None:
    text = f'{PARTS}never "one" gate burnt\nnever "other" gate.inverse burnt\n'
    assert verify_text(text, states=0).diagnostics == ()
