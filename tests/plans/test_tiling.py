"""May it be tiled? What a drawing and a copy beside it, above it or mirrored do to each other.

Common practice, no source; the rules are named beside each case (grammar/RULES.md).
"""

from __future__ import annotations

import random
from itertools import product

import pytest

from circuitcheck.language.load import load_text
from circuitcheck.plans.tiling import Meddling, Offset, least_apart, meddlings

from .drawings import drawn_of, file_of, side
from .pairs import stand_apart

Layers = tuple[str, ...]


def east(columns: int, mirrored: bool = False) -> Offset:
    return Offset(columns=columns, mirrored=mirrored)


def done(layers: Layers, offset: Offset, names: str = "", rest: str = "") -> list[Meddling]:
    return meddlings(*drawn_of(*layers, names=names, rest=rest), offset)


# One thing each

CHANNEL = ("SSSSS/SSPmS/SSSSS", "SSSSS/S~..S/SSSSS")
"""A source, the place that the head of a piston comes to, and flowing water above a cell."""
OPEN = tuple("/".join(row[:4] for row in layer.split("/")) for layer in CHANNEL)


@pytest.mark.parametrize("offset", [east(5), east(-5), east(5, mirrored=True), Offset(rows=3)])
def test_flowing_water_above_the_copys_cell_is_that_copys_own(offset: Offset) -> None:
    """Rules Z9, G2: the light there depends on the copy's water as that of the drawing depends on its own."""
    assert done(CHANNEL, offset) == []


def test_the_water_of_two_channels_that_open_into_each_other_meets() -> None:
    """Rules Z1, Z6: where one piston cuts the water, that of the other comes."""
    found = done(OPEN, east(4, mirrored=True))
    assert {each.kind for each in found} == {"water"}
    assert "meets at layer 2, row 2, column 4" in found[0].words


def test_water_that_falls_into_the_copy_below_comes_there() -> None:
    """Rule Z3: through the hole in its floor it falls into the air of the other."""
    found = done(("SSSSS/SS.SS/SSSSS", "SSSSS/S~.PS/SSSSS"), Offset(layers=2))
    assert "water" in {each.kind for each in found}


STUCK = side("S...", "u...", "....", "P..T", "...S")
NAMED = "rope 2 1 1, bell 2 1 3"
JOINING = ("SSSSS/SSSSS/SSSSS/SSSSS", "..a../-----/..-../..O..")


def test_dust_that_joins_the_copys_dust_powers_the_lamp_there() -> None:
    """Rules W2, P2 and P5: the lines become one of ten dust, so that each lever reaches both lamps."""
    found = done(JOINING, east(5), "rope 2 1 3, bell 2 4 3")
    words = " ".join(each.words for each in found)
    assert {each.kind for each in found} == {"power"}
    assert "'copy.rope' powers 'bell'" in words
    assert "'rope' powers 'copy.bell'" in words


def test_it_is_reported_where_the_power_comes_over() -> None:
    found = done(JOINING, east(5), "rope 2 1 3, bell 2 4 3")
    ends = ("dust at layer 2, row 2, column 5", "dust at layer 2, row 2, column 6")
    for one, other in (ends, ends[::-1]):
        assert any(each.words.endswith(f": {one} touches {other}") for each in found)


def test_a_lever_of_the_copy_lights_the_lamp_next_door() -> None:
    """Rule W7."""
    (found,) = done(("SSS", "a-O"), east(3), NAMED)
    assert (found.kind, found.words.partition(":")[0]) == ("power", "'copy.rope' powers 'bell'")


def test_dust_that_points_elsewhere_once_the_copy_is_there_no_longer_powers_the_lamp() -> None:
    """Rule W3: joined to the north and the south as well, it points only where it is joined."""
    found = done(("SSSS", "a--O"), Offset(rows=1), "rope 2 1 1, bell 2 1 4")
    assert [each.kind for each in found] == ["power", "power"]
    assert all("no longer" in each.words for each in found)


def test_a_torch_powers_the_block_above_it_though_it_belongs_to_the_copy() -> None:
    """Rule W5."""
    (found,) = done(("SS", "T."), Offset(layers=2), "flame 2 1 1")
    assert (found.kind, found.words.partition(":")[0]) == ("power", "'flame' powers 'copy.flame'")


def test_a_block_of_the_copy_that_cuts_a_step_of_dust_is_reported() -> None:
    """Rule W2: dust does not join up a step if a solid block stands above the lower one."""
    layers = ("..../..../..../SSS.", "..../..../..../a-S.", ".S../..../..../..-O")
    (found,) = done(layers, Offset(rows=3), "rope 2 4 1, bell 3 4 4")
    assert found == ("power", "'rope' powers 'bell' no longer")
    assert done(layers, Offset(rows=4), "rope 2 4 1, bell 3 4 4") == []


def test_both_want_one_place() -> None:
    """Rule W1."""
    (found,) = done(("SSS", "a-O"), east(1))
    assert found == ("place", "both want the place layer 1, row 1, column 2, and 3 more")


def test_a_torch_two_steps_from_the_copys_stuck_piston_is_heard_there() -> None:
    """Rules W10 and D2; alone the torch is three steps from the piston."""
    assert done(STUCK, east(5), "wedge 2 1 1, flame 2 1 4") == [("update", "'flame' is heard by 'copy.wedge'")]


def test_the_copys_detector_watches_what_comes_to_stand_behind_it() -> None:
    """Rule D1."""
    (found,) = done(("SS", "DO"), east(2), "ripple 2 1 1, bell 2 1 2")
    assert found == ("update", "'bell' is watched by 'copy.ripple'")


def test_cells_of_the_two_that_reach_each_other_are_reported_and_their_light_is_not_where_it_is_the_same() -> None:
    """Rule X3; the open sky lights both all the same (G1)."""
    found = done(("g", "."), east(1), "turf 1 1 1")
    assert {each.words for each in found if each.kind == "growth"} == {
        "'copy.turf' can grow over 'turf'",
        "'turf' can grow over 'copy.turf'",
    }
    assert [each.words for each in found if each.kind == "light"] == []


def test_dust_that_the_circuit_gives_out_is_changed_by_the_copys_lever_beside_it() -> None:
    """Rules W7 and P2: its level is 14 alone, and 15 with a lever right beside it."""
    found = done(("SSS", "a--"), east(3), "rope 2 1 1, line 2 1 3", rest="output level from line")
    assert found != []


# Light

SPILLS: Layers = ("S" * 17, f"m{'.' * 14}Oa", f"~{'.' * 16}")
"""A cell below water far to the west of a lamp. Its 15 falls to 14 above it, then by 1 a block; water takes 3."""
SPILLS_NAMES = "turf 2 1 1, bell 2 1 16, rope 2 1 17"


def lamplight(blocks: int) -> int:
    """The lamp's light above a cell so many columns to the east of it (rules G1, G2): one up, the others aside."""
    return 15 - 1 - (blocks - 1) - 3


@pytest.mark.parametrize("offset", range(17, 27))
def test_light_that_spills_onto_the_copys_cell_is_reported_as_long_as_it_decides_something(offset: int) -> None:
    """Rule X2: below 4 a cell fades; rule X3: from 9 on it makes tries. At night 1 comes from the sky."""
    light = lamplight(offset + 1 - 16)
    found = done(SPILLS, east(offset), SPILLS_NAMES)
    assert (found != []) is (light >= 4)
    assert {each.kind for each in found} <= {"light"}


def test_the_cell_on_which_light_spills_is_named_with_its_place() -> None:
    (found,) = done(SPILLS, east(18), SPILLS_NAMES)
    assert "copy.turf" in found.words
    assert "layer 2, row 1, column 19" in found.words


def test_light_of_the_other_lamp_is_reported_even_where_a_lamp_of_its_own_does_the_same() -> None:
    """Two lamps, two levers: one may be lit while the other is dark, and 9 comes over (G1, G2, X2)."""
    layers = ("SSSSS", "m..Oa", "~....")
    assert lamplight(1 + 6 - 4) == 9
    assert {each.kind for each in done(layers, east(6), "turf 2 1 1, bell 2 1 4, rope 2 1 5")} == {"light"}


def test_the_nearest_without_light_is_where_it_decides_nothing_any_more() -> None:
    assert (lamplight(25 - 16), lamplight(24 - 16)) == (3, 4)
    assert least_apart(*drawn_of(*SPILLS, names=SPILLS_NAMES), east(17)) == east(24)


# Pistons


def test_a_piston_that_would_push_into_the_copy_is_reported() -> None:
    """Rule O3: alone there is room for its block."""
    (found,) = done(("SSSS", "a>]S"), east(4), "paddle 2 1 3")
    assert found.kind == "piston"
    assert "'paddle'" in found.words
    assert done(("SSSS", "a>]S"), east(5), "paddle 2 1 3") == []


def test_two_blocks_that_pistons_would_move_to_one_place_are_reported() -> None:
    """Rule W1: one thing a place. The one piston pushes east, the mirrored one west, and one place is between."""
    assert done(("SSSS.", "a>]S."), east(5, mirrored=True)) == []
    assert done(("SSSS.", "a>]S."), east(4, mirrored=True)) != []


# Where it may stand


@pytest.mark.parametrize(
    ("layers", "offset"),
    [
        (("SSS", "a-O"), east(4)),
        (("SSS", "O-a"), east(3, mirrored=True)),
        (("SS", "aO"), Offset(layers=2)),
        (("SS", "T."), Offset(layers=3)),
        (("SSSS", "a--O"), Offset(rows=2)),
        (("SSS", "a-O"), Offset(layers=1, rows=2, columns=1)),
        (STUCK, east(7)),
        (SPILLS, east(40)),
    ],
)
def test_far_enough_apart_a_copy_changes_nothing(layers: Layers, offset: Offset) -> None:
    assert done(layers, offset) == []


def test_mirrored_two_lamps_come_to_stand_side_by_side_and_each_lights_the_other() -> None:
    """Rules P4, W8 and O2: a lamp that dust powers is a weakly powered block, and that gives to lamps beside it."""
    found = done(("SSS", "a-O"), east(3, mirrored=True), NAMED)
    assert {each.words.partition(":")[0] for each in found} == {
        "'copy.rope' powers 'bell'",
        "'rope' powers 'copy.bell'",
    }


# Held against the two put together by their letters

DRAWINGS: list[Layers] = [
    ("SSS", "a-O"),
    ("SSSS/SSSS", "a>-O/..-."),
    ("SSS/SSS/SSS/SSS/SSS", ".../SW-/-.-/-ES/..."),
    ("SSSS/SSSS/SSSS", "..a./O--O/.T.."),
    ("SS", "T.", "S.", "TO"),
    ("SSSSS/SSSSS", "a->-O/..A.."),
    ("SSSSS/SSSSS/SSSSS", "a---./..}-O/a---."),
    ("SSSS", "aODO"),
    STUCK,
    ("SSG/SSG", "a-S/O..", "..-/..."),
]
OFFSETS = [
    *(east(columns, mirrored) for columns, mirrored in product(range(1, 8), (False, True))),
    *(Offset(rows=rows) for rows in range(1, 7)),
    *(Offset(layers=layers) for layers in range(1, 6)),
    *(Offset(1, 1, 1), Offset(2, 0, 1), Offset(0, 2, 2, True), Offset(1, 0, 3, True)),
]


@pytest.mark.parametrize("layers", DRAWINGS)
def test_a_copy_may_stand_wherever_every_part_is_fed_as_it_is_alone(layers: Layers) -> None:
    circuit, drawing = drawn_of(*layers)
    for offset in OFFSETS:
        assert (meddlings(circuit, drawing, offset) == []) is stand_apart(layers, offset), offset


@pytest.mark.parametrize("layers", DRAWINGS)
def test_the_nearest_that_is_offered_is_free_and_the_one_before_it_is_not(layers: Layers) -> None:
    circuit, drawing = drawn_of(*layers)
    for offset in (east(1), east(1, mirrored=True), Offset(rows=1), Offset(layers=1), Offset(0, 1, 1)):
        nearest = least_apart(circuit, drawing, offset)
        assert nearest is not None
        assert stand_apart(layers, nearest)
        before = [max(number - 1, 0) for number in (nearest.layers, nearest.rows, nearest.columns)]
        assert nearest == offset or not stand_apart(layers, Offset(before[0], before[1], before[2], offset.mirrored))


def test_drawings_at_random_may_stand_wherever_every_part_is_fed_as_it_is_alone() -> None:
    draw = random.Random(20)
    tried = 0
    while tried < 60:
        plan = "/".join("".join(draw.choice("S-.-.TO>aWE<A") for _ in range(4)) for _ in range(2))
        layers = ("SSSS/SSSS", plan)
        if load_text(file_of(*layers)).diagnostics:
            continue
        tried += 1
        circuit, drawing = drawn_of(*layers)
        for offset in draw.sample(OFFSETS, 5):
            assert (meddlings(circuit, drawing, offset) == []) is stand_apart(layers, offset), (plan, offset)


def test_sixteen_steps_are_tried_and_no_more() -> None:
    """From 1 on that is 16; the first free place of a row of 18 is 19, one beyond the dust that would join."""
    row = ("S" * 18, "-" * 17 + "O")
    circuit, drawing = drawn_of(*row)
    assert least_apart(circuit, drawing, east(1)) is None
    found = least_apart(circuit, drawing, east(10))
    assert found is not None
    assert stand_apart(row, found)
