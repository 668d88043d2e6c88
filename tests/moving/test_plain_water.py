"""The plain stepper's water, held to the worked values of the rules.

Common practice, from memory, no source: Z1 to Z8, and examples 9 and 10 of moving and flowing.
"""

from __future__ import annotations

import random

import pytest

from .plain.changes import begin, begin_look
from .plain.moments import advance
from .plain.runs import History, one_history, with_water_at_rest
from .plain.sketch import floor, sketch
from .plain.things import FALLING, SOURCE, Action, Box, Place, Settings, Thing, Water
from .plain.water import look
from .plain.world import World, first_world


def wet(history: History, place: Place) -> list[tuple[int, object]]:
    return history.where(lambda shot: shot.water_at(place))


def rest(build: Box) -> dict[Place, Water]:
    return dict(with_water_at_rest(build).water)


def channel(length: int, first: str = "~") -> Box:
    """A channel one wide between walls, its source at the western end."""
    wall = "S" * (length + 2)
    return sketch([floor(3, length + 2), f"{wall} S{first}{'.' * (length - 1)}S {wall}"])


def test_water_reaches_seven_places_on_a_floor() -> None:
    """Z1: levels 7 to 1 beside a source, and no further."""
    found = rest(channel(10))
    assert [found.get((2, 2, column), "") for column in range(2, 12)] == [SOURCE, *"7654321", "", ""]


def test_a_fall_is_8_and_spreads_seven_places_where_it_lands() -> None:
    """Z1, Z3."""
    wall = "S" * 12
    row = "S~" + "." * 9 + "S"
    air = "S." + "S" * 10
    build = sketch([floor(3, 12), f"{wall} S{'.' * 10}S {wall}", f"{wall} {air} {wall}", f"{wall} {row} {wall}"])
    found = rest(build)
    assert (found[3, 2, 2], found[2, 2, 2]) == (FALLING, FALLING)
    assert [found.get((2, 2, column), "") for column in range(3, 11)] == [*"7654321", ""]
    assert found[4, 2, 3] == "7", "a source over its fall spreads aside as well"


def test_flowing_water_over_a_hole_falls_and_goes_no_further() -> None:
    """Z3: flowing water doesn't spread over water."""
    wall = "S" * 8
    build = sketch([floor(3, 8), "SSSSSSSS SSSS.SSS SSSSSSSS", f"{wall} S~.....S {wall}"])
    found = rest(build)
    assert [found.get((3, 2, column), "") for column in range(2, 8)] == [SOURCE, "7", "6", "5", "", ""]
    assert found[2, 2, 5] == FALLING


@pytest.mark.parametrize(("far", "found"), [(5, {"south"}), (6, {"south", "north"})])
def test_water_takes_the_way_to_the_nearest_hole(far: int, found: set[str]) -> None:
    """Z4: within 5 places only the sides on the shortest way."""
    rows = 2 * 8 + 1
    middle = 9
    ground = ["SSS"] * rows
    ground[middle - 1 + far] = "S.S"
    open_row = ["S.S"] * rows
    open_row[middle - 1] = "S~S"
    build = sketch([" ".join(["SSS"] * rows), " ".join(ground), " ".join(open_row)])
    world = first_world(build, Settings())
    world.gt = 0
    look(world, (3, middle, 2))
    sides = {(3, middle - 1, 2): "north", (3, middle + 1, 2): "south"}
    assert {name for place, name in sides.items() if place in world.water} == found


def test_no_way_to_a_hole_leads_through_a_source() -> None:
    """Z4: the hole lies behind the source, so water spreads as if there were none."""
    build = sketch(["SSSSSS SSSSSS SSSSSS", "SSSSSS S.SSSS SSSSSS", "SSSSSS S.~..S SSSSSS"])
    world = first_world(Box(build.size, build.things, {**build.water, (3, 2, 4): "7"}), Settings())
    world.gt = 0
    look(world, (3, 2, 4))
    assert world.water.get((3, 2, 5)) == "6"


def test_two_sources_make_a_third_between_them_over_solid_and_clear_blocks() -> None:
    """Z5."""
    for ground in ("SSSSS", "SSGSS"):
        build = sketch(["SSSSS SSSSS SSSSS", f"SSSSS {ground} SSSSS", "SSSSS S~.~S SSSSS"])
        assert rest(build)[3, 2, 3] == SOURCE


def test_two_sources_make_none_over_a_fall() -> None:
    """Z5, Z3: over water that is no source it stays flowing."""
    build = sketch(["SSSSS SSSSS SSSSS", "SSSSS SS.SS SSSSS", "SSSSS S~.~S SSSSS"])
    assert rest(build)[3, 2, 3] == "7"


def drying(build: Box, chance: random.Random) -> dict[Place, int]:
    """The gt in which each place is dry at last, those of the highest level told in gt 0; unknown orders by chance."""
    world, dry = first_world(build, Settings()), dict[Place, int]()
    world.gt = 0
    highest = max(build.water.values())
    for place, level in sorted(world.water.items()):
        if level == highest:
            begin_look(world, place, 0)
    while world.waits:
        first = min((wait.due, wait.batch) for wait in world.waits)
        wait = chance.choice([wait for wait in world.waits if (wait.due, wait.batch) == first])
        world.waits.remove(wait)
        world.gt = wait.due
        before = set(world.water)
        look(world, wait.place)
        dry |= dict.fromkeys(before - set(world.water), world.gt)
    assert not world.water
    return dry


def cut_off(width: int, levels: list[str]) -> Box:
    """Rows of water between walls, nothing feeding them."""
    wall = "S" * 11
    row = "S" + "." * 9 + "S"
    build = sketch([floor(width + 2, 11), " ".join([wall, *[row] * width, wall])])
    water = {(2, line + 2, at + 2): level for line in range(width) for at, level in enumerate(levels)}
    return Box(build.size, build.things, water)


@pytest.mark.parametrize("width", [1, 2])
@pytest.mark.parametrize("cut", [8, 7, 6, 3])
def test_what_is_cut_off_is_dry_after_five_gt_a_level(width: int, cut: int) -> None:
    """Z6, full length: dry 5 · L gt after the update of the highest level cut off, whatever the order of looks."""
    build = cut_off(width, [FALLING, *"7654321"][8 - cut :])
    assert {max(drying(build, random.Random(seed)).values()) for seed in range(8)} == {5 * cut}


def test_when_the_first_of_seven_places_dries_depends_on_the_order() -> None:
    """Z6: 20, 25, 30 or 35 gt after it was updated."""
    build = cut_off(1, [*"7654321"])
    assert {drying(build, random.Random(seed))[2, 2, 2] for seed in range(60)} == {20, 25, 30, 35}


def paddle(onto: int) -> Box:
    """A channel with a source at its end, and a piston above it that comes down onto one of its places."""
    wall = "S" * 12
    above = "." * (onto - 1) + "p" + "." * (12 - onto)
    return with_water_at_rest(
        sketch(
            [floor(3, 12), f"{wall} S~.........S {wall}", f"{'.' * 12} {above} {'.' * (onto - 1)}i{'.' * (12 - onto)}"],
            names={"rope": (3, 3, onto), "flap": (3, 2, onto)},
            more={"p": Thing("piston", facing="below")},
        )
    )


def throws(*gts: int) -> list[Action]:
    return [Action(gt, "rope", 15 if at % 2 == 0 else 0) for at, gt in enumerate(gts)]


def test_a_head_on_the_first_flowing_place_dries_the_channel_and_lets_it_run_again() -> None:
    """Example 9, one row of it: the head's place 11, dry 41; home-start 81, wet from 86, the seventh place 116."""
    for seed in range(4):
        found = one_history(paddle(3), throws(10, 80), 130, random.Random(seed))
        assert wet(found, (2, 2, 3)) == [(0, "7"), (11, ""), (86, "7")]
        last = max(gt for column in range(3, 10) for gt, level in wet(found, (2, 2, column)) if level == "" and gt < 80)
        assert last == 41
        assert wet(found, (2, 2, 9))[-1] == (116, "1")


def test_a_block_that_is_pushed_into_water_takes_it_at_the_start() -> None:
    """Z7, M5: the water next to it is updated in gt 11, not at the landing in 13; all is dry in 41."""
    wall = "S" * 12
    pushed, knob = "..S.........", "..i........."
    build = with_water_at_rest(
        sketch(
            [
                floor(3, 12),
                f"{wall} S~.........S {wall}",
                f"{'.' * 12} {pushed} {pushed}",
                f"{'.' * 12} ..p......... {knob}",
            ],
            names={"rope": (4, 3, 3)},
            more={"p": Thing("piston", facing="below")},
        )
    )
    found = one_history(build, throws(10), 60, random.Random(3))
    assert wet(found, (2, 2, 3)) == [(0, "7"), (11, "")]
    assert found.shots[40].water != found.shots[41].water
    assert [level for _, level in found.shots[41].water] == [SOURCE]


def test_a_head_on_the_source_takes_it_for_good() -> None:
    """Example 9: dry 46, and no water after the head has gone home."""
    for seed in range(4):
        found = one_history(paddle(2), throws(10, 80), 130, random.Random(seed))
        assert found.shots[45].water
        assert not found.shots[46].water
        assert not found.shots[130].water


def test_four_rows_side_by_side_dry_in_the_same_time() -> None:
    """Example 9: four pistons on one line of dust, each coming down onto the first flowing place of its row."""
    wall = "S" * 10
    rows, blank = "S~.......S", "." * 10
    build = with_water_at_rest(
        sketch(
            [
                floor(6, 10),
                " ".join([wall, *[rows] * 4, wall]),
                " ".join([blank, *["..p......."] * 4, blank]),
                " ".join(["..S......."] * 5 + [blank]),
                " ".join(["..i.......", *["..-......."] * 4, blank]),
            ],
            names={"rope": (5, 1, 3)},
            more={"p": Thing("piston", facing="below")},
        )
    )
    found = one_history(build, throws(10), 42, random.Random(5))
    assert {wet(found, (2, row, 3))[1] for row in range(2, 6)} == {(11, "")}
    assert {level for _, level in found.shots[40].water} != {SOURCE}
    assert {level for _, level in found.shots[41].water} == {SOURCE}


def test_water_comes_back_one_place_in_5_gt() -> None:
    """Example 10: head gone in 201, its place wet in 206, the next in 211, the third in 216 with level 5."""
    found = one_history(paddle(3), throws(10, 200), 220, random.Random(1))
    assert [wet(found, (2, 2, column))[-1] for column in (3, 4, 5)] == [(206, "7"), (211, "6"), (216, "5")]


def test_a_channel_that_ends_in_a_fall() -> None:
    """The paddles: out 11, floor dry 41, fall dry 46; home-start 81, the fall on the bed wet in 121."""
    wall = "S" * 11
    build = with_water_at_rest(
        sketch(
            [
                floor(3, 11),
                f"{wall} SSSSSSSS.SS {wall}",
                f"{wall} S~.......SS {wall}",
                "........... ..p........ ..i........",
            ],
            names={"rope": (4, 3, 3)},
            more={"p": Thing("piston", facing="below")},
        )
    )
    assert (build.water[3, 2, 9], build.water[2, 2, 9]) == ("1", FALLING)
    found = one_history(build, throws(10, 80), 130, random.Random(2))
    floor_dry = max(gt for column in range(3, 10) for gt, level in wet(found, (3, 2, column)) if level == "")
    assert floor_dry == 41
    assert wet(found, (2, 2, 9)) == [(0, FALLING), (46, ""), (121, FALLING)]


def test_a_fall_that_stands_alone_dries_5_gt_a_place_from_above() -> None:
    """Z6."""
    build = sketch(["SSS SSS SSS", "SSS S.S SSS", "SSS S.S SSS", "SSS S.S SSS"])
    world = first_world(Box(build.size, build.things, {(layer, 2, 2): FALLING for layer in (2, 3, 4)}), Settings())
    world.gt = 0
    begin_look(world, (4, 2, 2), 0)
    dry = []
    while world.waits:
        wait = world.waits.pop(0)
        world.gt = wait.due
        before = set(world.water)
        look(world, wait.place)
        dry += [(world.gt, place[0]) for place in before - set(world.water)]
    assert dry == [(5, 4), (10, 3), (15, 2)]


def test_water_that_reaches_dust_is_refused() -> None:
    """Z7: the channel is opened in gt 21; its first place is wet in 26, and the dust behind that is reached in 31."""
    build = sketch(
        ["SSSSS SSSSS SSSSS", "SSSSS S~.-S SSSSS", "..... ..p.. ..i.."],
        names={"rope": (3, 3, 3)},
        more={"p": Thing("piston", facing="below")},
    )
    assert one_history(build, throws(10, 20), 40, random.Random(1)).refused == ("Z7", (2, 2, 4), 31)


def test_water_that_comes_is_an_update_to_a_stuck_piston_and_to_a_detector() -> None:
    """Z8, W9, D1: the second place is wet in gt 51, when the armed piston starts; the detector pulses in 53."""
    build = sketch(
        [
            "SSSSSS SSSSSS SSSSSS SSSSSS",
            "...... SSSPSS S~..Dv SSSSSS",
            "...... ....S. ..p... ..i...",
            "...... ....I. ...... ......",
        ],
        names={"rope": (3, 4, 3), "flap": (2, 2, 4), "eye": (2, 3, 5)},
        more={"p": Thing("piston", facing="below"), "P": Thing("piston", facing="north", sticky=True)},
    )
    found = one_history(build, throws(10, 40), 60, random.Random(1))
    assert wet(found, (2, 3, 4)) == [(0, ""), (51, "6")]
    assert found.where(lambda shot: shot.at((2, 1, 4))) == [(0, ""), (51, "motion"), (53, "head of flap")]
    assert found.where(lambda shot: shot.level("eye")) == [(0, 0), (53, 15), (55, 0)]


@pytest.mark.parametrize(("sources", "aside"), [(2, False), (3, True)])
def test_a_source_over_a_hole_spreads_aside_at_once_only_between_three_sources(sources: int, aside: bool) -> None:
    """Z3 (fairly)."""
    middle = {2: "~~.", 3: "~~."}[sources]
    north, south = {2: (".~.", ".S."), 3: (".~.", ".~.")}[sources]
    build = sketch(["SSS SSS SSS", "SSS S.S SSS", f"{north} {middle} {south}"])
    world = first_world(build, Settings())
    world.gt = 0
    look(world, (3, 2, 2))
    assert world.water[2, 2, 2] == FALLING
    assert ((3, 2, 3) in world.water) == aside


@pytest.mark.parametrize(("looks", "first"), [("class_4", "water"), ("after_waits", "torch")])
def test_when_water_looks_among_waits(looks: str, first: str) -> None:
    """Z2: a look that began before a torch's wait comes before it, or after all waits."""
    build = sketch(["SSSSS SSSSS SSSSS", "SSSSS S~.SS SSS/S"], names={"lit": (2, 3, 4)})
    world = first_world(build, Settings(water_looks=looks))
    world.gt, world.moment = 0, "waits"
    begin_look(world, (2, 2, 2), world.next_batch())
    begin(world, 5, 4, world.next_batch(), "act", "lit")
    world.gt = 5
    after = advance(world)
    assert len(after) == 1
    left = [wait.who for one in after if isinstance(one, World) for wait in one.waits]
    assert ("lit" in left) == (first == "water")
