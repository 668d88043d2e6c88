"""The piston: when it starts, how it travels, how a sticky one lets go (common practice, no source; rule O3)."""

from __future__ import annotations

import pytest

from .driving import Act, drive, edges, pulse

BY_HAND = "lever pond\npiston gate from pond\n"
BY_PART = "lever pond\nrepeater rope from pond\npiston gate from rope\n"
"""The repeater calls the piston 2 gt after the lever."""
STICKY = "lever pond\nrepeater rope from pond\npiston gate from rope sticky\n"


def test_a_piston_called_by_a_part_starts_in_that_gt() -> None:
    """Common practice, no source; rule O3: called at 10, travel 3 gt, out at 13; home likewise."""
    assert edges(drive(BY_PART, pulse("pond", 8, 20), 60), "gate") == [(13, 15), (33, 0)]


def test_a_piston_called_by_hand_starts_in_the_next_gt() -> None:
    """Common practice, no source; rules O3 and C2: called at 10, started at 11, out at 14; home likewise."""
    assert edges(drive(BY_HAND, pulse("pond", 10, 20), 60), "gate") == [(14, 15), (34, 0)]


@pytest.mark.parametrize("travel", [2, 3, 4, 7])
def test_the_travel_of_a_piston_is_settable(travel: int) -> None:
    """Common practice, no source; rule O3."""
    run = drive(BY_PART.replace("from rope", f"from rope travel {travel}gt"), pulse("pond", 8, 20), 60)
    assert edges(run, "gate") == [(10 + travel, 15), (30 + travel, 0)]


def test_a_piston_no_longer_called_for_when_pistons_start_stays() -> None:
    """Common practice, no source; rules O3 and C3: its power goes and comes back within gt 12, before pistons start."""
    body = (
        "lever pond starts on\nlever race\nrepeater rope from pond\nrepeater bell from race\n"
        "piston gate from rope, bell\n"
    )
    away = drive(body, [(10, "pond", "off")], 60)
    assert edges(away, "gate") == [(15, 0)]
    back = drive(body, [(10, "pond", "off"), (10, "race", "on")], 60)
    assert edges(back, "rope") == [(12, 0)]
    assert edges(back, "bell") == [(12, 15)]
    assert edges(back, "gate") == []


def test_a_piston_answers_to_weak_power() -> None:
    """Common practice, no source; rules O3 and P4."""
    body = "lever pond\nrepeater rope from pond\ndust row from rope\nblock wall from row\npiston gate from wall\n"
    assert edges(drive(body, pulse("pond", 8, 20), 60), "gate") == [(13, 15), (33, 0)]


@pytest.mark.parametrize("length", [2, 3, 4, 20])
def test_a_plain_piston_leaves_its_block_out(length: int) -> None:
    """Common practice, no source; rule O3: only a sticky one brings it back."""
    run = drive(BY_PART, pulse("pond", 8, length), 100)
    assert edges(run, "gate")[-1][1] == 0
    assert edges(run, "gate.block") == [(13, 15)]


@pytest.mark.parametrize("length", [3, 4, 20])
def test_a_sticky_piston_brings_its_block_back(length: int) -> None:
    """Common practice, no source; rule O3: a pulse as long as the travel is not shorter than it."""
    run = drive(STICKY, pulse("pond", 8, length), 100)
    home = 10 + length + 3
    assert edges(run, "gate") == [(13, 15), (home, 0)]
    assert edges(run, "gate.block") == [(13, 15), (home, 0)]


def test_a_sticky_piston_lets_go_at_a_pulse_shorter_than_its_travel_and_fetches_at_the_next() -> None:
    """Common practice, no source; rule O3: pulses of 2 gt at 10, 40, 70: the block goes out, home, and out again."""
    acts: list[Act] = [*pulse("pond", 8, 2), *pulse("pond", 38, 2)]
    run = drive(STICKY, acts, 65)
    assert run.level("gate") == 0
    assert [level for _, level in edges(run, "gate.block")] == [15, 0]
    first = drive(STICKY, acts[:2], 35)
    assert first.level("gate") == 0
    assert first.level("gate.block") == 15
    third = drive(STICKY, [*acts, *pulse("pond", 68, 2)], 100)
    assert third.level("gate") == 0
    assert third.level("gate.block") == 15


def test_what_counts_as_a_short_pulse_depends_on_the_travel() -> None:
    """Common practice, no source; rule O3: 4 gt are shorter than a travel of 5 gt, and not than one of 4."""
    acts = pulse("pond", 8, 4)
    lets_go = drive(STICKY.replace("sticky", "sticky travel 5gt"), acts, 60)
    assert (lets_go.level("gate"), lets_go.level("gate.block")) == (0, 15)
    holds = drive(STICKY.replace("sticky", "sticky travel 4gt"), acts, 60)
    assert (holds.level("gate"), holds.level("gate.block")) == (0, 0)


def test_under_the_setting_a_sticky_piston_never_lets_go() -> None:
    """Common practice, no source; rule O3."""
    run = drive("setting sticky_lets_go no\n" + STICKY, pulse("pond", 8, 2), 60)
    assert run.level("gate") == 0
    assert [level for _, level in edges(run, "gate.block")] == [15, 0]
