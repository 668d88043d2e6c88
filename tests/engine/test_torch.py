"""The torch: an inverter, 1t late, deaf to short pulses (common practice, no source; rules T1 to T6)."""

from __future__ import annotations

from itertools import pairwise, product

import pytest

from .driving import OUTSIDE_FIRST, Act, drive, edges, offs, ons, pulse, start

TORCH = "lever pond\ntorch rope from pond\n"


def test_a_torch_is_on_while_its_block_is_unpowered() -> None:
    """Common practice, no source; rules T1 and T2: an inverter, 1t late both ways."""
    run = drive(TORCH, pulse("pond", 10, 20), 60)
    assert start(TORCH).level("rope") == 15
    assert edges(run, "rope") == [(12, 0), (32, 15)]


def test_several_feeds_make_a_torch_a_nor() -> None:
    """Common practice, no source; rule T1."""
    body = "lever pond\nlever race\nlever gate\ntorch rope from pond, race, gate\n"
    for on in product((False, True), repeat=3):
        acts: list[Act] = [
            (10, name, "on") for name, wanted in zip(("pond", "race", "gate"), on, strict=True) if wanted
        ]
        assert drive(body, acts, 40).is_on("rope") is not any(on)


@pytest.mark.parametrize("setting", ["", OUTSIDE_FIRST])
def test_a_pulse_of_one_gt_does_nothing_to_a_torch(setting: str) -> None:
    """Common practice, no source; rule T3."""
    assert edges(drive(setting + TORCH, pulse("pond", 10, 1), 60), "rope") == []


def test_a_torch_swallows_a_pulse_of_two_gt_out_of_a_repeater() -> None:
    """Common practice, no source; rule T3: the repeater's class acts first."""
    run = drive("lever pond\nrepeater mill from pond delay 1t\ntorch rope from mill\n", pulse("pond", 10, 2), 60)
    assert ons(run, "mill") == [(12, 14)]
    assert edges(run, "rope") == []


def test_a_torch_takes_a_pulse_of_three_gt_out_of_a_repeater() -> None:
    """Common practice, no source; rules T2 and T3: it still disagrees when the torch looks again."""
    run = drive("lever pond\nrepeater mill from pond delay 1t\ntorch rope from mill\n", pulse("pond", 10, 3), 60)
    assert ons(run, "mill") == [(12, 15)]
    assert offs(run, "rope") == [(14, 17)]


def test_a_torch_swallows_a_pulse_of_two_gt_out_of_a_detector() -> None:
    """Common practice, no source; rules T3 and D1: its going off is fixed before those it feeds are updated."""
    run = drive("lever pond\ndetector ripple watches pond\ntorch rope from ripple\n", [(10, "pond", "on")], 60)
    assert ons(run, "ripple") == [(12, 14)]
    assert edges(run, "rope") == []


def test_a_torch_takes_a_pulse_of_two_gt_out_of_a_torch_that_began_to_wait_later() -> None:
    """Common practice, no source; rule T3: the second torch waits from 12, and only then is the first called back."""
    body = "lever pond starts on\ntorch rope from pond\ntorch mill from rope\n"
    run = drive(body, [(10, "pond", "off"), (12, "pond", "on")], 60)
    assert ons(run, "rope") == [(12, 14)]
    assert offs(run, "mill") == [(14, 16)]


def test_a_torch_takes_a_pulse_of_two_gt_out_of_a_comparator_that_began_to_wait_later() -> None:
    """Common practice, no source; rule T3."""
    run = drive("lever pond\ncomparator mill from pond\ntorch rope from mill\n", pulse("pond", 10, 2), 60)
    assert ons(run, "mill") == [(12, 14)]
    assert offs(run, "rope") == [(14, 16)]


def test_two_gt_out_of_a_torch_is_a_race_where_one_change_makes_both_wait() -> None:
    """Common practice, no source; rules T3 and C5b: here both are updated by the first torch's change."""
    run = drive("torch rope from rope starts on\ntorch mill from rope\n", [], 4)
    assert edges(run, "rope") == [(2, 0), (4, 15)]
    assert run.levels("mill") == {0, 15}


def test_two_gt_out_of_a_comparator_is_a_race_where_one_change_makes_both_wait() -> None:
    """Common practice, no source; rules T3 and C5b: a subtracting comparator that feeds its own side."""
    body = "lever pond\ncomparator mill from pond side mill subtract\ntorch rope from mill\n"
    run = drive(body, [(10, "pond", "on")], 14)
    assert edges(run, "mill") == [(12, 15), (14, 0)]
    assert run.levels("rope") == {0, 15}


@pytest.mark.parametrize(
    ("setting", "length", "expected"),
    [
        ("", 2, [(12, 14)]),
        (OUTSIDE_FIRST, 2, []),
        ("", 3, [(12, 15)]),
        (OUTSIDE_FIRST, 3, [(12, 15)]),
    ],
)
def test_a_short_pulse_by_hand_depends_on_when_the_hand_acts(
    setting: str, length: int, expected: list[tuple[int, int | None]]
) -> None:
    """Common practice, no source; rule T3: 2 gt from 10 gives 12–14 outside last, nothing first; 3 gt 12–15 in both."""
    assert offs(drive(setting + TORCH, pulse("pond", 10, length), 60), "rope") == expected


@pytest.mark.parametrize("rules", ["older", "newer", "newest"])
def test_a_torch_that_powers_its_own_block_burns_out_at_thirty_for_good(rules: str) -> None:
    """Common practice, no source; rule T5: off at 2, 6, 10 …, dark at 30; it looks at 32, too early, never again."""
    run = drive(f"rules {rules}\ntorch rope from rope starts on\n", [], 1000)
    assert offs(run, "rope") == [*((off, off + 2) for off in range(2, 30, 4)), (30, None)]


def ring(count: int) -> str:
    """An odd ring of torches, the first declared on, so that it is the first to go off, at gt 2."""
    lines = [f"torch mill{n} from mill{n - 1}" for n in range(1, count)]
    return "\n".join([f"torch mill0 from mill{count - 1} starts on", *lines, ""])


@pytest.mark.parametrize(
    ("count", "window", "period"),
    [(3, "60gt", 12), (5, "60gt", 20), (5, "100gt", 20)],
)
def test_a_ring_of_torches_runs_with_a_period_of_two_n_ticks(count: int, window: str, period: int) -> None:
    """Published: f = 1/(2·n·t_pd), the ring oscillator of any VLSI textbook; that it goes on: common practice, T6."""
    run = drive(f"setting burn_out_window {window}\n" + ring(count), [], 600)
    for number in range(count):
        goes_off = [at for at, level in edges(run, f"mill{number}") if not level]
        goes_on = [at for at, level in edges(run, f"mill{number}") if level]
        assert len(goes_off) >= 600 // period - 1
        assert {after - before for before, after in pairwise(goes_off)} == {period}
        assert {after - before for before, after in pairwise(goes_on)} == {period}
        assert goes_off[-1] > 600 - period


def test_a_ring_of_three_burns_out_under_the_long_window_at_eighty_six() -> None:
    """Common practice, no source; rule T6: first at gt 86, the 8th off, 84 gt after the first."""
    run = drive("setting burn_out_window 100gt\n" + ring(3), [], 170)
    assert offs(run, "mill0")[:8] == [*((off, off + 6) for off in range(2, 86, 12)), (86, None)]
    assert max(at for number in range(3) for at, _ in edges(run, f"mill{number}")) <= 86 + 2 * 2
