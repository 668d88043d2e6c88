"""What calls of a piston do while it travels, or between its call and its start (common practice, no source; O3)."""

from __future__ import annotations

import pytest

from .driving import OUTSIDE_FIRST, drive, edges, gap, pulse


@pytest.mark.parametrize(("kind", "block"), [("", [(16, 15)]), ("sticky ", [(16, 15), (26, 0), (32, 15)])])
def test_a_piston_powered_again_on_its_way_home_starts_out_on_arrival(kind: str, block: list[tuple[int, int]]) -> None:
    """Common practice, no source; rule O3: powered 10–20 and from 23, travel 6 gt: out at 16, home at 26, out at 32."""
    body = f"lever pond\nrepeater rope from pond\npiston gate from rope {kind}travel 6gt\n"
    run = drive(body, [(8, "pond", "on"), *gap("pond", 18, 3)], 60)
    assert edges(run, "gate") == [(16, 15), (26, 0), (32, 15)]
    assert edges(run, "gate.block") == block


def test_a_call_that_came_to_nothing_leaves_a_piston_free_for_the_next() -> None:
    """Common practice, no source; rule O3: its power goes and comes back within gt 12; it goes again at 32."""
    body = (
        "lever pond starts on\nlever race\nrepeater rope from pond\nrepeater bell from race\n"
        "piston gate from rope, bell\n"
    )
    run = drive(body, [(10, "pond", "off"), (10, "race", "on"), (30, "race", "off")], 60)
    assert edges(run, "gate") == [(35, 0)]


def test_a_change_of_level_does_not_call_a_piston_that_is_on_its_way() -> None:
    """Common practice, no source; rule O3: a comparator gives it 9 at 10 and 5 at 12; it is out at 13 for good."""
    body = "analogue pond\ncomparator wheel from pond\npiston gate from wheel\n"
    run = drive(body, [(8, "pond", "9"), (10, "pond", "5")], 60)
    assert edges(run, "wheel") == [(10, 9), (12, 5)]
    assert edges(run, "gate") == [(13, 15)]


def test_a_stuck_piston_whose_arming_goes_before_it_starts_stays_and_can_be_called_again() -> None:
    """Common practice, no source; rules D2 and O3: told at 12 while armed, not armed at its start; told again at 30."""
    body = (
        "lever pond\nlever race\nrepeater bell from pond\ntorch ready from race\n"
        "detector knock arming ready hears bell\n"
    )
    run = drive(body, [(10, "pond", "on"), *pulse("race", 10, 10), (28, "pond", "off")], 60)
    assert edges(run, "ready") == [(12, 0), (22, 15)]
    assert edges(run, "bell") == [(12, 15), (30, 0)]
    assert edges(run, "knock") == [(33, 15)]


def test_a_stuck_piston_hears_the_light_of_a_lamp_and_not_its_power() -> None:
    """Common practice, no source; rules D3, D2 and O2: armed at 15, the lamp's power goes at 20, its light at 24."""
    body = "lever pond\nlever race\nlamp open from pond\ndetector knock arming race hears open\n"
    run = drive(body, [*pulse("pond", 10, 10), (15, "race", "on")], 60)
    assert edges(run, "open") == [(10, 15), (24, 0)]
    assert edges(run, "knock") == [(27, 15)]


@pytest.mark.parametrize(("length", "block"), [(2, [(13, 15)]), (3, [(13, 15), (16, 0)]), (4, [(13, 15), (17, 0)])])
def test_a_pulse_as_long_as_the_travel_is_not_short_though_it_ends_before_the_arrival(
    length: int, block: list[tuple[int, int]]
) -> None:
    """Common practice, no source; rules O3, D1 and C3: out of a detector, in class 4 like the arrival, begun before it.

    The pulse begins at 10. One of 2 gt is over before the arrival at 13, so the piston lets go of its block.
    """
    body = f"lever pond\ndetector rope watches pond pulse {length}gt\npiston gate from rope sticky\n"
    assert edges(drive(body, [(8, "pond", "on")], 60), "gate.block") == block


@pytest.mark.parametrize(("setting", "starts"), [("", 11), (OUTSIDE_FIRST, 10)])
def test_a_piston_called_by_hand_starts_at_the_next_moment_of_pistons(setting: str, starts: int) -> None:
    """Common practice, no source; rules O3 and C2: hands reach in after pistons start, or first of all."""
    run = drive(f"{setting}lever pond\npiston gate from pond\n", pulse("pond", 10, 20), 60)
    assert edges(run, "gate") == [(starts + 3, 15), (starts + 23, 0)]
