"""What acts before what in one gt, and what no rule decides (common practice, no source; rules C1 to C5)."""

from __future__ import annotations

from itertools import product

import pytest

from circuitcheck.errors import OpenOrder

from .driving import OUTSIDE_FIRST, Act, drive, edges, gap, offs, ons, pulse, start


def test_a_tick_is_two_gt_and_a_second_twenty() -> None:
    """Common practice, no source; rule C1."""
    run = start("lever pond\n")
    assert [run.run(time).now for time in ("1gt", "1t", "1s", "1.5s", "2.5t")] == [1, 3, 23, 53, 58]


@pytest.mark.parametrize("time", ["3", "1.5gt", "0.25t", "t"])
def test_a_time_without_a_unit_or_of_no_whole_gt_is_refused(time: str) -> None:
    """Common practice, no source; rule C1: a duration always carries its unit."""
    with pytest.raises(ValueError, match=r"not a duration|whole"):
        start("lever pond\n").run(time)


@pytest.mark.parametrize("setting", ["", OUTSIDE_FIRST])
def test_a_wait_ends_its_delay_after_the_gt_in_which_it_began(setting: str) -> None:
    """Common practice, no source; rule C2: whichever moment of the gt it began in, by hand or by a part."""
    run = drive(
        setting + "lever pond\nrepeater rope from pond delay 1t\ntorch mill from rope\n", [(10, "pond", "on")], 60
    )
    assert edges(run, "rope") == [(12, 15)]
    assert edges(run, "mill") == [(14, 0)]


@pytest.mark.parametrize(("setting", "expected"), [("", [(14, 0)]), (OUTSIDE_FIRST, [(12, 0)])])
def test_a_part_holds_one_wait_and_further_calls_begin_nothing(setting: str, expected: list[tuple[int, int]]) -> None:
    """Common practice, no source; rule C4: a torch called at 10 looks at 12, whatever its block did at 11.

    The lever is on 10–11 and from 12: thrown first, the torch finds it on at 12; thrown last, it calls afresh then.
    """
    acts = [*pulse("pond", 10, 1), (12, "pond", "on")]
    assert edges(drive(setting + "lever pond\ntorch rope from pond\n", acts, 60), "rope") == expected


def test_a_repeater_that_waits_is_not_called_again() -> None:
    """Common practice, no source; rules C4 and R2: pulses at 10 and 14 into 4t; the wait of 10 alone is over at 18."""
    body = "lever pond\nrepeater rope from pond delay 4t\n"
    assert ons(drive(body, [*pulse("pond", 10, 1), *pulse("pond", 14, 1)], 60), "rope") == [(18, 26)]


# Who acts first is seen at a dust that one part stops powering, and another begins to, in one gt: it drops, and a
# detector beside it feels that, only if the part that goes off acts first.

WATCHED = "junction row joins rope, bell\ndetector ripple watches row\n"
DROPS = [(20, 22)]
"""The detector's pulse where the dust dropped at 18."""


def test_a_repeater_going_off_acts_before_one_going_on_that_began_earlier() -> None:
    """Common practice, no source; rule C3: class 2 before class 3."""
    body = "lever pond starts on\nlever race\nrepeater rope from pond delay 1t\nrepeater bell from race delay 4t\n"
    run = drive(body + WATCHED, [(10, "race", "on"), (16, "pond", "off")], 60)
    assert edges(run, "rope") == [(18, 0)]
    assert edges(run, "bell") == [(18, 15)]
    assert ons(run, "ripple") == DROPS


def test_a_repeater_going_on_acts_before_a_torch_going_off() -> None:
    """Common practice, no source; rule C3: class 3 before class 4, whichever began first."""
    body = "lever pond\nlever race\ntorch rope from pond\nrepeater bell from race delay 1t\n"
    run = drive(body + WATCHED, [(16, "pond", "on"), (16, "race", "on")], 60)
    assert edges(run, "rope") == [(18, 0)]
    assert edges(run, "bell") == [(18, 15)]
    assert ons(run, "ripple") == []


def test_a_repeater_going_off_acts_before_a_torch_coming_on() -> None:
    """Common practice, no source; rule C3: class 2 before class 4."""
    body = "lever pond starts on\nlever race starts on\nrepeater rope from pond delay 1t\ntorch bell from race\n"
    run = drive(body + WATCHED, [(16, "pond", "off"), (16, "race", "off")], 60)
    assert edges(run, "bell") == [(18, 15)]
    assert ons(run, "ripple") == DROPS


@pytest.mark.parametrize("off_first", [True, False])
def test_in_one_class_those_act_first_that_began_first(off_first: bool) -> None:
    """Common practice, no source; rule C3: at 16 one torch is called by a part, and after it the other by hand."""
    called = "lever gate starts off\nrepeater mill from gate\n"
    if off_first:
        body = called + "lever race starts on\ntorch rope from mill\ntorch bell from race\n"
        acts: list[Act] = [(14, "gate", "on"), (16, "race", "off")]
    else:
        body = called.replace("off", "on") + "lever race\ntorch rope from race\ntorch bell from mill\n"
        acts = [(14, "gate", "off"), (16, "race", "on")]
    run = drive(body + WATCHED, acts, 60)
    assert edges(run, "rope") == [(18, 0)]
    assert edges(run, "bell") == [(18, 15)]
    assert ons(run, "ripple") == (DROPS if off_first else [])


def test_a_straight_repeater_acts_before_one_going_off_that_began_earlier() -> None:
    """Common practice, no source; rules C3 and R4: class 1 before class 2, so the gap of 4 gt is swallowed at 2t."""
    body = "lever pond starts on\nrepeater rope from pond delay 1t\nrepeater mill from rope delay 2t\n"
    assert edges(drive(body, gap("pond", 10, 4), 60), "mill") == []


@pytest.mark.parametrize("delay", [1, 2, 3, 4])
def test_two_straight_repeaters_act_in_the_order_in_which_they_began(delay: int) -> None:
    """Common practice, no source; rule C3: the second is straight as well, began first, and lets the gap through."""
    body = (
        "lever pond starts on\nrepeater rope from pond\n"
        f"repeater mill from rope delay {delay}t\nrepeater bell from mill\n"
    )
    run = drive(body, gap("pond", 10, 2 * delay), 60)
    assert offs(run, "rope") == [(12, 12 + 2 * delay)]
    assert offs(run, "mill") == [(12 + 2 * delay, 12 + 4 * delay)]


@pytest.mark.parametrize(("length", "goes_off"), [(1, 26), (2, 18)])
def test_the_second_wait_of_a_straight_repeater_is_of_the_second_class(length: int, goes_off: int) -> None:
    """Common practice, no source; rules C3, R2 and R5: a lock of 16–18 over a repeater whose wait of 10 is over at 18.

    A pulse of 1 gt makes the lock's end a second wait: class 2, begun later, so the repeater is locked still, spends
    its wait and begins another. A pulse of 2 gt makes it a straight repeater's call: class 1, and the lock is gone.
    """
    body = (
        "lever pond starts on\nlever rope\nrepeater bolt from rope\nrepeater mill from pond delay 4t locked by bolt\n"
    )
    run = drive(body, [(10, "pond", "off"), *pulse("rope", 14, length)], 60)
    assert ons(run, "bolt") == [(16, 18)]
    assert edges(run, "mill") == [(goes_off, 0)]


def test_a_comparator_that_points_straight_acts_before_a_detector() -> None:
    """Common practice, no source; rule C3: class 3 before class 4, so the detector is still on when it looks at 14."""
    body = "lever pond\ndetector ripple watches pond\ncomparator mill from ripple\nrepeater rope from mill\n"
    assert edges(drive(body, [(10, "pond", "on")], 60), "mill") == [(14, 15), (16, 0)]


def test_everything_without_delay_settles_before_the_next_part_acts() -> None:
    """Common practice, no source; rules C3 and P3: a torch behind dust and a block is reached in the repeater's gt."""
    body = (
        "lever pond\nrepeater rope from pond\ndust row from rope length 9\nblock wall from row\n"
        "torch mill from wall\nlamp open from wall\n"
    )
    run = drive(body, pulse("pond", 10, 3), 60)
    assert edges(run, "open")[0] == (12, 15)
    assert offs(run, "mill") == [(14, 17)]


def test_two_outside_actions_of_one_gt_have_no_order() -> None:
    """Common practice, no source; rule C5a: whichever lever is thrown first, its torch acts first."""
    body = "lever pond\nlever race starts on\ntorch rope from pond\ntorch bell from race\n" + WATCHED
    run = drive(body, [(16, "pond", "on"), (16, "race", "off")], 20)
    assert edges(run, "rope") == [(18, 0)]
    assert run.levels("ripple") == {0, 15}
    with pytest.raises(OpenOrder):
        run.level("ripple")


def test_parts_told_by_one_change_have_no_order() -> None:
    """Common practice, no source; rules C5b and L4: one lever lets go of both inputs of a latch."""
    run = drive("lever pond\nlatch gate set pond reset pond starts reset\n", pulse("pond", 10, 20), 32)
    assert run.levels("gate") == {0, 15}
    assert run.levels("gate.inverse") == {0, 15}


@pytest.mark.parametrize("earlier", ["pond", "race"])
def test_parts_told_by_different_changes_keep_the_order_of_those_changes(earlier: str) -> None:
    """Common practice, no source; rules C5 and C3: both inputs of the latch go off at 34, in the order they began."""
    delays = {"pond": 1, "race": 1} | {earlier: 2}
    body = (
        f"lever pond\nlever race\nrepeater rope from pond delay {delays['pond']}t\n"
        f"repeater bell from race delay {delays['race']}t\nlatch gate set rope reset bell starts reset\n"
    )
    acts: list[Act] = [(10, name, "on") for name in delays]
    acts += [(34 - 2 * delay, name, "off") for name, delay in delays.items()]
    run = drive(body, acts, 100)
    assert edges(run, "rope")[-1] == edges(run, "bell")[-1] == (34, 0)
    assert run.is_on("gate.inverse") is (earlier == "pond")
    assert run.is_on("gate") is (earlier == "race")


ADDER = """
lever pond
lever race
lever rain
torch no_pond from pond
torch no_race from race
torch no_rain from rain
torch neither from pond, race
torch both from no_pond, no_race
torch differ from neither, both
torch no_differ from differ
torch still from differ, rain
torch carried from no_differ, no_rain
torch sum from still, carried
junction carry joins both, carried
"""


@pytest.mark.parametrize("bits", list(product((0, 1), repeat=3)))
def test_a_full_adder_ends_in_one_state_whatever_the_order(bits: tuple[int, int, int]) -> None:
    """Published: the full adder of any digital design textbook; that orders do not matter: common practice, C5."""
    acts: list[Act] = [(10, name, "on") for name, bit in zip(("pond", "race", "rain"), bits, strict=True) if bit]
    acts += [(60, name, "off") for _, name, _ in acts]
    run = drive(ADDER, [act for act in acts if act[0] == 10], 50)
    assert run.level("sum") == 15 * (sum(bits) % 2)
    assert (run.level("carry") > 0) is (sum(bits) > 1)
    back = drive(ADDER, acts, 100)
    assert back.level("sum") == back.level("carry") == 0
