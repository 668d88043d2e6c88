"""Mutual exclusion, arbiters and the C-element: circuits whose verdicts are known, each against its textbook."""

from __future__ import annotations

import pytest

from circuitcheck.checks.outcome import Verdict

from .textbook import STEADY, broken_at, circuit, outcome, way

HANDS = (("pond", "race"), ("race", "pond"))
"""The two who ask, each with the other."""

# The arbiter of two cross-coupled NOR gates

ARBITER = circuit(
    *(f"lever {me}" for me, _ in HANDS),
    *(f"torch {me}_idle from {me}" for me, _ in HANDS),
    *(f"torch {me}_grant from {me}_idle, {other}_grant starts off" for me, other in HANDS),
)


# Source for all of the arbiter: C. Seitz, "System timing", in C. Mead, L. Conway, Introduction to VLSI Systems,
# chapter 7 (arbiters); J. Sparsø, S. Furber, Principles of Asynchronous Circuit Design, section 5.8 (mutual
# exclusion). As properties: C. Baier, J.-P. Katoen, Principles of Model Checking, chapters 2 and 3. All from memory.
# The times come of two torches in a row, 1t each (T2): common practice, no source.
def test_an_arbiter_never_grants_both() -> None:
    assert outcome(ARBITER, "never pond_grant and race_grant").verdict is Verdict.PROVED


@pytest.mark.parametrize(("me", "other"), HANDS)
def test_each_grant_of_an_arbiter_needs_its_request(me: str, other: str) -> None:
    assert (
        outcome(ARBITER, f"always when {me} falls then {me}_grant off within 2t unless {me}").verdict is Verdict.PROVED
    )
    early = outcome(ARBITER, f"always when {me} falls then {me}_grant off within 3gt unless {me}")
    assert early.verdict is Verdict.FAILS
    # Asked at gt 0 and granted at gt 4, when it is given up at the soonest: 4 gt to go.
    assert broken_at(early) == 7
    assert way(early) == [(0, me), (4, me)]


# A liveness claim, bounded: whoever holds the grant may keep it for ever, so that the other starves. From a start with
# both levers down the shortest way is 10t long and asks in gt 0.
def test_a_request_to_an_arbiter_may_starve() -> None:
    starved = outcome(ARBITER, "always when pond rises then pond_grant within 10t unless pond off")
    assert starved.verdict is Verdict.RACE, "both asked in gt 0: the order of the two hands decides"
    assert broken_at(starved) == 20
    late = "assume at most 1 changes within 2t"
    starved = outcome(ARBITER + late, "always when pond rises then pond_grant within 10t unless pond off")
    assert starved.verdict is Verdict.FAILS
    assert (broken_at(starved), way(starved)) == (24, [(0, "race"), (4, "pond")])


@pytest.mark.parametrize(
    "body",
    [
        "when pond and race off then pond_grant within 3t unless (pond off or race)",
        "when pond and race then (pond_grant or race_grant) within 2t unless (pond off or race off)",
    ],
)
def test_an_arbiter_answers_whoever_asks_alone_and_one_of_two(body: str) -> None:
    assert outcome(ARBITER, f"always {body}").verdict is Verdict.PROVED


# Held by the race, whose lever goes back in the next gt: 2 + 2 gt till its grant is gone, 2 till the pond's comes.
def test_a_grant_can_always_be_had_again() -> None:
    proved = outcome(ARBITER, "always possible pond_grant")
    assert proved.verdict is Verdict.PROVED
    assert proved.proof is not None
    assert proved.proof.within == 7


def test_both_grants_of_an_arbiter_can_not_be_brought_about() -> None:
    assert outcome(ARBITER, "always possible (pond_grant and race_grant)").verdict is Verdict.FAILS


# Source: which of two simultaneous requests wins is open: Seitz, as above. Here by rules C5 and L4: 2 gt for each
# torch; and there is no race between requests that come apart.
def test_two_requests_in_one_gt_race_for_the_grant() -> None:
    raced = outcome(ARBITER, "never pond_grant races")
    assert raced.verdict is Verdict.RACE
    assert (broken_at(raced), sorted(way(raced))) == (4, [(0, "pond"), (0, "race")])
    assert outcome(ARBITER + "assume at most 1 changes within 2t", "never pond_grant races").verdict is Verdict.PROVED


# Look, then enter

LOOKING = circuit(
    *(f"lever {me}" for me, _ in HANDS),
    *(f"torch {me}_idle from {me}" for me, _ in HANDS),
    *(f"torch {me}_free from {me}_idle, {other}_in" for me, other in HANDS),
    *(f"repeater {me}_in from {me}_free delay 2t starts off" for me, _ in HANDS),
)
"""Each looks whether the other is in, and goes in 2t later, whatever it would see by then (R2)."""


# Source: looking at the other's flag and entering are two steps, between which the other may look: N. Lynch,
# Distributed Algorithms, chapter 10; Baier, Katoen, chapter 2; from memory. Two torches and 2t make 8 gt.
@pytest.mark.parametrize(
    ("assumed", "at"), [("", 8), (STEADY, 8), ("assume at most 1 changes within 1gt", 9)], ids=["free", "slow", "apart"]
)
def test_look_then_enter_lets_both_in(assumed: str, at: int) -> None:
    broken = outcome(LOOKING + assumed, "never pond_in and race_in")
    assert broken.verdict is Verdict.FAILS
    assert broken_at(broken) == at
    assert len(way(broken)) == 2


# Worked out by hand from T2, R2 and C3. One leaves at gt 0: it is out at gt 8, the other's look is free at gt 10, and
# it is in at gt 14. The first, back at gt 9, has its look free at gt 13, too early; back at gt 10, at gt 14, too late.
@pytest.mark.parametrize(("apart", "verdict"), [(9, Verdict.FAILS), (10, Verdict.PROVED)])
def test_look_then_enter_is_safe_only_where_nobody_comes_between_a_look_and_an_entry(
    apart: int, verdict: Verdict
) -> None:
    assumed = f"assume at most 1 changes within {apart}gt"
    assert outcome(LOOKING + assumed, "never pond_in and race_in").verdict is verdict


# Two flags, and a turn


def flags(turn: bool) -> str:
    """Each raises its flag, looks 4t later, and goes in if the other's flag is down or, with a turn, it is its turn.

    Each writes, when it comes, that it is the other's turn. A flag is down when its owner neither asks nor is in.
    """
    lines = []
    for (me, other), mine in zip(HANDS, ("turn", "turn.inverse"), strict=True):
        lines += [
            f"lever {me}",
            f"torch {me}_idle from {me}",
            f"repeater {me}_late from {me} delay 4t",
            f"torch {me}_early from {me}_late",
            f"torch {me}_down from {me}, {me}_in",
            f"torch {me}_barred from {other}_down{', ' + mine if turn else ''}",
            f"torch {me}_may from {me}_early, {me}_idle, {me}_barred",
            f"latch {me}_in set {me}_may reset {me}_idle starts reset",
        ]
    if turn:
        lines += [f"torch {me}_writes from {me}_idle, {me}_late" for me, _ in HANDS]
        lines.append("latch turn set race_writes reset pond_writes starts reset")
    return circuit(*lines, STEADY)


TWO_FLAGS, WITH_TURN = flags(turn=False), flags(turn=True)
SOMEBODY = "when pond and race then (pond_in or race_in) within {} unless (pond off or race off)"


# Source: G. Peterson, "Myths about the mutual exclusion problem" (Information Processing Letters 12, 1981); Lynch,
# chapter 10; E. Clarke, O. Grumberg, D. Peled, Model Checking; Baier, Katoen, chapter 2. All from memory.
@pytest.mark.parametrize("text", [TWO_FLAGS, WITH_TURN], ids=["two flags", "with a turn"])
def test_raising_the_flag_before_looking_keeps_one_of_two_out(text: str) -> None:
    assert outcome(text, "never pond_in and race_in").verdict is Verdict.PROVED


# The same sources: without a turn both wait for each other. By hand, both ask at gt 0: the writing ends at gt 10, the
# turn is known at gt 12, 14 the bar is gone, 16 one may, and 4 gt for the latch (L3).
def test_two_flags_without_a_turn_wait_for_each_other() -> None:
    stuck = outcome(TWO_FLAGS, f"always {SOMEBODY.format('10t')}")
    assert stuck.verdict is Verdict.FAILS
    assert (broken_at(stuck), sorted(way(stuck))) == (20, [(0, "pond"), (0, "race")])


def test_with_a_turn_one_of_two_gets_in_and_not_sooner_than_it_can() -> None:
    assert outcome(WITH_TURN, f"always {SOMEBODY.format('10t')}").verdict is Verdict.PROVED
    early = outcome(WITH_TURN, f"always {SOMEBODY.format('19gt')}")
    assert early.verdict is Verdict.FAILS
    assert (broken_at(early), sorted(way(early))) == (19, [(0, "pond"), (0, "race")])


# Bounded overtaking: Lynch, chapter 10. By hand: who asks in the gt in which the other is out has 8 gt till the look,
# 4 for two torches and 4 for the latch. The other needs 4 gt to be out, so asked at gt 0 and gave up at gt 20.
def test_with_a_turn_nobody_is_overtaken_by_who_has_just_left() -> None:
    body = "always when race_in falls and pond then pond_in within {} unless pond off"
    assert outcome(WITH_TURN, body.format("8t")).verdict is Verdict.PROVED
    early = outcome(WITH_TURN, body.format("15gt"))
    assert early.verdict is Verdict.FAILS
    assert (broken_at(early), way(early)) == (20 + 4 + 15, [(0, "race"), (20, "race"), (24, "pond")])


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        ("always possible pond_in", Verdict.PROVED),
        ("always possible race_in", Verdict.PROVED),
        ("always when pond_in then pond_in until pond off", Verdict.PROVED),
        ("never pond_in races", Verdict.RACE),
        ("always when pond rises then pond_in within 5s unless pond off", Verdict.RACE),
    ],
)
def test_with_a_turn_everybody_can_get_in_and_stay_and_who_comes_first_is_open(claim: str, verdict: Verdict) -> None:
    assert outcome(WITH_TURN, claim).verdict is verdict


# The arbiter that goes round

ROUND = circuit(
    *(f"lever {me}" for me, _ in HANDS),
    *(f"torch {me}_idle from {me}" for me, _ in HANDS),
    *(f"repeater {me}_late from {me} delay 2t" for me, _ in HANDS),
    *(f"torch {me}_early from {me}_late" for me, _ in HANDS),
    "torch pond_yields from race_idle, last.inverse, pond_grant",
    "torch race_yields from pond_idle, last, race_grant",
    *(f"torch {me}_grant from {me}_early, {me}_idle, {other}_grant, {me}_yields starts off" for me, other in HANDS),
    "latch last set pond_grant reset race_grant starts reset",
    STEADY,
)
"""Who was granted last yields to the other, if both ask before either is granted."""
NO_ROUND = ARBITER + "latch last set pond_grant reset race_grant starts reset\n" + STEADY
"""The plain arbiter, with a latch that only looks on."""

TURN = "when pond rises and race rises and last {} then {}_grant off until ({}_grant or pond off or race off)"


# Source: round-robin arbitration, the request served last has the lowest priority: W. Dally, B. Towles, Principles and
# Practices of Interconnection Networks, chapter 18 (arbitration); from memory.
@pytest.mark.parametrize(("last", "loses", "wins"), [("set", "pond", "race"), ("reset", "race", "pond")])
def test_the_round_robin_arbiter_serves_the_one_who_was_not_served_last(last: str, loses: str, wins: str) -> None:
    body = f"always {TURN.format(last, loses, wins)}"
    assert outcome(ROUND, body).verdict is Verdict.PROVED
    assert outcome(NO_ROUND, body).verdict is Verdict.RACE, "without rounds the order of the hands decides"


# 2t in the repeater and two torches make 8 gt.
def test_the_round_robin_arbiter_answers_after_4t() -> None:
    body = "always when pond rises and race rises and last set then race_grant within {} unless (pond off or race off)"
    assert outcome(ROUND, body.format("4t")).verdict is Verdict.PROVED
    assert outcome(ROUND, body.format("7gt")).verdict is Verdict.FAILS


@pytest.mark.parametrize(
    "claim",
    [
        "never pond_grant and race_grant",
        "never last forbidden",
        "never pond_grant races",
        "always when pond_grant falls and race then pond_grant off until (race_grant or race off)",
        "always when race_grant falls and pond then pond_grant within 4t unless pond off",
        "always possible pond_grant",
        "always possible race_grant",
        "always possible rest",
    ],
)
def test_the_round_robin_arbiter_is_safe_and_fair(claim: str) -> None:
    assert outcome(ROUND, claim).verdict is Verdict.PROVED


# The C-element

C_ELEMENT = circuit(
    "lever pond",
    "lever race",
    "torch pond_no from pond",
    "torch race_no from race",
    "torch both from pond_no, race_no",
    "torch neither from pond, race",
    "latch gate set both reset neither starts reset",
)
QUICK = "assume pond, race stable for 1t"
UP = "when pond and race then gate within {} unless (pond off or race off)"
DOWN = "when pond off and race off then gate off within {} unless (pond or race)"


# Source: D. Muller, W. Bartky, "A theory of asynchronous circuits" (1959); Sparsø, Furber, section 2.2: the output
# goes to 1 when both inputs are 1, to 0 when both are 0, and else keeps what it is. From memory. The times: two torches
# and a latch, 8 gt up; one torch and one side of a latch, 4 gt down (T2, L3).
@pytest.mark.parametrize(("assumed", "back"), [(QUICK, 8), (STEADY, 20)], ids=["quick", "slow"])
def test_the_c_element_follows_when_both_inputs_agree(assumed: str, back: int) -> None:
    assert outcome(C_ELEMENT + assumed, f"always {UP.format('4t')}").verdict is Verdict.PROVED
    assert outcome(C_ELEMENT + assumed, f"always {DOWN.format('2t')}").verdict is Verdict.PROVED
    early = outcome(C_ELEMENT + assumed, f"always {UP.format('7gt')}")
    assert (early.verdict, broken_at(early)) == (Verdict.FAILS, 7)
    early = outcome(C_ELEMENT + assumed, f"always {DOWN.format('3gt')}")
    # It comes on at gt 8, and then the levers go back as soon as they can.
    assert (early.verdict, broken_at(early)) == (Verdict.FAILS, back + 3)


@pytest.mark.parametrize(
    "claim",
    [
        "always when gate rises then gate until (pond off and race off)",
        "always when gate falls then gate off until (pond and race)",
        "never gate races",
        "always possible gate set",
        "always possible gate reset",
    ],
)
def test_the_c_element_keeps_what_it_is_while_its_inputs_differ(claim: str) -> None:
    assert outcome(C_ELEMENT + STEADY, claim).verdict is Verdict.PROVED


# The same sources: it is hazard-free only if inputs wait for the output. By hand: it is on at gt 8 at the soonest, and
# both inputs may be gone before then, and one of them back.
def test_a_c_element_whose_inputs_do_not_wait_for_it_does_not_keep_what_it_is() -> None:
    broken = outcome(C_ELEMENT, "always when gate rises then gate until (pond off and race off)")
    assert (broken.verdict, broken_at(broken)) == (Verdict.FAILS, 10)
