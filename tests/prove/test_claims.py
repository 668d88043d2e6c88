"""Every form of claim is proved where it holds, and broken in the earliest gt where it does not.

All expected gt are calculated by hand. Source: common practice, no source; the rule's id stands beside each case.
Hands come last in a gt (C2), so what a hand does in gt 0 is seen by a part that looks in gt 2, and a lever thrown back
in gt 2 was on at that part's look. The shortest way begins in gt 0, as nothing forbids to.
"""

from __future__ import annotations

from functools import cache

import pytest

from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.language.load import load_text
from circuitcheck.prove.meter import Limits
from circuitcheck.prove.prover import Prover

MILL = """lever rope
lever ebb
torch dry from rope
lamp lit from dry
repeater slow from rope delay 2t
detector ripple watches rope
latch gate set rope reset ebb starts reset
"""
SPILL = """lever rope
torch sun
torch moon from sun
latch keep set rope reset moon starts reset
"""
"""The reset input is fed by a torch that is always off, so that nothing resets the latch."""
WHEEL = "torch a from c, keep.inverse\ntorch b from a\ntorch c from b\n"
"""A ring of three torches that stands still while the latch is reset (T6)."""


@cache
def outcomes(text: str) -> dict[str, Outcome]:
    """The outcome of each claim of a text, by title."""
    loaded = load_text(text)
    assert loaded.diagnostics == ()
    (study,) = loaded.studies
    prover = Prover(study, Limits(200_000), solving=False)
    return {claim.title: prover.prove(claim) for claim in study.claims}


def found(claim: str, parts: str = MILL) -> tuple[Verdict, int | None]:
    """The verdict on a claim written without its title, and the gt in which it breaks."""
    word, _, body = claim.partition(" ")
    outcome = outcomes(f'{parts}{word} "it" {body}\n')["it"]
    return outcome.verdict, None if outcome.failure is None else outcome.failure.at


HOLDING = [
    # L1, C3: of two sides due in one gt the first to act keeps the other off, so both are never on.
    "never gate and gate.inverse",
    # O2: a lamp is lit at once, so one that is off has no power.
    "always when lit off then dry off",
    # R2: going on is a promise; a rope that rises while the repeater still is on is answered at once.
    "always when rope rises then slow within 4gt",
    # T2: off 2 gt later, or the rope was let go by then, in the very gt of the look at the latest.
    "always when rope rises then dry off within 2gt unless rope off",
    # L1, L2: only power on its reset input, or the inverse that it keeps off itself, puts the latch out.
    "always when gate rises then gate until ebb",
    # R3: what leaves a repeater lasts its delay at least, so it does not change in the 3 gt after the first.
    "always when slow rises then slow stable for 3gt",
    # R3.
    "always every pulse of slow lasts at least 4gt",
    # D1: a pulse is 1t, whatever happens meanwhile.
    "always every pulse of ripple lasts 2gt",
    "always every pulse of ripple lasts at most 2gt",
    "always every pulse of ripple lasts 1gt to 2gt",
    # T2: it waits 1t before it is on again.
    "always every gap of dry lasts at least 2gt",
    # R2: after it went off, going on takes its delay.
    "always every gap of slow lasts at least 4gt",
    # R2: every rise of the repeater began 2t earlier with the rope on.
    "always from rope rises to slow rises takes at least 4gt",
    # The rope can be pulled and let go at any time.
    "always possible slow",
    "always possible not slow",
    "always possible gate set",
    "always possible gate reset",
    "always possible rest",
    # C5: one lever, one torch: no order is open.
    "never dry races",
    "never slow races",
]


@pytest.mark.parametrize("claim", HOLDING)
def test_a_claim_that_holds_over_everything_is_proved(claim: str) -> None:
    assert found(claim) == (Verdict.PROVED, None)


BREAKING = [
    # T2: pulled in gt 0, the torch is off in gt 2, and in gt 2 a hand lets go, after the torch has looked.
    ("always rope or dry", 2),
    ("never rope off and dry off", 2),
    # The rope is pulled in gt 0.
    ("never rope", 0),
    ("always when rope then dry off", 0),
    # R2: the repeater is on in gt 4, one gt too late.
    ("always when rope rises then slow within 3gt", 3),
    # T3: a pull of 1 gt is swallowed, so no answer comes; the last gt it may come in is 2.
    ("always when rope rises then dry off within 2gt", 2),
    # T2: nothing but the look of gt 2 could answer.
    ("always when rope rises then dry off within 1gt unless rope off", 1),
    # Pulled in gt 0, let go in gt 1.
    ("always when rope rises then rope until ebb", 1),
    # L3, T2: pulled in gt 0, the latch is on in gt 4; braked in gt 4, it is out in gt 6. A lamp fed by a torch that the
    # rope keeps off is dark from gt 6 on (O2), too; let go in gt 2, the torch is on in gt 4 and the lamp stays lit.
    ("always when gate rises then gate until lit off", 6),
    # R3: pulled in gt 0 and let go before gt 4, on in gt 4 to 8.
    ("always when slow rises then slow stable for 4gt", 8),
    # T2, C2: wrong to each other in gt 0 and 1, and in gt 2, when a hand lets go of the rope behind the torch's look.
    ("always dry inverts rope, settled within 2gt", 2),
    ("always dry inverts rope, settled within 0gt", 0),
    # R2, C2: wrong in gt 0 to 3, and in gt 4, when a hand lets go.
    ("always slow follows rope, settled within 4gt", 4),
    ("always slow follows rope, settled within 3gt", 3),
    # R3: on in gt 4 to 8.
    ("always every pulse of slow lasts at least 5gt", 8),
    # The rope stays pulled: on from gt 4, and in gt 10 for the seventh gt.
    ("always every pulse of slow lasts at most 6gt", 10),
    # D1: on from gt 2, off in gt 4.
    ("always every pulse of ripple lasts at most 1gt", 3),
    ("always every pulse of ripple lasts 3gt", 4),
    # T2: off in gt 2, let go in gt 2, on in gt 4.
    ("always every gap of dry lasts at least 3gt", 4),
    # R3, R2: on in gt 4 to 8, pulled again in gt 8, on in gt 12.
    ("always every gap of slow lasts at least 5gt", 12),
    # There at the start: held to the upper bound only. Off in gt 0 to 4, the fifth of them too long.
    ("always every gap of gate lasts at most 4gt", 4),
    # R2: pulled in gt 0, on in gt 4.
    ("always from rope rises to slow rises takes at least 5gt", 4),
    ("always from rope rises to slow rises takes at most 3gt", 3),
    # R2: pulled in gt 0, let go, pulled again in gt 4: the repeater is on from gt 4, stays on, and never rises again.
    ("always from rope rises to slow rises takes 4gt", 8),
    # C5, L4: both pulled in gt 0, both let go in gt 2, when both sides are dark: which one comes on in gt 4 is open.
    ("never gate.inverse races", 4),
    ("never gate races", 4),
    # T4: off in gt 2, 6, 10 … 30, since a torch takes 2 gt for each change.
    ("never dry burnt", 30),
]


@pytest.mark.parametrize(("claim", "at"), BREAKING)
def test_a_claim_that_can_be_broken_is_broken_in_the_earliest_gt(claim: str, at: int) -> None:
    verdict, broken_at = found(claim)
    assert broken_at == at
    assert verdict is (Verdict.RACE if claim.endswith("races") else Verdict.FAILS)


# L3: by hand in gt 0, the inverse is off in gt 2, and what is set stays set. Until gt 1 a hand can still let go (T3),
# and in gt 1 the latch still is reset; of what is in gt 2 nobody can reset it.
def test_what_can_not_be_brought_about_any_more_is_broken_where_no_hand_can_help() -> None:
    assert found("always possible keep reset", SPILL) == (Verdict.FAILS, 2)


# T3, T6: with the rope on at the end of gt 1 the inverse is sure to go off in gt 2, and the ring never rests again. At
# the end of gt 0 a hand can still let go in gt 1.
def test_rest_is_broken_where_a_ring_can_not_be_stopped_any_more() -> None:
    assert found("always possible rest", SPILL + WHEEL) == (Verdict.FAILS, 1)


def test_rest_is_possible_where_the_ring_can_be_stopped() -> None:
    brake = SPILL.replace("torch sun\ntorch moon from sun\n", "lever moon\n")
    assert found("always possible rest", brake + WHEEL) == (Verdict.PROVED, None)


# T1: a torch that nothing powers is always on, so from the start on nobody can put it out.
def test_what_was_never_possible_is_broken_at_once() -> None:
    assert found("always possible sun off", SPILL) == (Verdict.FAILS, 0)


def test_a_claim_for_each_of_a_row_is_proved_row_by_row() -> None:
    text = (
        "lever pond.1 to pond.2\nrepeater float.* from pond.* delay 2t\nlamp sign.1 from float.1\n"
        "torch sign.2 from float.2\n"
        'always "slow" for each float: every pulse of float lasts at least 4gt\n'
        'always "dark" for each sign: sign off\n'
        'never "hot" for each float: float races\n'
        'always "can" for each float: possible float\n'
    )
    # R3 for both; T1: the torch is lit in gt 0, the lamp once the repeater is on in gt 4 (R2).
    verdicts = {title: each.verdict for title, each in outcomes(text).items()}
    proved = ("slow, float.1", "slow, float.2", "hot, float.1", "hot, float.2", "can, float.1", "can, float.2")
    assert verdicts == {
        **dict.fromkeys(proved, Verdict.PROVED),
        "dark, sign.1": Verdict.FAILS,
        "dark, sign.2": Verdict.FAILS,
    }
    failures = {title: each.failure.at for title, each in outcomes(text).items() if each.failure is not None}
    assert failures == {"dark, sign.1": 4, "dark, sign.2": 0}


# The worked example: detector, repeater, latch


def rows(delay: str, pulse: str = "1t") -> str:
    return (
        f"lever pond\nlever ebb\ndetector ripple watches pond pulse {pulse}\n"
        f"repeater push from ripple delay {delay}\nlatch gate set push reset ebb starts reset\n"
    )


# RULES.md, "A worked example", for a lever thrown in gt 10; here the world throws it in gt 0, 10 gt earlier (T3, D1,
# R3).
@pytest.mark.parametrize(
    ("delay", "pulse", "at"), [("1t", "2t", 18), ("2t", "1t", 20), ("2t", "2t", 20), ("3t", "1t", 22), ("4t", "1t", 24)]
)
def test_the_latch_behind_a_detector_is_set_no_sooner_than_the_rules_say(delay: str, pulse: str, at: int) -> None:
    assert found("never gate set", rows(delay, pulse)) == (Verdict.FAILS, at - 10)


# D1, T3: it leaves as 2 gt, and the latch's torch swallows it.
def test_the_latch_behind_a_detector_and_a_repeater_of_one_tick_is_never_set() -> None:
    assert found("never gate set", rows("1t")) == (Verdict.PROVED, None)
    assert found("always possible gate set", rows("1t")) == (Verdict.FAILS, 0)


# D1, T3.
def test_the_latch_right_behind_a_detector_is_never_set() -> None:
    bare = "lever pond\nlever ebb\ndetector ripple watches pond\nlatch gate set ripple reset ebb starts reset\n"
    assert found("never gate set", bare) == (Verdict.PROVED, None)


# Burn-out


def span(parts: str, torch: str) -> tuple[int, int]:
    """The least span of eight offs of a torch, and the earliest gt of the eighth."""
    loaded = load_text(parts)
    assert loaded.diagnostics == ()
    burn_out = Prover(loaded.studies[0], Limits(200_000), solving=False).burning.burn_out(torch)
    assert burn_out is not None
    return burn_out.span, burn_out.at


# T4, T2: each off and each on takes a torch 2 gt, so 8 offs are 7 · 4 = 28 gt. The first: pulled in gt 0, off in gt 2.
def test_eight_offs_of_a_bare_latch_fit_into_28_gt() -> None:
    assert span("lever rope\nlever ebb\nlatch gate set rope reset ebb starts reset\n", "gate.inverse") == (28, 30)


# T4, R3: through a repeater of 2t a pulse is 4 gt and a gap of less than 4 gt is lost, so 7 · 8 = 56 gt. The first:
# detector in gt 2, repeater in gt 6, inverse side off in gt 8.
def test_eight_offs_behind_detectors_and_repeaters_of_two_ticks_take_56_gt() -> None:
    text = (
        "lever pond\nlever race\ndetector rise watches pond\ndetector fall watches race\n"
        "repeater opens from rise delay 2t\nrepeater shuts from fall delay 2t\n"
        "latch gate set opens reset shuts starts reset\n"
    )
    assert span(text, "gate.inverse") == (56, 64)


# T4: an off exactly one window ago still counts; the least span is 28 gt.
@pytest.mark.parametrize(("window", "expected"), [(28, (Verdict.FAILS, 30)), (27, (Verdict.PROVED, None))])
def test_the_window_counts_to_its_last_gt(window: int, expected: tuple[Verdict, int | None]) -> None:
    text = f"setting burn_out_window {window}gt\nlever rope\ntorch dry from rope\n"
    assert found("never dry burnt", text) == expected


# T4: with a window of 0 torches never burn out.
def test_with_no_window_no_torch_burns_out() -> None:
    text = "setting burn_out_window 0gt\nlever rope\ntorch dry from rope\n"
    assert found("never dry burnt", text) == (Verdict.PROVED, None)


# T4: what is proved of a torch is proved until it burns out, and that is said with it.
def test_a_proof_says_which_torch_the_world_can_burn_out() -> None:
    proof = outcomes(MILL + 'always "gap" every gap of dry lasts at least 2gt\n')["gap"].proof
    assert proof is not None
    assert [(each.torch, each.span, each.at) for each in proof.burn_outs] == [("dry", 28, 30)]
