"""The plain stepper, held to the tables of the rules for parts that stand still.

Common practice, no source: C3, C5, T2, T3, R2 to R6, D1, O2, W2 to W9. Expected values are those of the tables.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from .plain.runs import History, gt_after, histories, only
from .plain.sketch import floor, sketch
from .plain.things import Action, Box, Settings, Thing
from .plain.world import first_world


def pulse(name: str, *gts: int) -> list[Action]:
    """A lever thrown to and fro."""
    return [Action(gt, name, 15 if at % 2 == 0 else 0) for at, gt in enumerate(gts)]


def on_times(history: History, name: str) -> list[tuple[int, int]]:
    return [(gt, int(str(value))) for gt, value in history.where(lambda shot: shot.level(name))]


def row_of(text: str, names: dict[str, int], more: dict[str, Thing] | None = None) -> Box:
    """A row of things on a floor."""
    places = {name: (2, 1, column) for name, column in names.items()}
    return sketch([floor(1, len(text)), text], more, places)


INVERTER = sketch(
    [floor(1, 3), "iS/"], names={"feed": (2, 1, 1), "lit": (2, 1, 3)}, more={"i": Thing("lever", on="east")}
)


@pytest.mark.parametrize(
    ("gone", "first", "off"),
    [
        (11, False, []),
        (12, False, [(12, 0), (14, 15)]),
        (12, True, []),
        (13, False, [(12, 0), (15, 15)]),
        (13, True, [(12, 0), (15, 15)]),
    ],
)
def test_a_torch_swallows_pulses_that_are_gone_when_it_looks(
    gone: int, first: bool, off: list[tuple[int, int]]
) -> None:
    """T3, the rows of pulses by hand."""
    found = histories(INVERTER, pulse("feed", 10, gone), 20, Settings(outside_first=first))
    assert on_times(only(found), "lit") == [(0, 15), *off]


@pytest.mark.parametrize("gone", [11, 12])
def test_a_torch_swallows_2_gt_out_of_a_repeater(gone: int) -> None:
    """T3 and C3: the repeater acts before the torch, even where the torch's wait began first."""
    build = row_of("i>S/", {"feed": 1, "lit": 4})
    assert on_times(only(histories(build, pulse("feed", 10, gone), 20)), "lit") == [(0, 15)]


def test_a_torch_swallows_2_gt_out_of_a_detector() -> None:
    """T3 and D1: the end of the pulse is fixed before the torch is updated."""
    build = row_of("iDS/", {"feed": 1, "eye": 2, "lit": 4})
    found = only(histories(build, pulse("feed", 10), 20))
    assert on_times(found, "eye") == [(0, 0), (12, 15), (14, 0)]
    assert on_times(found, "lit") == [(0, 15)]


def test_the_second_wait_of_a_repeater_is_of_class_2() -> None:
    """C3, R2: even of one that points straight into another, whose first wait is of class 1."""
    worlds = [first_world(row_of("i>>-", {"feed": 1, "rep": 2, "next": 3}), Settings())]
    grades = []
    for _ in range(13):
        worlds, _refused = gt_after(worlds, pulse("feed", 10, 11))
        grades.append([wait.grade for world in worlds for wait in world.waits if wait.who == "rep"])
    assert (grades[10], grades[12]) == ([1], [2])


@pytest.mark.parametrize(("length", "delay", "out"), [(1, 1, (12, 14)), (2, 3, (16, 22)), (10, 4, (18, 28))])
def test_a_repeater_makes_pulses_as_long_as_its_delay(length: int, delay: int, out: tuple[int, int]) -> None:
    """R3, the table of single pulses; in by hand from gt 10."""
    build = row_of("i>-", {"feed": 1, "rep": 2}, {">": Thing("repeater", facing="east", delay=2 * delay)})
    found = only(histories(build, pulse("feed", 10, 10 + length), 40))
    assert on_times(found, "rep") == [(0, 0), (out[0], 15), (out[1], 0)]


def test_pulses_close_together_merge_in_a_repeater() -> None:
    """R3: 1 gt each at gt 10 and 13, delay 2t, come out as gt 14 to 18."""
    build = row_of("i>-", {"feed": 1, "rep": 2}, {">": Thing("repeater", facing="east", delay=4)})
    assert on_times(only(histories(build, pulse("feed", 10, 11, 13, 14), 30)), "rep") == [(0, 0), (14, 15), (18, 0)]


@pytest.mark.parametrize(("gap", "out"), [(3, []), (4, [(14, 0), (18, 15)]), (5, [(14, 0), (19, 15)])])
def test_short_gaps_are_swallowed(gap: int, out: list[tuple[int, int]]) -> None:
    """R4 at 2t; a gap as long as the delay, by hand, comes out."""
    build = row_of("I>-", {"feed": 1, "rep": 2}, {">": Thing("repeater", facing="east", delay=4, level=15)})
    acts = [Action(10, "feed", 0), Action(10 + gap, "feed", 15)]
    assert on_times(only(histories(build, acts, 30)), "rep") == [(0, 15), *out]


@pytest.mark.parametrize(("text", "out"), [("I>rS", []), ("I>-r", [(16, 0), (20, 15)])])
def test_a_gap_as_long_as_the_delay_depends_on_who_acts_first(text: str, out: list[tuple[int, int]]) -> None:
    """R4, C3, at 2t: swallowed if a repeater that points straight into this one gives it, out of one over dust not."""
    longer = Thing("repeater", facing="east", delay=4, level=15)
    build = row_of(text, {"feed": 1}, {">": replace(longer, delay=2), "r": longer})
    name = next(thing.name for thing in build.things.values() if thing.delay == 4)
    acts = [Action(10, "feed", 0), Action(14, "feed", 15)]
    assert on_times(only(histories(build, acts, 40)), name) == [(0, 15), *out]


def test_a_locked_repeater_keeps_its_level_and_looks_when_released() -> None:
    """R5: locked through another repeater from gt 12, released in gt 32, it begins a full delay."""
    build = sketch(
        [floor(4, 3), ".i. .v. i>- ..."],
        names={"lock": (2, 1, 2), "bar": (2, 2, 2), "feed": (2, 3, 1), "rep": (2, 3, 2)},
    )
    acts = [Action(10, "lock", 15), Action(20, "feed", 15), Action(30, "lock", 0)]
    assert on_times(only(histories(build, acts, 40)), "rep") == [(0, 0), (34, 15)]


def test_a_detector_misses_changes_in_its_wait_and_its_pulse() -> None:
    """D1: thrown in gt 10, 20, 30, 31 and 33."""
    build = row_of("iD-", {"feed": 1, "eye": 2})
    found = only(histories(build, pulse("feed", 10, 20, 30, 31, 33), 50))
    on = [gt for gt, level in on_times(found, "eye") if level]
    assert on == [12, 22, 32]
    assert [gt for gt, level in on_times(found, "eye") if not level] == [0, 14, 24, 34]


def test_a_lamp_is_lit_at_once_and_goes_dark_after_2t() -> None:
    """O2, and D1 on a lamp: power in gt 10 to 12 lights it in gt 10 to 16."""
    build = row_of("iOD-", {"feed": 1, "bell": 2, "eye": 3})
    found = only(histories(build, pulse("feed", 10, 12), 40))
    assert on_times(found, "bell") == [(0, 0), (10, 15), (16, 0)]
    assert on_times(found, "eye") == [(0, 0), (12, 15), (14, 0), (18, 15), (20, 0)]


def test_power_climbs_a_step_of_glass_and_does_not_come_down_it() -> None:
    """W2."""
    climbing = sketch([floor(1, 4), "I-GG", "..--"], names={"feed": (2, 1, 1)})
    assert only(histories(climbing, [], 0)).shots[0].dust_at((3, 1, 3)) == 14
    falling = sketch([floor(1, 4), "-GGS", ".--I"], names={"feed": (3, 1, 4)})
    shot = only(histories(falling, [], 0)).shots[0]
    assert (shot.dust_at((3, 1, 2)), shot.dust_at((2, 1, 1))) == (14, 0)


def test_a_solid_block_above_the_lower_dust_cuts_a_step() -> None:
    """W2."""
    for over, level in (("S", 0), ("G", 14), (".", 14)):
        build = sketch([floor(1, 4), "I-SS", f".{over}--"])
        assert only(histories(build, [], 0)).shots[0].dust_at((3, 1, 3)) == level


def test_a_weakly_powered_block_gives_to_a_lamp_and_to_no_dust() -> None:
    """P4, W8."""
    build = sketch([floor(2, 5), "I-SO. ..-.."], names={"bell": (2, 1, 4)})
    shot = only(histories(build, [], 0)).shots[0]
    assert (shot.level("bell"), shot.dust_at((2, 2, 3))) == (15, 0)


def test_a_latch_released_from_both_sides_in_one_gt_is_a_race() -> None:
    """L4 and C5: exactly one side comes on 2 gt later, and both may; a gt apart it is known which."""
    build = sketch(
        [floor(5, 3), "r.. S/- -.- -\\S ..s"],
        names={"drop": (2, 1, 1), "gate": (2, 2, 2), "bar": (2, 4, 2), "pull": (2, 5, 3)},
        more={
            "r": Thing("lever", on="south"),
            "s": Thing("lever", on="north"),
            "\\": Thing("torch", on="east"),
        },
    )
    both = [Action(10, "drop", 15), Action(10, "pull", 15)]
    found = histories(build, [*both, Action(30, "drop", 0), Action(30, "pull", 0)], 40)
    ends = {(one.shots[40].level("gate"), one.shots[40].level("bar")) for one in found}
    assert ends == {(15, 0), (0, 15)}
    assert all(one.shots[31].level("gate") == one.shots[31].level("bar") == 0 for one in found)
    apart = only(histories(build, [*both, Action(30, "drop", 0), Action(31, "pull", 0)], 40))
    assert (apart.shots[32].level("gate"), apart.shots[40].level("bar")) == (15, 0)
