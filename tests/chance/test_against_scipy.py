"""How long cells take to change, calculated by the program, against the laws of waiting in SciPy.

Source of the laws: SciPy (scipy.stats: geom, expon), and textbooks of probability, for example W. Feller, An
Introduction to Probability Theory and Its Applications, volume 1, chapter VI.8 (geometric waits and their sums), and
S. M. Ross, Introduction to Probability Models, section 5.2 (minima of exponential waits, the hypoexponential law);
chapters from memory.
What a cell does, and how late a detector and a latch are: common practice, no source; rules C2, D1, L3, R3, X1 to X5.
"""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from scipy import stats

from .laws import (
    BY_NIGHT,
    FADING,
    GT_A_SECOND,
    NEWER,
    NIGHT,
    OLDER,
    ROUNDING,
    answer,
    assert_law,
    geometric,
    later,
    of_any,
    one_after_the_other,
)

CHANCES = {"older": OLDER, "newer": NEWER}

LATCHED = """language 1
rules {rules}
cycle 1200s day 600s, dusk 0s, night 600s, dawn 0s
place     bed     gets sky through leaf, water
sensor    turf    cells {cells}  at bed  fades
detector  stir.*  watches turf.*
junction  stirs   joins stir.*
repeater  longer  from stirs   delay 2t
latch     gate    set longer   reset rope  starts reset
lever     rope
lamp      lantern from gate
place     hall    gets lantern through 2 air
sensor    frost   at hall      becomes off "melts" chance 1/{within} above 8
detector  drip    watches frost
junction  row     joins drip
lamp      bell    from row
"""
"""The frost melts by the light of a lantern, and that is lit once the turf has faded."""
BETWEEN = 10
"""From the turf to the lantern: the detector 2 gt (D1), the repeater 4 gt (R3), the latch's two torches 2 gt each (L3).

The frost can be drawn in the very gt in which the lantern is lit: waits that are over come first in a gt (C2).
"""
DELAY = 2
"""From the last cell to the row: the detector's 1t (D1)."""

THREE_STAGES = """
sensor    rust    becomes off chance 1/{first}
place     cellar  gets standing_light through 3 air, half when rust off
sensor    mould   at cellar  becomes off chance 1/{second} below 5
place     loft    gets standing_light through solid when mould on
sensor    wax     at loft    becomes off chance 1/{third} above 8
detector  drip    watches wax
junction  row     joins drip
lamp      bell    from row
"""
"""Each changes only once the one before it has. A cell sees another's change in the gt after it (rule X1)."""


@pytest.mark.parametrize(("rules", "cells", "delay"), list(product(CHANCES, (1, 2, 7, 20), (1, 2, 5))))
def test_the_first_cell_to_wither_is_seen_after_a_geometric_time(rules: str, cells: int, delay: int) -> None:
    # Drawn from the first gt of the night on, each cell on its own (X1, X4); seen after the detector's delay (D1).
    found = answer(FADING.format(rules=rules, cells=cells, delay=delay))
    assert found.false_alarms == 0
    assert found.already == 0
    assert_law(found, later(geometric(of_any(CHANCES[rules], cells), NIGHT), delay))


@pytest.mark.parametrize(("of", "within"), [(1, 3), (1, 40), (7, 1000), (1, 1)])
def test_with_a_draw_chance_of_ones_own_the_time_is_geometric_too(of: int, within: int) -> None:
    text = FADING.format(rules="newer", cells=3, delay=1) + f"setting draw_chance {of}/{within}\n"
    assert_law(answer(text), later(geometric(of_any(of / within, 3), NIGHT), 1))


@pytest.mark.parametrize("rules", CHANCES)
def test_the_exponential_law_holds_to_within_one_gt_of_its_density(rules: str) -> None:
    # A geometric wait is an exponential one of rate -ln(1 - p), rounded up to a whole gt; so the share that has come by
    # a gt lies between the exponential's shares at that gt and at the one before. No tolerance but the program's own.
    found = answer(FADING.format(rules=rules, cells=7, delay=1))
    law = stats.expon(scale=-1 / (7 * math.log1p(-CHANCES[rules])))
    reached = np.array(found.distribution.reached[1:])
    at = np.arange(len(reached))
    slack = found.left_out + ROUNDING
    assert (reached <= law.cdf(at) + slack).all()
    assert (reached >= law.cdf(at - 1) - slack).all()


@pytest.mark.parametrize(("rules", "cells", "within"), [("older", 1, 300), ("newer", 7, 900), ("older", 7, 60)])
def test_two_stages_through_a_latch_take_the_sum_of_two_geometric_times(rules: str, cells: int, within: int) -> None:
    found = answer(LATCHED.format(rules=rules, cells=cells, within=within))
    first, second = geometric(of_any(CHANCES[rules], cells), NIGHT), geometric(1 / within, NIGHT)
    # The second wait begins with the gt of the lantern, not after it: hence one gt less.
    assert_law(found, later(one_after_the_other(first, second), BETWEEN - 1 + DELAY))


@pytest.mark.parametrize(("first", "second", "third"), [(30, 50, 20), (200, 200, 200), (3, 700, 41)])
def test_three_stages_take_the_sum_of_three_geometric_times(first: int, second: int, third: int) -> None:
    length = 300
    found = answer(BY_NIGHT.format(length=length) + THREE_STAGES.format(first=first, second=second, third=third))
    waits = [geometric(1 / each, length * GT_A_SECOND) for each in (first, second, third)]
    assert_law(found, later(one_after_the_other(*waits), DELAY))


def test_what_waits_for_the_last_of_three_cells_waits_for_the_greatest_of_three_times() -> None:
    # The greatest of n independent waits has the n-th power of their distribution function.
    length = 60
    text = """
sensor    rust    cells 3  becomes off chance 1/50
place     loft    gets standing_light through solid when rust.1 on, solid when rust.2 on, solid when rust.3 on
sensor    wax     at loft  becomes off chance 1/20 above 8
detector  drip    watches wax
junction  row     joins drip
lamp      bell    from row
"""
    gts = np.arange(length * GT_A_SECOND + 1)
    greatest = [float(each) for each in np.diff(stats.geom.cdf(gts, 1 / 50) ** 3, prepend=0.0)]
    found = answer(BY_NIGHT.format(length=length) + text)
    assert_law(found, later(one_after_the_other(greatest, geometric(1 / 20, length * GT_A_SECOND)), DELAY))


@pytest.mark.parametrize("scale", [10, 100, 1000])
def test_for_small_chances_two_stages_come_close_to_the_hypoexponential_law(scale: int) -> None:
    # Each stage is an exponential wait rounded up to a whole gt, so that the two together are less than 2 gt late: the
    # shares lie between the closed form's at t and at t - 2. Its density is nowhere above the smaller rate, so the
    # two differ by less than twice that rate, which goes to 0 with the chances.
    chances = 1 / (2 * scale), 1 / (3 * scale)
    text = (
        BY_NIGHT.format(length=scale)
        + f"""
sensor    rust    becomes off chance 1/{2 * scale}
place     loft    gets standing_light through solid when rust on
sensor    wax     at loft  becomes off chance 1/{3 * scale} above 8
detector  drip    watches wax
junction  row     joins drip
lamp      bell    from row
"""
    )
    quick, slow = (-math.log1p(-chance) for chance in chances)
    found = answer(text)
    reached = np.array(found.distribution.reached[DELAY:])
    at = np.arange(len(reached), dtype=float)
    closed = 1 - (quick * np.exp(-slow * at) - slow * np.exp(-quick * at)) / (quick - slow)
    slack = found.left_out + ROUNDING
    assert np.abs(reached - closed).max() < 2 * slow + slack
    assert (reached <= closed + slack).all()
    assert (reached[2:] >= closed[:-2] - slack).all()


def test_the_first_of_two_unlike_sensors_takes_the_least_of_two_geometric_times() -> None:
    # The least of two independent geometric waits is geometric: neither comes with the chance (1 - p)(1 - q).
    length = 100
    text = """
sensor    rust    becomes off chance 1/90
sensor    mould   becomes off chance 2/75
detector  flake   watches rust
detector  spot    watches mould
junction  row     joins flake, spot
lamp      bell    from row
"""
    found = answer(BY_NIGHT.format(length=length) + text)
    either = 1 - (1 - 1 / 90) * (1 - 2 / 75)
    assert_law(found, later(geometric(either, length * GT_A_SECOND), DELAY))


@pytest.mark.parametrize("name", ["flaked", "spotted"])
def test_of_two_sensors_that_put_each_other_in_the_dark_the_quicker_changes_as_often_as_it_should(name: str) -> None:
    # One that changes puts the other in the dark from the next gt on; in one and the same gt both still can (X1). So
    # rust changes at t with its own law's chance there, times the chance that the mould has not changed before t.
    length = 100
    text = """
place     cellar  gets standing_light through solid when mould off
place     loft    gets standing_light through solid when rust off
sensor    rust    at cellar  becomes off chance 1/90 above 8
sensor    mould   at loft    becomes off chance 2/75 above 8
detector  flake   watches rust
detector  spot    watches mould
junction  flaked  joins flake
junction  spotted joins spot
lamp      bell    from flaked
lamp      gong    from spotted
"""
    mine, other = (1 / 90, 2 / 75) if name == "flaked" else (2 / 75, 1 / 90)
    gts = np.arange(length * GT_A_SECOND + 1)
    law = [float(each) for each in stats.geom.pmf(gts, mine) * stats.geom.sf(gts - 1, other)]
    found = answer(BY_NIGHT.format(length=length) + text, name)
    assert_law(found, later(law, DELAY))
    # Over all time, the closed form: p / (1 - (1 - p)(1 - q)).
    assert found.distribution.comes == pytest.approx(mine / (1 - (1 - mine) * (1 - other)), abs=1e-9)


def test_a_dark_that_comes_late_leaves_the_slower_sensor_its_chance_until_then() -> None:
    # The latch darkens the cellar 10 gt after the mould has changed, in the first half of that gt: rust that changes
    # less than 10 gt after the mould still counts.
    length = 100
    text = """
lever     rope
sensor    mould   becomes off chance 1/60
detector  spot    watches mould
repeater  longer  from spot     delay 2t
latch     gate    set longer    reset rope  starts reset
place     cellar  gets standing_light through solid when gate
sensor    rust    at cellar     becomes off chance 1/90 above 8
detector  flake   watches rust
junction  row     joins flake
lamp      bell    from row
"""
    gts = np.arange(length * GT_A_SECOND + 1)
    law = [float(each) for each in stats.geom.pmf(gts, 1 / 90) * stats.geom.sf(gts - BETWEEN, 1 / 60)]
    assert_law(answer(BY_NIGHT.format(length=length) + text), later(law, DELAY))
