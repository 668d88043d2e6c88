"""The locked repeater, which is a D latch (common practice, no source; rule R5)."""

from __future__ import annotations

import pytest

import circuitcheck
from circuitcheck.errors import InvalidCircuit

from .driving import DELAYS, HEADER, drive, edges, ons, pulse


def locked(delay: int, locker: str = "repeater", starts: str = "off") -> str:
    """A repeater with `pond` behind it; throwing `rope` locks it 2 gt later."""
    return (
        f"lever pond starts {starts}\nlever rope\n{locker} bolt from rope\n"
        f"repeater mill from pond delay {delay}t locked by bolt\n"
    )


@pytest.mark.parametrize("locker", ["repeater", "comparator"])
@pytest.mark.parametrize("delay", DELAYS)
@pytest.mark.parametrize("starts", ["off", "on"])
def test_a_locked_repeater_keeps_its_output_and_released_starts_a_full_delay(
    locker: str, delay: int, starts: str
) -> None:
    """Common practice, no source; rule R5: locked 12–42, its input changes at 20; it looks again at 42."""
    acts = [*pulse("rope", 10, 30), (20, "pond", "throw")]
    run = drive(locked(delay, locker, starts), acts, 80)
    assert ons(run, "bolt") == [(12, 42)]
    assert edges(run, "mill") == [(42 + 2 * delay, 15 if starts == "off" else 0)]


def test_a_lock_takes_hold_at_once() -> None:
    """Common practice, no source; rule R5: locked from 12, a change of its input in that very gt begins nothing."""
    run = drive(locked(1), [(10, "rope", "on"), (12, "pond", "on")], 60)
    assert edges(run, "mill") == []


def test_a_change_and_back_under_the_lock_is_never_seen() -> None:
    """Common practice, no source; rule R5."""
    run = drive(locked(1), [*pulse("rope", 10, 30), *pulse("pond", 20, 5)], 80)
    assert edges(run, "mill") == []


def test_a_wait_that_ends_under_the_lock_is_spent_without_effect() -> None:
    """Common practice, no source; rule R5: called at 10 for 18, locked 14–32; released at 32 it waits a full delay."""
    run = drive(locked(4), [(10, "pond", "on"), *pulse("rope", 12, 18)], 80)
    assert ons(run, "bolt") == [(14, 32)]
    assert edges(run, "mill") == [(40, 15)]


def test_a_wait_under_a_lock_that_is_gone_when_it_ends_runs_on() -> None:
    """Common practice, no source; rules R5 and C4: called at 10 for 18, locked 12–16, it goes on at 18."""
    run = drive(locked(4), [(10, "pond", "on"), *pulse("rope", 10, 4)], 80)
    assert ons(run, "bolt") == [(12, 16)]
    assert edges(run, "mill") == [(18, 15)]


def test_a_lock_that_comes_in_the_gt_in_which_the_wait_ends_is_in_time() -> None:
    """Common practice, no source; rules R5 and C3: a repeater into the side points straight, and acts first."""
    run = drive(locked(4), [(10, "pond", "on"), (16, "rope", "on")], 80)
    assert edges(run, "mill") == []


def test_a_lock_that_goes_in_the_gt_in_which_the_wait_ends_is_gone() -> None:
    """Common practice, no source; rules R5 and C3."""
    run = drive(locked(4), [(10, "pond", "on"), *pulse("rope", 10, 6)], 80)
    assert ons(run, "bolt") == [(12, 18)]
    assert edges(run, "mill") == [(18, 15)]


def test_the_second_wait_of_a_short_pulse_can_end_under_the_lock() -> None:
    """Common practice, no source; rules R2 and R5: on at 12, its second wait spent at 14; released at 33, off at 35."""
    run = drive(locked(1), [*pulse("pond", 10, 1), *pulse("rope", 11, 20)], 80)
    assert ons(run, "bolt") == [(13, 33)]
    assert ons(run, "mill") == [(12, 35)]


def test_a_locked_repeater_is_a_data_latch() -> None:
    """Common practice, no source; rule R5: it follows its data while it is not locked, and keeps it while it is."""
    body = "lever pond\nlever rope\nlatch store data pond locked by rope\n"
    follows = drive(body, pulse("pond", 10, 10), 60)
    assert edges(follows, "store") == [(12, 15), (22, 0)]
    keeps = drive(body, [(10, "pond", "on"), (20, "rope", "on"), (30, "pond", "off"), (60, "rope", "off")], 100)
    assert edges(keeps, "store") == [(12, 15), (64, 0)]


@pytest.mark.parametrize(
    "locker", ["lever rope", "lever race\ntorch rope from race", "lever race\ndust rope from race"]
)
def test_nothing_but_a_repeater_or_comparator_locks(locker: str) -> None:
    """Common practice, no source; rule R5: such a lock is refused where it is written."""
    with pytest.raises(InvalidCircuit):
        circuitcheck.loads(f"{HEADER}{locker}\nlever pond\nrepeater mill from pond locked by rope\n")
