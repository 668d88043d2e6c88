"""The set–reset latch, and the repeater before it (common practice, no source; rules L1 to L4)."""

from __future__ import annotations

import pytest

from .driving import OUTSIDE_FIRST, Act, drive, edges, ons, proceed, pulse, start

LATCH = "lever pond\nlever race\nlatch gate set pond reset race starts reset\n"

NEITHER_NOR_BOTH = (
    LATCH
    + """
junction any joins gate, gate.inverse
torch gate_off from gate
torch inverse_off from gate.inverse
torch both from gate_off, inverse_off
"""
)
"""With parts that say whether any side of the latch is on, and whether both are."""


@pytest.mark.parametrize("starts", ["set", "reset"])
@pytest.mark.parametrize(
    ("set_on", "reset_on", "expected"),
    [(False, False, None), (True, False, (15, 0)), (False, True, (0, 15)), (True, True, (0, 0))],
)
def test_the_characteristic_table_of_a_set_reset_latch(
    starts: str, set_on: bool, reset_on: bool, expected: tuple[int, int] | None
) -> None:
    """Published: any digital design textbook, the NOR latch; rule L2: 00 hold, 10 set, 01 reset, 11 both off."""
    held = (15, 0) if starts == "set" else (0, 15)
    acts: list[Act] = [(10, "pond", "on")] * set_on + [(10, "race", "on")] * reset_on
    run = drive(LATCH.replace("starts reset", f"starts {starts}"), acts, 40)
    assert (run.level("gate"), run.level("gate.inverse")) == (expected or held)


def test_two_cross_coupled_torches_are_the_latch() -> None:
    """Common practice, no source; rule L1: each one's output feeds the other's block."""
    torches = "lever pond\nlever race\ntorch gate from race, wheel starts off\ntorch wheel from pond, gate starts on\n"
    acts = [*pulse("pond", 10, 7), *pulse("race", 30, 5), *pulse("pond", 50, 1), *pulse("pond", 60, 2)]
    by_hand, latch = drive(torches, acts, 100), drive(LATCH, acts, 100)
    assert len(edges(latch, "gate")) == 3
    assert edges(by_hand, "gate") == edges(latch, "gate")
    assert edges(by_hand, "wheel") == edges(latch, "gate.inverse")


def test_a_latch_holds_when_its_input_goes() -> None:
    """Published: any digital design textbook, the table of the NOR latch; rule L2."""
    run = drive(LATCH, pulse("pond", 10, 20), 1000)
    assert run.is_on("gate")
    assert not proceed(run, pulse("race", 1010, 20), 2000).is_on("gate")


def test_a_latch_is_set_four_gt_after_its_input_with_both_sides_off_between() -> None:
    """Common practice, no source; rule L3: set at 10 → inverse off 12, latch side on 14; on the way back likewise."""
    run = drive(LATCH, [*pulse("pond", 10, 20), (50, "race", "on")], 100)
    assert edges(run, "gate.inverse") == [(12, 0), (54, 15)]
    assert edges(run, "gate") == [(14, 15), (52, 0)]


@pytest.mark.parametrize(("length", "latches"), [(1, False), (2, True), (3, True)])
def test_the_shortest_set_pulse_by_hand_last_is_two_gt(length: int, latches: bool) -> None:
    """Common practice, no source; rule L3."""
    assert drive(LATCH, pulse("pond", 10, length), 60).is_on("gate") is latches


@pytest.mark.parametrize(("length", "latches"), [(2, False), (3, True)])
def test_by_hand_first_two_gt_do_not_latch(length: int, latches: bool) -> None:
    """Common practice, no source; rules L3 and T3: outside first, 2 gt do nothing to the torch."""
    assert drive(OUTSIDE_FIRST + LATCH, pulse("pond", 10, length), 60).is_on("gate") is latches


@pytest.mark.parametrize(("length", "latches"), [(1, False), (2, False), (3, True), (4, True)])
def test_the_shortest_set_pulse_out_of_a_repeater_is_more_than_two_gt(length: int, latches: bool) -> None:
    """Common practice, no source; rule L3."""
    body = "lever pond\nlever race\nrepeater mill from pond\nlatch gate set mill reset race starts reset\n"
    assert drive(body, pulse("pond", 10, length), 60).is_on("gate") is latches


@pytest.mark.parametrize(("length", "latches"), [(1, False), (2, False), (3, True), (4, True)])
def test_the_shortest_set_pulse_out_of_a_detector_is_more_than_two_gt(length: int, latches: bool) -> None:
    """Common practice, no source; rule L3."""
    body = (
        f"lever pond\nlever race\ndetector ripple watches pond pulse {length}gt\n"
        "latch gate set ripple reset race starts reset\n"
    )
    assert drive(body, [(10, "pond", "on")], 60).is_on("gate") is latches


def forbidden_then(set_off: int, reset_off: int) -> list[Act]:
    return [(10, "pond", "on"), (10, "race", "on"), (set_off, "pond", "off"), (reset_off, "race", "off")]


def test_both_inputs_on_is_forbidden_and_both_sides_are_off() -> None:
    """Published: any digital design textbook; rules L1 and L2."""
    run = drive(NEITHER_NOR_BOTH, [(10, "pond", "on"), (10, "race", "on")], 60)
    assert edges(run, "any") == [(12, 0)]
    assert run.level("gate") == run.level("gate.inverse") == 0


def test_both_inputs_released_in_one_gt_is_a_race_for_one_side() -> None:
    """Common practice, no source; rule L4: exactly one side comes on, 2 gt later; both can be reached."""
    run = drive(NEITHER_NOR_BOTH, forbidden_then(30, 30), 31)
    assert run.levels("gate") == run.levels("gate.inverse") == {0}
    run.run(gt=1)
    assert run.levels("gate") == {0, 15}
    assert run.levels("gate.inverse") == {0, 15}
    run.run(gt=100)
    assert run.levels("gate") == {0, 15}
    assert edges(run, "any")[-1] == (32, 15)
    assert [at for at, level in edges(run, "both") if level and at > 30] == []


def test_set_released_one_gt_before_reset_is_no_race() -> None:
    """Common practice, no source; rule L4: at 30 and 31, the inverse side on at 32, the latch stays reset."""
    run = drive(LATCH, forbidden_then(30, 31), 100)
    assert edges(run, "gate.inverse") == [(12, 0), (32, 15)]
    assert edges(run, "gate") == []


def test_reset_released_one_gt_before_set_is_no_race() -> None:
    """Common practice, no source; rule L4, the other way round."""
    run = drive(LATCH, forbidden_then(31, 30), 100)
    assert edges(run, "gate") == [(32, 15)]
    assert edges(run, "gate.inverse") == [(12, 0)]


def detector_repeater_latch(repeater: int, pulse_length: str) -> str:
    """A lever, a detector, a repeater of so many t (0 for none), and the set side of a latch."""
    sets = "mill" if repeater else "ripple"
    between = f"repeater mill from ripple delay {repeater}t\n" if repeater else ""
    return (
        f"lever pond\nlever race\ndetector ripple watches pond delay 1t pulse {pulse_length}\n{between}"
        f"latch gate set {sets} reset race starts reset\nlamp open from gate\nlamp shut from gate.inverse\n"
    )


@pytest.mark.parametrize(
    ("repeater", "pulse_length", "comes_on"),
    [
        (0, "1t", None),
        (1, "1t", None),
        (2, "1t", 20),
        (3, "1t", 22),
        (4, "1t", 24),
        (1, "2t", 18),
        (2, "2t", 20),
        (3, "2t", 22),
        (4, "2t", 24),
    ],
)
def test_which_repeater_between_a_detector_and_a_latch_works(
    repeater: int, pulse_length: str, comes_on: int | None
) -> None:
    """Common practice, no source; rules T3, D1, R3 and L3: the lever at gt 10."""
    run = drive(detector_repeater_latch(repeater, pulse_length), [(10, "pond", "on")], 200)
    assert edges(run, "gate") == ([] if comes_on is None else [(comes_on, 15)])


def test_the_pulse_of_one_tick_leaves_a_repeater_of_one_tick_as_two_gt() -> None:
    """Common practice, no source; rules D1 and R3, the reason why the latch does not feel it."""
    run = drive(detector_repeater_latch(1, "1t"), [(10, "pond", "on")], 60)
    assert ons(run, "ripple") == [(12, 14)]
    assert ons(run, "mill") == [(14, 16)]


def test_the_lamps_of_both_sides_are_lit_together_for_a_while() -> None:
    """Common practice, no source; rules L3 and O2: latch side on 20, inverse side off 18, its lamp dark 22."""
    run = drive(detector_repeater_latch(2, "1t"), [(10, "pond", "on")], 60)
    assert edges(run, "gate") == [(20, 15)]
    assert edges(run, "gate.inverse") == [(18, 0)]
    assert edges(run, "open") == [(20, 15)]
    assert edges(run, "shut") == [(22, 0)]


def test_a_latch_starts_as_declared() -> None:
    """Common practice, no source; rules L5 and C6."""
    assert not start(LATCH).is_on("gate")
    assert start(LATCH).is_on("gate.inverse")
    assert start(LATCH.replace("starts reset", "starts set")).is_on("gate")
