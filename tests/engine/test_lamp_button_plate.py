"""Lever, button, plate and lamp (common practice, no source; rules O1 and O2)."""

from __future__ import annotations

import pytest

from .driving import OUTSIDE_FIRST, Act, drive, edges, gap, ons, pulse


@pytest.mark.parametrize(("kind", "hold"), [("short", 20), ("long", 30)])
def test_a_button_holds_ten_or_fifteen_ticks(kind: str, hold: int) -> None:
    """Common practice, no source; rule O1."""
    run = drive(f"button rope {kind}\n", [(10, "rope", "press")], 100)
    assert edges(run, "rope") == [(10, 15), (10 + hold, 0)]


@pytest.mark.parametrize(("kind", "hold"), [("short", 20), ("long", 30)])
@pytest.mark.parametrize("again", [11, 20, 29])
def test_a_press_while_a_button_is_held_is_ignored(kind: str, hold: int, again: int) -> None:
    """Common practice, no source; rule O1."""
    run = drive(f"button rope {kind}\n", [(10, "rope", "press"), (again, "rope", "press")], 100)
    assert ons(run, "rope") == [(10, 10 + hold)]


@pytest.mark.parametrize(("setting", "ends"), [("", 50), (OUTSIDE_FIRST, 30)])
def test_a_press_in_the_gt_of_the_release_counts_if_it_comes_after(setting: str, ends: int) -> None:
    """Common practice, no source; rules O1 and C2: by hand last the button is free again at 30."""
    run = drive(setting + "button rope short\n", [(10, "rope", "press"), (30, "rope", "press")], 100)
    assert edges(run, "rope")[-1] == (ends, 0)


def test_a_lever_stays_until_it_is_thrown_back() -> None:
    """Common practice, no source; rule O1."""
    run = drive("lever pond\n", [(10, "pond", "throw"), (5000, "pond", "throw")], 6000)
    assert edges(run, "pond") == [(10, 15), (5000, 0)]


@pytest.mark.parametrize(("leaves", "released"), [(11, 30), (29, 30), (30, 50), (35, 50), (49, 50), (50, 70), (70, 90)])
def test_a_plate_is_released_at_a_look_that_finds_nobody(leaves: int, released: int) -> None:
    """Common practice, no source; rules O1 and C2: stepped on at 10, looks at 30, 50, 70 …; leaving last in a gt."""
    run = drive("plate sill\n", [(10, "sill", "on"), (leaves, "sill", "off")], 200)
    assert ons(run, "sill") == [(10, released)]


def test_a_plate_that_is_left_and_stepped_on_between_two_looks_stays_on() -> None:
    """Common practice, no source; rule O1: the look at 30 finds somebody, that of 50 nobody."""
    acts = [(10, "sill", "on"), (15, "sill", "off"), (25, "sill", "on"), (31, "sill", "off")]
    assert ons(drive("plate sill\n", acts, 200), "sill") == [(10, 50)]


def test_a_released_plate_counts_its_looks_from_the_next_first_step() -> None:
    """Common practice, no source; rule O1."""
    acts = [(10, "sill", "on"), (11, "sill", "off"), (37, "sill", "on"), (38, "sill", "off")]
    assert ons(drive("plate sill\n", acts, 200), "sill") == [(10, 30), (37, 57)]


def test_leaving_a_plate_that_nobody_stands_on_does_nothing() -> None:
    """Common practice, no source; rule O1: only a step presses it."""
    assert edges(drive("plate sill\n", [(10, "sill", "off")], 60), "sill") == []


LAMP = "lever pond\nlamp open from pond\n"
LIT = "lever pond starts on\nlamp open from pond\n"


def test_a_lamp_is_on_at_once_and_dark_two_ticks_after_its_power_goes() -> None:
    """Common practice, no source; rule O2."""
    assert edges(drive(LAMP, pulse("pond", 10, 20), 60), "open") == [(10, 15), (34, 0)]


def test_a_lamp_powered_for_two_gt_is_lit_for_six() -> None:
    """Common practice, no source; rule O2: powered 10–12, dark at 16."""
    assert edges(drive(LAMP, pulse("pond", 10, 2), 60), "open") == [(10, 15), (16, 0)]


def test_the_wait_of_a_lamp_runs_from_when_its_power_first_goes_and_is_not_restarted() -> None:
    """Common practice, no source; rules O2 and C4: power off at 10, on at 11, off at 13: dark at 14, not at 17."""
    run = drive(LIT, [*gap("pond", 10, 1), (13, "pond", "off")], 60)
    assert edges(run, "open") == [(14, 0)]


@pytest.mark.parametrize("length", [1, 2, 3])
def test_a_lamp_that_is_powered_again_when_the_wait_is_over_stays_lit(length: int) -> None:
    """Common practice, no source; rule O2."""
    assert edges(drive(LIT, gap("pond", 10, length), 60), "open") == []


def test_a_lamp_whose_power_goes_after_a_spent_wait_waits_afresh() -> None:
    """Common practice, no source; rule O2: off 10–11 comes to nothing at 14, off at 16 makes it dark at 20."""
    run = drive(LIT, [*gap("pond", 10, 1), (16, "pond", "off")], 60)
    assert edges(run, "open") == [(20, 0)]


@pytest.mark.parametrize(("setting", "expected"), [("", [(18, 22)]), (OUTSIDE_FIRST, [])])
def test_power_that_returns_in_the_gt_of_going_dark(setting: str, expected: list[tuple[int, int | None]]) -> None:
    """Common practice, no source; rules O2 and C2: by hand last the lamp goes dark and is lit again within gt 14."""
    body = setting + LIT + "detector ripple watches open delay 2t pulse 2t\n"
    run = drive(body, gap("pond", 10, 4), 60)
    assert edges(run, "open") == []
    assert ons(run, "ripple") == expected


def test_a_lamp_passes_on_its_power_and_not_its_light() -> None:
    """Common practice, no source; rule O2: it is a solid block; it is lit till 24, but powered only till 20."""
    run = drive(LAMP + "dust sill from open\ntorch rope from open\n", pulse("pond", 10, 10), 60)
    assert edges(run, "open") == [(10, 15), (24, 0)]
    assert edges(run, "sill") == [(10, 15), (20, 0)]
    assert edges(run, "rope") == [(12, 0), (22, 15)]


def test_a_lamp_powered_by_dust_is_a_weakly_powered_block() -> None:
    """Common practice, no source; rules O2 and P4: a torch at it answers, dust beside it does not."""
    body = "lever pond\ndust row from pond\nlamp open from row\ndust sill from open\ntorch rope from open\n"
    acts: list[Act] = [(10, "pond", "on")]
    run = drive(body, acts, 60)
    assert edges(run, "open") == [(10, 15)]
    assert edges(run, "sill") == []
    assert edges(run, "rope") == [(12, 0)]
