"""The repeater: one way, 1t to 4t, what it does to pulses and gaps (common practice, no source; rules R1 to R4, R6)."""

from __future__ import annotations

from itertools import product

import pytest

from .driving import DELAYS, OUTSIDE_FIRST, Act, drive, edges, gap, offs, ons, pulse, start

LENGTHS = range(1, 13)
TABLE = list(product(DELAYS, LENGTHS))


def one_repeater(delay: int, starts: str = "off") -> str:
    return f"lever pond starts {starts}\nrepeater mill from pond delay {delay}t\n"


@pytest.mark.parametrize("level", range(16))
def test_a_repeater_takes_any_level_from_one_and_gives_fifteen(level: int) -> None:
    """Common practice, no source; rule R1."""
    run = drive("analogue pond\nrepeater mill from pond\n", [(10, "pond", str(level))], 30)
    assert run.level("mill") == (15 if level else 0)


def test_a_repeater_takes_the_last_of_fifteen_dust() -> None:
    """Common practice, no source; rules R1 and P2."""
    run = drive("lever pond\ndust sill from pond length 15\nrepeater mill from sill\n", [(10, "pond", "on")], 30)
    assert run.level("sill") == 1
    assert edges(run, "mill") == [(12, 15)]


def test_a_repeater_lets_nothing_back() -> None:
    """Common practice, no source; rule R1: one way."""
    body = "lever pond\nlever race\ndust sill from pond\nrepeater mill from sill\ndust tail from mill, race\n"
    run = drive(body, [(10, "race", "on")], 30)
    assert run.level("tail") == 15
    assert run.level("sill") == 0
    assert run.level("mill") == 0


@pytest.mark.parametrize("delay", DELAYS)
def test_a_repeater_goes_on_whatever_its_input_is_by_then(delay: int) -> None:
    """Common practice, no source; rule R2: and, the input off already, goes off one delay later."""
    run = drive(one_repeater(delay), pulse("pond", 10, 1), 60)
    assert edges(run, "mill") == [(10 + 2 * delay, 15), (10 + 4 * delay, 0)]


@pytest.mark.parametrize(("delay", "length"), TABLE)
@pytest.mark.parametrize("setting", ["", OUTSIDE_FIRST])
def test_a_single_pulse_comes_out_as_long_as_the_longer_of_itself_and_the_delay(
    delay: int, length: int, setting: str
) -> None:
    """Common practice, no source; rule R3: starting one delay later, and never swallowed."""
    run = drive(setting + one_repeater(delay), pulse("pond", 10, length), 60)
    begins = 10 + 2 * delay
    assert ons(run, "mill") == [(begins, begins + max(length, 2 * delay))]


@pytest.mark.parametrize(("length", "delay", "comes_out"), [(1, 1, 2), (2, 3, 6), (10, 4, 10)])
def test_the_worked_pulses_through_a_repeater(length: int, delay: int, comes_out: int) -> None:
    """Common practice, no source; rule R3: in 1 gt at 1t → 2 gt; in 2 gt at 3t → 6 gt; in 10 gt at 4t → 10 gt."""
    run = drive(one_repeater(delay), pulse("pond", 10, length), 60)
    assert [each.length for each in run.pulses("mill")] == [comes_out]


@pytest.mark.parametrize(("delay", "length"), list(product(DELAYS, range(2, 13, 2))))
def test_a_single_pulse_out_of_a_detector_obeys_the_same_sentence(delay: int, length: int) -> None:
    """Common practice, no source; rules R3 and D1: a detector's pulse from gt 12, of every length."""
    body = f"lever pond\ndetector ripple watches pond pulse {length}gt\nrepeater mill from ripple delay {delay}t\n"
    run = drive(body, [(10, "pond", "on")], 60)
    begins = 12 + 2 * delay
    assert ons(run, "mill") == [(begins, begins + max(length, 2 * delay))]


def test_pulses_of_one_gt_close_together_merge() -> None:
    """Common practice, no source; rule R3: at 10 and 13 into 2t, one pulse 14–18."""
    run = drive(one_repeater(2), [*pulse("pond", 10, 1), *pulse("pond", 13, 1)], 60)
    assert ons(run, "mill") == [(14, 18)]


@pytest.mark.parametrize(
    ("second", "seen", "expected"),
    [
        (16, [(12, 14), (18, 20)], [(16, 24)]),
        (18, [(12, 14), (20, 22)], [(16, 20), (24, 28)]),
    ],
)
def test_detector_pulses_close_together_merge_or_stay_two(
    second: int, seen: list[tuple[int, int | None]], expected: list[tuple[int, int | None]]
) -> None:
    """Common practice, no source; rule R3: through 2t, 12–14 and 18–20 leave as 16–24; 12–14 and 20–22 stay two."""
    body = "lever pond\ndetector ripple watches pond\nrepeater mill from ripple delay 2t\n"
    run = drive(body, [(10, "pond", "throw"), (second, "pond", "throw")], 60)
    assert ons(run, "ripple") == seen
    assert ons(run, "mill") == expected


@pytest.mark.parametrize(("delay", "length"), TABLE)
def test_a_gap_shorter_than_the_delay_is_swallowed_and_any_other_comes_through(delay: int, length: int) -> None:
    """Common practice, no source; rule R4: a gap equal to the delay, restored by hand last, comes through."""
    run = drive(one_repeater(delay, "on"), gap("pond", 10, length), 60)
    begins = 10 + 2 * delay
    assert start(one_repeater(delay, "on")).level("mill") == 15
    assert offs(run, "mill") == ([(begins, begins + length)] if length >= 2 * delay else [])


@pytest.mark.parametrize("delay", DELAYS)
def test_a_gap_equal_to_the_delay_restored_by_hand_first_is_swallowed(delay: int) -> None:
    """Common practice, no source; rules R4 and C2: the hand acts before the repeater in that gt."""
    assert offs(drive(OUTSIDE_FIRST + one_repeater(delay, "on"), gap("pond", 10, 2 * delay), 60), "mill") == []


@pytest.mark.parametrize(("length", "expected"), [(3, []), (5, [(14, 19)])])
def test_the_worked_gaps_at_two_ticks(length: int, expected: list[tuple[int, int | None]]) -> None:
    """Common practice, no source; rule R4: gap 3 gt at 2t → none; gap 5 gt → 5 gt."""
    assert offs(drive(one_repeater(2, "on"), gap("pond", 10, length), 60), "mill") == expected


@pytest.mark.parametrize(("delay", "length"), TABLE)
def test_a_gap_out_of_a_repeater_that_points_straight_is_swallowed_up_to_the_delay(delay: int, length: int) -> None:
    """Common practice, no source; rules R4 and C3: a gap equal to the delay is swallowed."""
    body = f"lever pond starts on\nrepeater rope from pond delay 1t\nrepeater mill from rope delay {delay}t\n"
    run = drive(body, gap("pond", 10, length), 60)
    passed = length >= 2
    assert offs(run, "rope") == ([(12, 12 + length)] if passed else [])
    begins = 12 + 2 * delay
    assert offs(run, "mill") == ([(begins, begins + length)] if passed and length > 2 * delay else [])


@pytest.mark.parametrize(("delay", "length"), TABLE)
def test_a_gap_out_of_a_repeater_over_dust_equal_to_the_delay_comes_through(delay: int, length: int) -> None:
    """Common practice, no source; rules R4 and C3."""
    body = (
        "lever pond starts on\nrepeater rope from pond delay 1t\n"
        f"dust sill from rope\nrepeater mill from sill delay {delay}t\n"
    )
    run = drive(body, gap("pond", 10, length), 60)
    begins = 12 + 2 * delay
    assert offs(run, "mill") == ([(begins, begins + length)] if length >= 2 * delay else [])


@pytest.mark.parametrize(("delay", "length"), list(product(DELAYS, range(2, 13))))
def test_a_gap_out_of_a_torch_equal_to_the_delay_comes_through(delay: int, length: int) -> None:
    """Common practice, no source; rules R4 and C3: a torch acts in the last class."""
    body = f"lever pond\ntorch rope from pond\nrepeater mill from rope delay {delay}t\n"
    run = drive(body, pulse("pond", 10, length), 60)
    assert offs(run, "rope") == [(12, 12 + length)]
    begins = 12 + 2 * delay
    assert offs(run, "mill") == ([(begins, begins + length)] if length >= 2 * delay else [])


@pytest.mark.parametrize("between", [False, True])
def test_delays_along_a_chain_add(between: bool) -> None:
    """Common practice, no source; rule R6: 1t + 2t + 3t + 4t = 20 gt, straight or over dust."""
    lines, source = ["lever pond"], "pond"
    for delay in DELAYS:
        if between:
            lines.append(f"dust sill{delay} from {source}")
            source = f"sill{delay}"
        lines.append(f"repeater mill{delay} from {source} delay {delay}t")
        source = f"mill{delay}"
    acts: list[Act] = [(10, "pond", "on"), (50, "pond", "off")]
    run = drive("\n".join([*lines, ""]), acts, 100)
    assert edges(run, "mill4") == [(30, 15), (70, 0)]
