"""The plain stepper, held to worked examples of moving things.

Common practice, from memory, no source: each test names its rules. Times are gt; a lever is thrown in gt 10 by hand,
hands last, and strokes land late, if nothing else is said.
"""

from __future__ import annotations

import pytest

from .plain.runs import History, histories, only
from .plain.sketch import floor, sketch
from .plain.things import Action, Box, Place, Settings, Thing

WAIT = Settings(piston_lands="wait")


def run(build: Box, throws: list[tuple[int, str]], until: int = 60, settings: Settings | None = None) -> set[History]:
    """All histories; each throw of a lever turns it."""
    on: dict[str, bool] = {}
    actions = []
    for gt, name in throws:
        start = next(thing.level for thing in build.things.values() if thing.name == name)
        on[name] = not on.get(name, start > 0)
        actions.append(Action(gt, name, 15 if on[name] else 0))
    return histories(build, actions, until, settings)


def levels(history: History, name: str) -> list[tuple[int, object]]:
    return history.where(lambda shot: shot.level(name))


def stands(history: History, place: Place) -> list[tuple[int, object]]:
    return history.where(lambda shot: shot.at(place))


def dust(history: History, place: Place) -> list[tuple[int, object]]:
    return history.where(lambda shot: shot.dust_at(place) > 0)


GATE = sketch(
    [floor(5, 4), "..I. ..V. iPS. ..-. ..O."],
    names={"rope": (2, 3, 1), "flap": (2, 3, 2), "stone": (2, 3, 3), "bell": (2, 5, 3)},
    more={"-": Thing("dust"), "O": Thing("lamp", level=15)},
)
"""The flap's block stands at home in a line that feeds a lamp."""


def test_a_block_at_home_in_a_line_cuts_it_at_the_start_and_joins_it_at_the_landing() -> None:
    """Example 1 (M3, M9, O2)."""
    found = only(run(GATE, [(10, "rope"), (40, "rope")]))
    assert stands(found, (2, 3, 4)) == [(0, ""), (11, "motion"), (13, "stone"), (41, "")]
    assert dust(found, (2, 4, 3)) == [(0, True), (11, False), (43, True)]
    assert levels(found, "bell") == [(0, 15), (15, 0), (43, 15)]


def test_under_landings_as_waits_the_lamp_is_lit_a_gt_later() -> None:
    """Example 1 under `piston_lands wait`."""
    found = only(run(GATE, [(10, "rope"), (40, "rope")], settings=WAIT))
    assert levels(found, "bell") == [(0, 15), (15, 0), (44, 15)]


def test_hands_that_come_first_take_a_gt_off() -> None:
    """Example 1 under `outside_first`: only the lamp's going dark ends with the gt in which its wait ends."""
    found = only(run(GATE, [(10, "rope"), (40, "rope")], settings=Settings(outside_first=True)))
    assert levels(found, "bell") == [(0, 15), (14, 0), (42, 15)]


def test_a_block_that_closes_a_line_when_out_closes_it_in_3_gt_and_opens_it_in_1() -> None:
    """Example 2 (M3, M9)."""
    build = sketch(
        [floor(5, 5), "...I. ...V. iPS.. ...-. ....."],
        names={"rope": (2, 3, 1)},
    )
    assert dust(only(run(build, [(10, "rope"), (40, "rope")])), (2, 4, 4)) == [(0, False), (13, True), (41, False)]


def test_a_step_of_dust_is_freed_at_the_start_and_cut_at_the_landing() -> None:
    """Example 3 (M9, W2)."""
    build = sketch(
        [floor(4, 5), "..S.. ..... .I-S. .....", "..i.. ..P.. ..S-. ....."],
        names={"rope": (3, 1, 3), "stone": (3, 3, 3)},
        more={"P": Thing("piston", facing="south", sticky=True)},
    )
    found = only(run(build, [(10, "rope"), (40, "rope")]))
    assert dust(found, (3, 3, 4)) == [(0, False), (11, True), (43, False)]
    assert stands(found, (3, 4, 3)) == [(0, ""), (11, "motion"), (13, "stone"), (41, "")]


def test_a_detector_makes_a_toggle_of_a_sticky_piston() -> None:
    """Example 4 (M6): the first pulse leaves the block out, the second fetches it."""
    build = sketch(
        [floor(5, 6), "....I. ....V. iDPS.. ....-. ......"],
        names={"rope": (2, 3, 1), "eye": (2, 3, 2), "stone": (2, 3, 4)},
    )
    found = only(run(build, [(10, "rope"), (40, "rope")]))
    assert levels(found, "eye") == [(0, 0), (12, 15), (14, 0), (42, 15), (44, 0)]
    assert stands(found, (2, 3, 5)) == [(0, ""), (12, "motion"), (14, "stone"), (44, "")]
    assert stands(found, (2, 3, 4))[-2:] == [(42, "motion"), (46, "stone")]
    assert dust(found, (2, 4, 5)) == [(0, False), (14, True), (44, False)]


def test_thirteen_things_are_too_many_and_twelve_are_not() -> None:
    """Example 7 (M1, M7)."""
    for count, landed in ((13, ""), (12, "last")):
        build = sketch(
            [floor(1, 18), "ip" + "S" * count + "." * (16 - count)],
            names={"rope": (2, 1, 1), "last": (2, 1, 2 + count)},
        )
        found = only(run(build, [(10, "rope")], 20))
        assert found.shots[20].at((2, 1, 3 + count)) == landed
        assert stands(found, (2, 1, 2 + count))[1:] == (
            [(11, "motion"), (13, f"block_2_1_{1 + count}")] if landed else []
        )


def test_a_torch_behind_twelve_blocks_is_broken() -> None:
    """Example 7 (M8)."""
    build = sketch(
        [floor(1, 16), "ip" + "S" * 12 + "|."],
        names={"rope": (2, 1, 1)},
    )
    found = only(run(build, [(10, "rope")], 20))
    assert found.refused == ("M8", (2, 1, 15), 11)


def test_plain_pistons_face_to_face_take_turns() -> None:
    """Example 8 (M7)."""
    build = sketch(
        [floor(1, 5), "ip.qj"],
        names={"a": (2, 1, 1), "A": (2, 1, 2), "B": (2, 1, 4), "b": (2, 1, 5)},
        more={"q": Thing("piston", facing="west"), "j": Thing("lever")},
    )
    found = only(run(build, [(10, "a"), (20, "b"), (40, "a")]))
    assert levels(found, "A") == [(0, 0), (13, 15), (43, 0)]
    assert levels(found, "B") == [(0, 0), (43, 15)]
    assert stands(found, (2, 1, 3)) == [(0, ""), (11, "motion"), (13, "head of A"), (41, "motion"), (43, "head of B")]


def test_pistons_face_to_face_called_by_one_change_race() -> None:
    """M7, M13: one dust line calls both; whoever starts first takes the place between them."""
    build = sketch(
        [floor(2, 5), ".p.q. .S-Si"],
        names={"A": (2, 1, 2), "B": (2, 1, 4), "rope": (2, 2, 5)},
        more={"q": Thing("piston", facing="west"), "i": Thing("lever", on="west")},
    )
    found = run(build, [(10, "rope")], 20)
    assert {(one.shots[20].level("A"), one.shots[20].level("B")) for one in found} == {(15, 0), (0, 15)}


LANDS = sketch(
    [floor(7, 6), "...I.. ...V.. iPS... ...-.. ...-.. ..qS/. ......"],
    names={"rope": (2, 3, 1), "flap": (2, 3, 2), "lit": (2, 6, 5), "other": (2, 6, 3)},
    more={"q": Thing("piston", facing="west")},
)
"""The flap's block lands in a line that feeds a torch and a second piston."""


@pytest.mark.parametrize(
    ("first", "settings", "lands", "starts", "acts"),
    [
        (10, Settings(), 13, 14, 15),
        (10, WAIT, 14, 14, 16),
        (9, Settings(), 12, 13, 14),
        (9, WAIT, 13, 13, 15),
    ],
)
def test_what_a_landing_begins(first: int, settings: Settings, lands: int, starts: int, acts: int) -> None:
    """M3. A hand in gt 9 starts the stroke in gt 10, as a part does that calls in gt 10."""
    found = only(run(LANDS, [(first, "rope")], 30, settings))
    assert levels(found, "flap") == [(0, 0), (lands, 15)]
    assert stands(found, (2, 6, 2)) == [
        (0, ""),
        (starts, "motion"),
        (starts + (2 if lands < starts else 3), "head of other"),
    ]
    assert levels(found, "lit") == [(0, 15), (acts, 0)]


SHORT = sketch(
    [floor(1, 6), "iPS..."],
    names={"rope": (2, 1, 1), "flap": (2, 1, 2), "stone": (2, 1, 3)},
)
FIRST = Settings(outside_first=True)
"""Hands first: a lever then calls as a part does that acts in the same gt."""


@pytest.mark.parametrize(
    ("off", "block", "home"),
    [
        (11, [(10, "motion"), (11, "stone")], 13),
        (12, [(10, "motion"), (12, "stone")], 14),
        (13, [(10, "motion"), (12, "stone"), (13, "")], 15),
        (14, [(10, "motion"), (12, "stone"), (14, "")], 16),
        (20, [(10, "motion"), (12, "stone"), (20, "")], 22),
    ],
)
def test_short_pulses_let_the_block_go(off: int, block: list[tuple[int, str]], home: int) -> None:
    """M6, the table: power on in gt 10 and off in gt 11, 12, 13 or later."""
    found = only(run(SHORT, [(10, "rope"), (off, "rope")], 30, FIRST))
    assert stands(found, (2, 1, 4)) == [(0, ""), *block]
    back = run(SHORT, [(10, "rope"), (off, "rope"), (home - 1, "rope"), (home + 6, "rope")], 40, FIRST)
    deaf = only(back)
    assert stands(deaf, (2, 1, 3))[-1][0] == home + 8
    starts = [gt for gt, what in stands(deaf, (2, 1, 4)) if what == "motion" and gt > 10]
    assert starts == ([] if off < 13 else [home + 1])


def test_power_that_comes_and_goes_before_pistons_start_moves_nothing() -> None:
    """M6, first row."""
    both = [Action(10, "rope", 15), Action(10, "rope", 0)]
    ends = {tuple(stands(found, (2, 1, 4))) for found in histories(SHORT, both, 20, FIRST)}
    assert ends == {((0, ""),), ((0, ""), (10, "motion"), (12, "stone"))}, (
        "the lever stays on if the hand that lets go is first"
    )


def test_the_rest_of_a_row_goes_on_when_the_head_is_called_home_early() -> None:
    """M6: the block before the head lands at once, the next at its own time."""
    build = sketch([floor(1, 7), "iPSG..."], names={"rope": (2, 1, 1), "stone": (2, 1, 3), "pane": (2, 1, 4)})
    found = only(run(build, [(10, "rope"), (11, "rope")], 30, FIRST))
    assert stands(found, (2, 1, 4)) == [(0, "pane"), (10, "motion"), (11, "stone")]
    assert stands(found, (2, 1, 5)) == [(0, ""), (10, "motion"), (12, "pane")]


def test_all_that_a_plain_piston_pushes_goes_on() -> None:
    """M6."""
    build = sketch([floor(1, 6), "ipS..."], names={"rope": (2, 1, 1), "stone": (2, 1, 3)})
    found = only(run(build, [(10, "rope"), (11, "rope")], 30, FIRST))
    assert stands(found, (2, 1, 4)) == [(0, ""), (10, "motion"), (12, "stone")]
    assert stands(found, (2, 1, 3)) == [(0, "stone"), (10, "motion"), (11, "")]


def test_under_landings_as_waits_the_call_home_waits_for_the_landing() -> None:
    """O3 as it was: off in gt 12 gives the block in gt 13 and the piston home in gt 16."""
    found = only(run(SHORT, [(10, "rope"), (12, "rope")], 30, Settings("wait", outside_first=True)))
    assert stands(found, (2, 1, 4)) == [(0, ""), (10, "motion"), (13, "stone")]
    assert levels(found, "flap") == [(0, 0), (13, 15), (16, 0)]
