"""The least power is power: what each part does with a level of 1 (common practice, no source; rules P1 and P2)."""

from __future__ import annotations

import pytest

from .driving import Act, drive, edges, pulse

WEAK = "lever pond\ndust row from pond length 15\n"
"""The row's last dust shows 1 while the lever is on."""


def test_the_last_dust_of_a_full_line_shows_one() -> None:
    """Common practice, no source; rule P2."""
    assert edges(drive(WEAK, pulse("pond", 10, 10), 60), "row") == [(10, 1), (20, 0)]


@pytest.mark.parametrize(
    ("part", "changes"),
    [
        ("torch", [(12, 0), (22, 15)]),
        ("repeater", [(12, 15), (22, 0)]),
        ("comparator", [(12, 1), (22, 0)]),
        ("lamp", [(10, 15), (24, 0)]),
        ("piston", [(14, 15), (24, 0)]),
    ],
)
def test_a_part_answers_to_a_level_of_one(part: str, changes: list[tuple[int, int]]) -> None:
    """Common practice, no source; rules P1, T1, R1, K1, O2 and O3: powered from 10 to 20."""
    assert edges(drive(f"{WEAK}{part} mill from row\n", pulse("pond", 10, 10), 60), "mill") == changes


def test_a_level_of_one_sets_and_resets_a_latch() -> None:
    """Common practice, no source; rules P1 and L3."""
    body = "lever race\ndust rain from race length 15\nlatch gate set row reset rain starts reset\n"
    run = drive(WEAK + body, [*pulse("pond", 10, 10), *pulse("race", 40, 10)], 80)
    assert edges(run, "gate") == [(14, 15), (42, 0)]


def test_a_level_of_one_arms_a_stuck_piston() -> None:
    """Common practice, no source; rules P1 and D2: the updates of 15 and 30 find it armed and not armed."""
    acts: list[Act] = [*pulse("pond", 10, 10), *pulse("race", 15, 15)]
    run = drive(WEAK + "lever race\ndetector knock arming row hears race\n", acts, 80)
    assert edges(run, "knock") == [(19, 15), (34, 0)]


def test_a_level_of_one_locks_a_repeater() -> None:
    """Common practice, no source; rules P1 and R5: locked from 12 to 32 by a comparator that gives 1."""
    body = "lever race\ncomparator bolt from row\nrepeater mill from race locked by bolt\n"
    run = drive(WEAK + body, [*pulse("pond", 10, 20), (15, "race", "on")], 80)
    assert edges(run, "bolt") == [(12, 1), (32, 0)]
    assert edges(run, "mill") == [(34, 15)]


def test_power_flows_back_into_a_line_from_where_another_meets_it() -> None:
    """Common practice, no source; rules P2 and P5: three dust of a row, and where they end, four of another line.

    A lever at the first of the four gives 15 there, 14 one dust back in the row, and 12 at the last of the four. A
    lever at the row's own first dust gives 13 at its last, and 9 at the last of the four.
    """
    body = "lever pond\nlever race\ndust row from pond length 3\ndust rain from row, race length 4\n"
    met = drive(body, [(10, "race", "on")], 60)
    assert (met.level("row"), met.level("rain")) == (14, 12)
    along = drive(body, [(10, "pond", "on")], 60)
    assert (along.level("row"), along.level("rain")) == (13, 9)
