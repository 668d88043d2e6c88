"""How a torch burns out and relights, and where the sets of rules differ (common practice, no source; rule T4)."""

from __future__ import annotations

import pytest

from .driving import Act, drive, edges, offs, pulse

TORCH = "lever pond\ntorch rope from pond\n"
SEVEN = (10, 18, 26, 34, 42, 50, 58)
"""The gt at which the lever goes on, for 4 gt, seven times: the torch goes off 2 gt later each time."""


def seven_offs() -> list[Act]:
    return [act for at in SEVEN for act in pulse("pond", at, 4)]


def after_seven(last_on: int, *more: Act) -> list[Act]:
    """Seven offs at 12, 20 … 60, then the lever on at `last_on` and whatever comes after."""
    return [*seven_offs(), (last_on, "pond", "on"), *more]


def test_seven_offs_do_not_burn_a_torch_out() -> None:
    """Common practice, no source; rule T4: it is the 8th that does."""
    run = drive(TORCH, seven_offs(), 100)
    assert offs(run, "rope") == [(at + 2, at + 6) for at in SEVEN]


@pytest.mark.parametrize(
    ("rules", "window"),
    [("newer", 60), ("newest", 60), ("newer\nsetting burn_out_window 100gt", 100)],
)
def test_an_off_exactly_one_window_old_still_counts(rules: str, window: int) -> None:
    """Common practice, no source; rule T4: the first off is at 12; an 8th at 12 + window burns out, one gt later not.

    Under older rules this can't be seen: the next look is 2 gt later, and by then the first off is out of the window.
    """
    burning = drive(f"rules {rules}\n" + TORCH, after_seven(10 + window, (12 + window, "pond", "off")), 150)
    assert offs(burning, "rope")[7] == (12 + window, None)
    sound = drive(f"rules {rules}\n" + TORCH, after_seven(11 + window, (13 + window, "pond", "off")), 150)
    assert offs(sound, "rope")[7] == (13 + window, 15 + window)


@pytest.mark.parametrize("rules", ["newer", "newest"])
def test_a_burnt_out_torch_relights_by_itself_after_160_gt(rules: str) -> None:
    """Common practice, no source; rule T4: dark at 72, its wait over at 232, calls in between begin nothing (C4)."""
    acts = after_seven(70, (80, "pond", "off"), (150, "pond", "on"), (200, "pond", "off"))
    run = drive(f"rules {rules}\n" + TORCH, acts, 400)
    assert offs(run, "rope")[7:] == [(72, 232)]


@pytest.mark.parametrize("rules", ["newer", "newest"])
def test_a_burnt_out_torch_whose_block_is_powered_at_its_look_waits_to_be_told(rules: str) -> None:
    """Common practice, no source; rule T4: any look relights it only if its block is unpowered."""
    run = drive(f"rules {rules}\n" + TORCH, after_seven(70, (300, "pond", "off")), 400)
    assert offs(run, "rope")[7:] == [(72, 302)]


def test_under_older_rules_a_burnt_out_torch_never_looks_again_by_itself() -> None:
    """Common practice, no source; rule T4: told at 80, it looks at 82, when 8 offs still lie in the window."""
    run = drive("rules older\n" + TORCH, after_seven(70, (80, "pond", "off")), 2000)
    assert offs(run, "rope")[7:] == [(72, None)]


@pytest.mark.parametrize(("told", "relights"), [(110, None), (111, 113)])
def test_under_older_rules_a_told_torch_relights_when_fewer_than_eight_offs_lie_in_the_window(
    told: int, relights: int | None
) -> None:
    """Common practice, no source; rule T4: the first off, at 12, is 100 gt old at 112 and still counts; not at 113."""
    run = drive("rules older\n" + TORCH, after_seven(70, (told, "pond", "off")), 400)
    assert offs(run, "rope")[7:] == [(72, relights)]


@pytest.mark.parametrize(("rules", "burns"), [("older", True), ("newer", False), ("newest", False)])
def test_eight_offs_within_84_gt_burn_out_under_older_rules_only(rules: str, burns: bool) -> None:
    """Common practice, no source; rules T4 and T6: period 12 gt, window 100 gt older, 60 gt newer and newest."""
    acts = [act for at in range(10, 106, 12) for act in pulse("pond", at, 6)]
    run = drive(f"rules {rules}\n" + TORCH, acts, 200)
    assert offs(run, "rope")[7] == (96, None if burns else 102)


def test_a_torch_in_a_feedback_that_already_calls_it_begins_no_wait_of_its_own() -> None:
    """Common practice, no source; rules T4 and C4: its neighbours are updated first, and here that calls it.

    The torch powers its own block over a dust. It looks at 32, too early, and the lever's call at 100 relights it.
    """
    body = "lever pond\ndust sill from rope, pond\ntorch rope from sill starts on\n"
    assert offs(drive(body, [], 1000), "rope")[7:] == [(30, None)]
    called = drive(body, pulse("pond", 95, 5), 103)
    assert offs(called, "rope")[7:] == [(30, 102)]


LATCH = "lever pond\nlever race\nlatch gate set pond reset race starts set\n"


def turns(first: int, period: int, count: int) -> list[Act]:
    """Reset and set worked in turn, half a period each, `count` times, ending with set."""
    half = period // 2
    found: list[Act] = []
    for at in range(first, first + period * count, period):
        found += [*pulse("race", at, half), *pulse("pond", at + half, half)]
    return found


def test_the_eight_offs_of_a_bare_latch_fit_in_42_gt() -> None:
    """Common practice, no source; rule T4."""
    run = drive(LATCH, turns(10, 6, 8), 200)
    found = offs(run, "gate")
    assert len(found) == 8
    assert found[7][0] - found[0][0] == 42
    assert found[7] == (54, None)


def test_seven_offs_of_a_bare_latch_leave_it_sound() -> None:
    """Common practice, no source; rule T4."""
    run = drive(LATCH, turns(10, 6, 7), 200)
    assert len(offs(run, "gate")) == 7
    assert run.level("gate") == 15


WORKED_EXAMPLE = """
lever pond
lever race
detector rise watches pond
detector fall watches race
repeater opening from rise delay 2t
repeater closing from fall delay 2t
latch gate set opening reset closing starts set
"""


def test_the_eight_offs_of_the_worked_example_fit_in_56_gt() -> None:
    """Common practice, no source; rule T4: a ripple on each side in turn, every 4 gt."""
    acts: list[Act] = []
    for at in range(10, 74, 8):
        acts += [(at, "race", "throw"), (at + 4, "pond", "throw")]
    run = drive(WORKED_EXAMPLE, acts, 230)
    found = offs(run, "gate")
    assert len(found) == 8
    assert found[7][0] - found[0][0] == 56
    assert found[7] == (74, None)
    assert edges(run, "gate")[-1] == (74, 0)
