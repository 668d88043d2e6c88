"""The worked values of the rules of light and of cells, as `grammar/RULES.md` tells them.

Common practice, no source: rules G1, G2 and G3 (light), X4 (how long the first of n cells takes) and X5 (sources share
their draws).
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from circuitcheck.chance.days.calendar import Calendar
from circuitcheck.engine.light import Daylight, dimmed
from circuitcheck.model.light import USUAL_CYCLE

from .laws import BY_NIGHT, FADING, GT_A_SECOND, answer, circuit_of, seconds

DELAY = 1
"""The detector's delay in gt; it is taken off again where a rule refers to the cells alone."""

PAIRS = """rules older
place     bank    gets sky or standing_light
sensor    rim.1 to rim.{pairs}   at bank
sensor    pair.*  at bank  grows from rim.*  starts off
detector  stir.*  watches pair.*  delay 1gt
junction  row     joins stir.*
lamp      bell    from row
"""

LIT = """language 1
rules {rules}
lever     rope
lamp      lantern  from rope
torch     brand    from rope
place     bed      gets {way}
sensor    turf     at bed  fades
"""


def along(way: str, sky: int = 15, rules: str = "newer", lit: Mapping[str, bool] | None = None) -> list[int]:
    """The light at the source of a way, and behind each block that it passes."""
    circuit = circuit_of(LIT.format(rules=rules, way=way))
    (place,) = circuit.places
    (only,) = place.paths
    state = lit or {"lantern": True, "brand": True}
    return [dimmed(level, only, sky) for _, level in Daylight(circuit).along(only, state.__getitem__)]


# How long the first cell takes (X4)


@pytest.mark.parametrize(
    ("rules", "cells", "median"), [("older", 1, 14.2), ("older", 7, 2.03), ("newer", 1, 47.3), ("newer", 7, 6.76)]
)
def test_the_median_wait_is_the_one_of_rule_x4(rules: str, cells: int, median: float) -> None:
    # The rule's figures are rounded to their last digit; the first whole gt by which half of all have come is at most
    # 1 gt, 0.05 s, later than the median of the formula.
    found = seconds(answer(FADING.format(rules=rules, cells=cells, delay=DELAY)).distribution, 0.5, DELAY)
    rounding = 0.05 if cells == 1 else 0.005
    assert median - rounding <= found <= median + rounding + 1 / GT_A_SECOND


def test_seven_cells_under_older_rules_take_41_whole_gt() -> None:
    found = answer(FADING.format(rules="older", cells=7, delay=DELAY)).distribution
    assert found.quantile(0.5) == 41 + DELAY
    assert seconds(found, 0.5, DELAY) == pytest.approx(2.05)


@pytest.mark.parametrize("rules", ["older", "newer"])
def test_seven_cells_are_seven_times_as_quick_as_one(rules: str) -> None:
    # To within the whole gt that each of the two is rounded up to.
    one, seven = (
        seconds(answer(FADING.format(rules=rules, cells=cells, delay=DELAY)).distribution, 0.5, DELAY) * GT_A_SECOND
        for cells in (1, 7)
    )
    assert (one - 1) / seven <= 7 <= one / (seven - 1)


# Sources with a cell of their own (X5)


def test_thirty_two_pairs_have_a_median_of_five_seconds_and_often_take_more_than_fifteen() -> None:
    found = answer(BY_NIGHT.format(length=120) + PAIRS.format(pairs=32)).distribution
    assert round(seconds(found, 0.5, DELAY), 1) == 5.2
    assert round(100 * (1 - found.within(15 * GT_A_SECOND + DELAY)), 1) == 13.3


def test_one_pair_alone_takes_thirty_two_times_as_long() -> None:
    many = answer(BY_NIGHT.format(length=120) + PAIRS.format(pairs=32)).distribution
    alone = answer(BY_NIGHT.format(length=1_200) + PAIRS.format(pairs=1)).distribution
    slow, quick = (seconds(each, 0.5, DELAY) * GT_A_SECOND for each in (alone, many))
    assert (slow - 1) / quick <= 32 <= slow / (quick - 1)


# Light (G1 to G3)

CHAIN = "sky through leaf, 4 water"


@pytest.mark.parametrize("rules", ["older", "newer"])
def test_leaf_and_water_take_what_the_table_of_rule_g2_says(rules: str) -> None:
    assert along(CHAIN, 15, rules) == [15, 14, 11, 8, 5, 2]
    assert along(CHAIN, 4, rules) == [4, 3, 0, 0, 0, 0]


def test_under_newest_rules_a_block_of_water_takes_one() -> None:
    assert along(CHAIN, 15, "newest") == [15, 14, 13, 12, 11, 10]
    assert along(CHAIN, 4, "newest") == [4, 3, 2, 1, 0, 0]


def test_full_sun_goes_straight_down_for_nothing_until_something_takes_of_it() -> None:
    assert along("sky through 3 air, 2 glass") == [15] * 6
    assert along("sky through 2 air, leaf, 3 air, glass") == [15, 15, 15, 14, 13, 12, 11, 10]
    assert along("sky through air, 2 aside, air") == [15, 15, 14, 13, 12]


@pytest.mark.parametrize(("source", "level"), [("lantern", 15), ("standing_light", 14), ("brand", 7)])
@pytest.mark.parametrize("block", ["air", "glass", "aside", "leaf"])
@pytest.mark.parametrize("sky", [15, 4])
def test_light_that_is_not_the_suns_falls_by_one_a_block_at_any_hour(
    source: str, level: int, block: str, sky: int
) -> None:
    assert along(f"{source} through 16 {block}", sky) == [max(level - passed, 0) for passed in range(17)]


def test_dust_lets_light_pass_as_air_does() -> None:
    assert along("sky through 3 dust") == [15] * 4
    assert along("sky through leaf, 2 dust") == [15, 14, 13, 12]
    assert along("lantern through 3 dust") == [15, 14, 13, 12]


@pytest.mark.parametrize("source", ["lantern", "brand"])
def test_a_lamp_or_torch_that_is_off_gives_no_light(source: str) -> None:
    assert along(f"{source} through 2 air", lit={"lantern": False, "brand": False}) == [0, 0, 0]


@pytest.mark.parametrize("block", ["solid", "half"])
def test_a_solid_block_and_the_full_face_of_a_half_one_stop_light(block: str) -> None:
    assert along(f"sky through leaf, {block}") == [15, 14, 0]
    assert along(f"lantern through air, {block}") == [15, 14, 0]


def test_of_several_ways_the_brightest_counts_and_they_do_not_add_up() -> None:
    ways = "sky through leaf or standing_light through 5 air or brand through air"
    circuit = circuit_of(LIT.format(rules="newer", way=ways))
    (place,) = circuit.places
    daylight = Daylight(circuit)
    lit, dark = {"brand": True}, {"brand": False}
    assert daylight.light(place, 15, lit.__getitem__) == 14
    assert daylight.light(place, 4, lit.__getitem__) == 9
    faint = circuit_of(LIT.format(rules="newer", way="brand through 2 air or sky through leaf"))
    assert Daylight(faint).light(faint.places[0], 4, lit.__getitem__) == 5
    assert Daylight(faint).light(faint.places[0], 4, dark.__getitem__) == 3


# The sky (G1)


@pytest.mark.parametrize(("weather", "takes"), [("fair", 0), ("wet", 3), ("stormy", 5)])
def test_rain_takes_three_levels_of_the_sky_and_a_storm_five(weather: str, takes: int) -> None:
    skies: dict[str, list[int | None]] = {}
    for phase in Calendar(USUAL_CYCLE, 1, weather).phases:
        if phase.day == 0:
            skies.setdefault(phase.name, []).append(phase.sky)
    steps = [14, 13, 12, 11, 10, 9, 8, 7, 6, 5]
    assert skies["day"] == [15 - takes]
    assert skies["night"] == [max(4 - takes, 0)]
    assert skies["dusk"] == [level - takes for level in steps]
    assert skies["dawn"] == [level - takes for level in reversed(steps)]


def test_rain_by_day_leaves_twelve_and_a_storm_ten() -> None:
    # What the weather takes is taken at the end of the way: full sun is still full sun on it.
    assert along("sky through 3 air", 15 - 3) == [12] * 4
    assert along("sky through 3 air", 15 - 5) == [10] * 4
    assert along("sky through air, leaf, 2 air", 15 - 3) == [12, 12, 11, 10, 9]


def test_at_dusk_the_light_falls_in_ten_steps_of_one_length() -> None:
    dusk = [each for each in USUAL_CYCLE.stretches() if each.phase == "dusk"]
    assert [each.end - each.begin for each in dusk] == [90 * GT_A_SECOND // 10] * 10
