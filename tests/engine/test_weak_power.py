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


@pytest.mark.parametrize("source", ["pond", "wheel"])
def test_a_level_that_dies_on_the_way_is_none(source: str) -> None:
    """Common practice, no source; rules P2 and K1: 12 arrives as 9 at the end of four dust, and 2 not at all.

    Whether the input itself is the source or a comparator that passes its level on 1t later.
    """
    late = 2 if source == "wheel" else 0
    body = f"analogue pond\ncomparator wheel from pond\ndust row from {source} length 4\n"
    acts: list[Act] = [(10, "pond", "12"), (20, "pond", "2"), (30, "pond", "4")]
    compared = edges(drive(body + "comparator mill from row\n", acts, 60), "mill")
    assert compared == [(12 + late, 9), (22 + late, 0), (32 + late, 1)]
    torch = edges(drive(body + "torch mill from row\n", acts, 60), "mill")
    assert torch == [(12 + late, 0), (22 + late, 15), (32 + late, 0)]


@pytest.mark.parametrize("ways", ["sill, rain", "rain, sill"])
def test_a_source_that_reaches_a_part_in_two_ways_counts_by_the_shorter(ways: str) -> None:
    """Common practice, no source; rules P2 and P5: by three dust and by seven, apart, at one comparator."""
    body = f"lever pond\ndust sill from pond length 3\ndust rain from pond length 7\ncomparator mill from {ways}\n"
    assert edges(drive(body, pulse("pond", 10, 10), 60), "mill") == [(12, 13), (22, 0)]


@pytest.mark.parametrize("ways", ["sill, rain", "rain, sill"])
def test_lines_of_two_lengths_that_meet_carry_what_the_shorter_brings(ways: str) -> None:
    """Common practice, no source; rules P2 and P5: 13 after three dust, so 12 where they meet."""
    body = f"lever pond\ndust sill from pond length 3\ndust rain from pond length 7\njunction row joins {ways}\n"
    run = drive(body, [(10, "pond", "on")], 60)
    assert (run.level("sill"), run.level("row"), run.level("rain")) == (13, 12, 11)
