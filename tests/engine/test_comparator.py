"""The comparator: compare and subtract, 1t late (common practice, no source; rule K1)."""

from __future__ import annotations

import pytest

from .driving import Act, drive, edges, proceed, pulse, start

LEVELS = range(16)


@pytest.mark.parametrize("rear", LEVELS)
def test_compare_passes_the_rear_unless_a_side_is_stronger(rear: int) -> None:
    """Common practice, no source; rule K1: rear if rear ≥ the stronger side, else 0."""
    run = start("analogue pond\nanalogue race\ncomparator mill from pond side race\n")
    proceed(run, [(10, "pond", str(rear))], 19)
    for side in LEVELS:
        proceed(run, [(run.now + 1, "race", str(side))], run.now + 10)
        assert run.level("mill") == (rear if rear >= side else 0)


@pytest.mark.parametrize("rear", LEVELS)
def test_subtract_takes_the_side_from_the_rear_but_not_below_nothing(rear: int) -> None:
    """Common practice, no source; rule K1: rear − stronger side, not below 0."""
    run = start("analogue pond\nanalogue race\ncomparator mill from pond side race subtract\n")
    proceed(run, [(10, "pond", str(rear))], 19)
    for side in LEVELS:
        proceed(run, [(run.now + 1, "race", str(side))], run.now + 10)
        assert run.level("mill") == max(rear - side, 0)


@pytest.mark.parametrize(("left", "right"), [(3, 6), (6, 3), (6, 6), (0, 6), (6, 0)])
def test_the_stronger_of_two_sides_counts(left: int, right: int) -> None:
    """Common practice, no source; rule K1: the rear is 9, the stronger side 6."""
    body = "analogue pond\nanalogue race\nanalogue gate\ncomparator mill from pond side race, gate subtract\n"
    run = drive(body, [(10, "pond", "9"), (20, "race", str(left)), (30, "gate", str(right))], 60)
    assert run.level("mill") == 3


def test_a_comparator_without_sides_passes_its_rear_one_tick_late() -> None:
    """Common practice, no source; rule K1."""
    run = drive("analogue pond\ncomparator mill from pond\n", [(10, "pond", "7"), (20, "pond", "4")], 60)
    assert edges(run, "mill") == [(12, 7), (22, 4)]


def test_a_comparator_gives_what_its_inputs_say_when_the_wait_is_over() -> None:
    """Common practice, no source; rules K1 and C4: called by 5 at 10, it gives the 9 of 11 at 12, by one wait."""
    run = drive("analogue pond\ncomparator mill from pond\n", [(10, "pond", "5"), (11, "pond", "9")], 60)
    assert edges(run, "mill") == [(12, 9)]


def test_a_comparator_is_called_by_its_side_as_well() -> None:
    """Common practice, no source; rule K1."""
    body = "analogue pond\nanalogue race\ncomparator mill from pond side race\n"
    run = drive(body, [(10, "pond", "7"), (20, "race", "8"), (30, "race", "7")], 60)
    assert edges(run, "mill") == [(12, 7), (22, 0), (32, 7)]


def test_a_change_that_leaves_its_value_as_it_was_calls_nothing() -> None:
    """Common practice, no source; rule K1: called when the value differs from what it gives."""
    body = "analogue pond\nanalogue race\ncomparator mill from pond side race\n"
    run = drive(body, [(10, "pond", "7"), (20, "race", "3"), (30, "race", "7")], 60)
    assert edges(run, "mill") == [(12, 7)]


@pytest.mark.parametrize(("length", "expected"), [(2, []), (3, [(14, 15), (17, 0)])])
def test_a_pulse_of_two_gt_out_of_a_repeater_is_swallowed(length: int, expected: list[tuple[int, int]]) -> None:
    """Common practice, no source; rule K1."""
    acts: list[Act] = pulse("pond", 10, length)
    body = "lever pond\nrepeater rope from pond\ncomparator mill from rope\n"
    over_dust = "lever pond\nrepeater rope from pond\ndust sill from rope\ncomparator mill from sill\n"
    assert edges(drive(body, acts, 60), "mill") == expected

    assert edges(drive(over_dust, acts, 60), "mill") == expected


@pytest.mark.parametrize(("length", "expected"), [(2, []), (3, [(14, 15), (17, 0)])])
def test_a_pulse_of_two_gt_out_of_a_detector_is_swallowed(length: int, expected: list[tuple[int, int]]) -> None:
    """Common practice, no source; rules K1 and D1."""
    body = f"lever pond\ndetector ripple watches pond pulse {length}gt\ncomparator mill from ripple\n"
    assert edges(drive(body, [(10, "pond", "on")], 60), "mill") == expected
