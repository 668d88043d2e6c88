"""The plain stepper, held to what strokes do to what stands around them.

Common practice, from memory, no source: M1, M4 to M11, W1. A lever is thrown by hand in gt 10, strokes land late.
"""

from __future__ import annotations

import pytest

from .plain.changes import change
from .plain.runs import History, gt_after, histories, only
from .plain.sketch import floor, sketch
from .plain.strokes import start
from .plain.things import Action, Box, Place, Refused, Settings, Thing
from .plain.world import Call, first_world, row


def throws(*gts: int, name: str = "rope") -> list[Action]:
    return [Action(gt, name, 15 if at % 2 == 0 else 0) for at, gt in enumerate(gts)]


def stands(history: History, place: Place) -> list[tuple[int, object]]:
    return history.where(lambda shot: shot.at(place))


def line(text: str, **more: Thing) -> Box:
    """A row of things on a floor; the lever at its western end is the rope."""
    return sketch([floor(1, len(text)), text], more, {"rope": (2, 1, 1), "flap": (2, 1, 2), "load": (2, 1, 3)})


MOVED = {
    "solid block": Thing("block"),
    "clear block": Thing("glass"),
    "half block": Thing("half", top=True),
    "cell": Thing("soil", level=1),
    "lamp": Thing("lamp"),
    "detector": Thing("detector", facing="north"),
    "piston at home": Thing("piston", facing="north"),
}


@pytest.mark.parametrize("load", MOVED)
def test_what_a_stroke_pushes_and_a_sticky_one_pulls(load: str) -> None:
    """M1, first rows of the table."""
    found = only(histories(line("iPx..", x=MOVED[load]), throws(10, 30), 40))
    assert stands(found, (2, 1, 4)) == [(0, ""), (11, "motion"), (13, "load"), (31, "")]
    assert stands(found, (2, 1, 3))[-1] == (33, "load")


@pytest.mark.parametrize("load", [Thing("block", fixed=True)])
def test_what_blocks_a_stroke(load: Thing) -> None:
    """M1, M7."""
    found = only(histories(line("iPx..", x=load), throws(10), 20))
    assert stands(found, (2, 1, 3)) == [(0, "load")]
    assert found.shots[20].level("flap") == 0


@pytest.mark.parametrize("load", [Thing("dust"), Thing("torch", level=15), Thing("repeater", facing="north")])
def test_what_breaks(load: Thing) -> None:
    """M1, M8."""
    broken = only(histories(line("ipx..", x=load), throws(10), 20))
    assert broken.refused == ("M8", (2, 1, 3), 11)


@pytest.mark.parametrize("what", ["-", "i", "|", ">"])
def test_what_lies_on_a_moved_thing_breaks(what: str) -> None:
    """M1, M8."""
    found = only(histories(sketch([floor(1, 5), "ipS..", f"..{what}.."], names={"rope": (2, 1, 1)}), throws(10), 20))
    assert found.refused == ("M8", (3, 1, 3), 11)


def test_a_stroke_into_the_ground_is_blocked() -> None:
    """M1."""
    build = sketch(["SpS", "iSi"], more={"p": Thing("piston", facing="below")})
    assert row(first_world(build, Settings()), (1, 1, 2)) is None


def test_a_piston_on_its_way_home_is_deaf_and_looks_when_it_lands() -> None:
    """M4: off in 30, on again in 31: home in 33, out again from 34."""
    found = only(histories(line("iPS.."), throws(10, 30, 31), 40))
    assert found.where(lambda shot: shot.level("flap")) == [(0, 0), (13, 15), (33, 0), (36, 15)]


def test_a_moved_lamp_without_power_goes_dark_4_gt_after_it_landed() -> None:
    """M11: the lamp is lit at home by a lever beside it and lands in 13."""
    build = sketch(
        [floor(2, 5), "ipO.. ..I.."],
        names={"rope": (2, 1, 1), "load": (2, 1, 3)},
        more={"O": Thing("lamp", level=15)},
    )
    found = only(histories(build, throws(10), 30))
    assert found.where(lambda shot: shot.level("load")) == [(0, 15), (17, 0)]


def test_a_lamp_that_lands_where_there_is_power_is_lit_at_the_landing() -> None:
    """M11."""
    build = sketch([floor(2, 5), "ipO.. ...I."], names={"rope": (2, 1, 1), "load": (2, 1, 3)})
    found = only(histories(build, throws(10), 30))
    assert found.where(lambda shot: shot.level("load")) == [(0, 0), (13, 15)]


def test_a_detector_that_is_moved_pulses_once_after_its_landing() -> None:
    """M10: lands 13, pulse 15 to 17."""
    found = only(histories(line("ipD..", D=Thing("detector", facing="north")), throws(10), 30))
    assert found.where(lambda shot: shot.level("load")) == [(0, 0), (15, 15), (17, 0)]


def test_a_detector_that_is_moved_in_its_pulse_loses_it_and_gives_none_when_it_lands() -> None:
    """M10 (fairly): its pulse of 8 to 16 ends in 11."""
    build = sketch(
        [floor(3, 6), "...... .ipD.. ...i.."],
        names={"rope": (2, 2, 2), "load": (2, 2, 4), "stir": (2, 3, 4)},
        more={"D": Thing("detector", facing="north", pulse=8)},
    )
    acts = [Action(6, "stir", 15), *throws(10)]
    found = only(histories(build, acts, 40))
    assert found.where(lambda shot: shot.level("load")) == [(0, 0), (8, 15), (11, 0)]


@pytest.mark.parametrize("watched", ["home", "out"])
def test_a_detector_feels_the_start_where_a_thing_leaves_or_comes(watched: str) -> None:
    """M10: starts in 11, pulse 13 to 15, and nothing at the landing in 13."""
    eye = "..D." if watched == "home" else "...D"
    build = sketch(
        [floor(3, 5), f"{eye}. ipS.. ....."],
        names={"rope": (2, 2, 1), "eye": (2, 1, 3 if watched == "home" else 4)},
        more={"D": Thing("detector", facing="north")},
    )
    found = only(histories(build, throws(10), 40))
    assert found.where(lambda shot: shot.level("eye")) == [(0, 0), (13, 15), (15, 0)]


def test_a_detector_that_watches_a_piston_feels_both_starts() -> None:
    """M10: starts 11 and 31; landings give no pulse."""
    build = sketch(
        [floor(3, 5), ".D... ipS.. ....."],
        names={"rope": (2, 2, 1), "eye": (2, 1, 2)},
        more={"D": Thing("detector", facing="north")},
    )
    found = only(histories(build, throws(10, 30), 50))
    assert [gt for gt, level in found.where(lambda shot: shot.level("eye")) if level] == [13, 33]


def test_a_repeater_goes_off_and_on_again_when_a_row_moves_past_its_line() -> None:
    """M9: a line through a place that one block left and another took is off 11 to 13; the repeater 13 to 15."""
    build = sketch(
        [floor(6, 6), "...I.. ...V.. ipSS.. ...V.. ...-.. ......"],
        names={"rope": (2, 3, 1), "rep": (2, 4, 4)},
    )
    found = only(histories(build, throws(10), 30))
    assert found.where(lambda shot: shot.level("rep")) == [(0, 15), (13, 0), (15, 15)]


def test_a_blocked_piston_looks_again_only_when_it_is_updated() -> None:
    """M7: room comes in gt 41, three places away; the piston starts in 61, when its lever has been thrown again."""
    build = sketch(
        [floor(5, 6), "....j. ....q. ipGGGF ...... ......"],
        names={"rope": (2, 3, 1), "flap": (2, 3, 2), "aside": (2, 1, 5)},
        more={"q": Thing("piston", facing="south"), "F": Thing("block", fixed=True), "j": Thing("lever")},
    )
    acts = [*throws(10, 50, 60), *throws(30, 40, name="aside")]
    found = only(histories(build, acts, 70))
    assert stands(found, (2, 4, 5)) == [(0, ""), (31, "motion"), (33, "glass_2_3_5")]
    assert stands(found, (2, 3, 5)) == [
        (0, "glass_2_3_5"),
        (31, "motion"),
        (33, "head of piston_2_2_5"),
        (41, ""),
        (61, "motion"),
        (63, "glass_2_3_4"),
    ]
    assert found.where(lambda shot: shot.level("flap")) == [(0, 0), (63, 15)]


@pytest.mark.parametrize(("column", "starts"), [(3, 11), (4, 14)])
def test_who_hears_a_stroke_beside_its_places(column: int, starts: int) -> None:
    """M5: beside the place that a block leaves the start is updated; beside the one it comes to, the landing only."""
    armed = "." * column + "S" + "." * (5 - column)
    knob = "." * column + "I" + "." * (5 - column)
    listener = "." * (column - 1) + "n" + "." * (6 - column)
    build = sketch(
        [floor(3, 6), f"...... {listener} iPS...", f"...... {armed} ......", f"...... {knob} ......"],
        names={"rope": (2, 3, 1), "ear": (2, 2, column)},
        more={"n": Thing("piston", facing="north")},
    )
    found = only(histories(build, throws(10), 30))
    assert stands(found, (2, 1, column)) == [(0, ""), (starts, "motion"), (starts + 2, "head of ear")]


def test_a_sticky_piston_pulls_another_that_is_home() -> None:
    """M7: the plain one, called while the place between is taken, is drawn along; where it lands it finds no power."""
    build = sketch(
        [floor(1, 6), "iP.qj."],
        names={"rope": (2, 1, 1), "other": (2, 1, 4)},
        more={"q": Thing("piston", facing="west"), "j": Thing("lever")},
    )
    found = only(histories(build, throws(10, 30), 40))
    assert stands(found, (2, 1, 3)) == [
        (0, ""),
        (11, "motion"),
        (13, "head of piston_2_1_2"),
        (31, "motion"),
        (33, "other"),
    ]


def test_a_powered_block_on_its_head_holds_a_piston_out() -> None:
    """M9, M4: the block is powered where it lands, by a repeater; when that goes off, the head's place is updated."""
    build = sketch(
        [floor(3, 3), "... ... iu.", ".S. .S. .S.", ".I. .V. ..."],
        names={"rope": (2, 3, 1), "flap": (2, 3, 2), "feed": (4, 1, 2)},
        more={"u": Thing("piston", facing="above", sticky=True)},
    )
    acts = [*throws(10, 30), Action(50, "feed", 0)]
    found = only(histories(build, acts, 60))
    assert found.where(lambda shot: shot.level("flap")) == [(0, 0), (13, 15), (54, 0)]


def test_a_stroke_within_a_stroke_is_refused() -> None:
    """M6: power that comes by one start and goes by the next, in one moment 3."""
    build = sketch([floor(1, 5), "iPS.."], names={"rope": (2, 1, 1), "flap": (2, 1, 2)})
    world = first_world(build, Settings())
    world.gt = 10
    change(world, (2, 1, 1), 15)
    start(world, world.calls.pop())
    change(world, (2, 1, 1), 0)
    with pytest.raises(Refused) as why:
        start(world, world.calls.pop())
    assert (why.value.rule, why.value.place, why.value.gt) == ("M6", (2, 1, 2), 10)


def test_a_detector_feels_a_thing_come_where_a_head_was_on_its_way() -> None:
    """M6, M10: the head is gone, and the block beyond is pulled into its place; both are in motion there."""
    eye = Thing("detector", facing="south")
    build = sketch(
        [floor(2, 5), "iP.S. ..D.."],
        names={"rope": (2, 1, 1), "flap": (2, 1, 2), "eye": (2, 2, 3)},
        more={"D": eye},
    )
    world = first_world(build, Settings())
    world.gt = 10
    change(world, (2, 1, 1), 15)
    start(world, world.calls.pop())
    world.gt, world.waits = 11, []  # long enough after what it felt first
    change(world, (2, 1, 1), 0)
    start(world, world.calls.pop())
    assert (2, 1, 4) not in world.things
    assert [wait.who for wait in world.waits] == ["eye"]


LISTENER = sketch(
    [floor(3, 6), "...... ...n.. iPSS..", "...... ....S. ......", "...... ....i. ......"],
    names={"rope": (2, 3, 1), "ear": (2, 2, 4), "knob": (4, 2, 5)},
    more={"n": Thing("piston", facing="north")},
)
"""A stuck piston beside the home place of the second block of a row; a lever arms it, which it can't hear."""


def test_each_place_that_a_thing_of_a_row_leaves_is_updated() -> None:
    """M5: armed in gt 5 in silence, it hears the start in 11."""
    found = only(histories(LISTENER, [Action(5, "knob", 15), *throws(10)], 30))
    assert stands(found, (2, 1, 4)) == [(0, ""), (11, "motion"), (13, "head of ear")]


def test_a_landing_head_tells_the_places_around_it() -> None:
    """M5: armed in gt 12 in silence, after the start, it hears the landing in 13."""
    listener = sketch(
        [floor(3, 6), "...... ..n... iP....", "...... ...S.. ......", "...... ...i.. ......"],
        names={"rope": (2, 3, 1), "ear": (2, 2, 3), "knob": (4, 2, 4)},
        more={"n": Thing("piston", facing="north")},
    )
    found = only(histories(listener, [*throws(10), Action(12, "knob", 15)], 30))
    assert stands(found, (2, 1, 3)) == [(0, ""), (14, "motion"), (16, "head of ear")]


def test_a_torch_gives_nothing_to_what_it_is_attached_to() -> None:
    """W5, M9: not to a lamp, and nothing to the place above a piston if it is attached to what stands there."""
    lamp = only(histories(sketch([floor(1, 3), ".O/"], names={"bell": (2, 1, 2)}), [], 5))
    assert lamp.shots[5].level("bell") == 0
    for load, starts in (("S/", []), (".-", [11])):
        build = sketch(
            [floor(2, 5), ".c... .nS..", f"..... .{load}.."],
            names={"turf": (2, 1, 2), "ear": (2, 2, 2)},
            more={"n": Thing("piston", facing="south"), "-": Thing("torch", level=15)},
        )
        found = only(histories(build, [Action(11, "turf", 0, drawn=True)], 30))
        assert [gt for gt, what in stands(found, (2, 3, 2)) if what == "motion"] == starts


@pytest.mark.parametrize("first", ["A", "B"])
def test_strokes_of_one_gt_land_in_the_order_of_their_starts(first: str) -> None:
    """M13: two moved detectors begin their waits as they land."""
    build = sketch(
        [floor(3, 5), "iPD.. ..... IPD.."],
        names={"A": (2, 1, 2), "B": (2, 3, 2), "eye A": (2, 1, 3), "eye B": (2, 3, 3)},
        more={"D": Thing("detector", facing="east"), "i": Thing("lever", level=15)},
    )
    world = first_world(build, Settings())
    world.gt, world.moment = 9, "over"
    world.calls = [Call(1 if name == first else 2, name, True) for name in ("A", "B")]
    world.batch = 2
    for _ in range(3):
        (world,), refused = gt_after([world], [])
        assert not refused
    waits = sorted(world.waits, key=lambda wait: wait.batch)
    assert [wait.who for wait in waits] == [f"eye {first}", f"eye {'B' if first == 'A' else 'A'}"]
