"""Days lived through by chance, the intervals around sampled figures, and the tries of one draw, against the outside.

Sources: SciPy (scipy.stats: geom, binom, binomtest, kstwo, chisquare). That the test of Kolmogorov and Smirnov errs on
the safe side for discrete laws: G. E. Noether, "Note on the Kolmogorov statistic in the discrete case", Metrika 7
(1963); from memory. The ranks around a quantile: W. J. Conover, Practical Nonparametric Statistics, section 3.2.
What cells and detectors do: common practice, no source; rules C2, D1, X1 to X5.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from scipy import stats

from circuitcheck.chance.days.shares import CONFIDENCE, of_mean, of_quantile, of_share
from circuitcheck.chance.days.together import Plan, Tally, live_through
from circuitcheck.chance.days.walk import Watching
from circuitcheck.model.claims import Atom, Test
from circuitcheck.model.parts.cells import chance_of_exactly

from .laws import (
    BY_NIGHT,
    FADING,
    GT_A_SECOND,
    NEWER,
    NIGHT,
    OLDER,
    Law,
    answer,
    assert_law,
    circuit_of,
    geometric,
    later,
    of_any,
    one_after_the_other,
)

RUNS = 2_000
TOO_ODD = 0.001
"""A sample at least this odd would be seen once in 1,000 seeds. The seeds are fixed, so it is seen never or always."""


def first_day(text: str, seed: int) -> Tally:
    """The first night of many runs."""
    plan = Plan(circuit_of(text), Watching((Atom("row", Test.RISES),), ("night",)), RUNS, 1, seed=seed)
    ((tally,),) = live_through(plan).tallies
    assert tally.asked == RUNS
    return tally


def kolmogorov_smirnov(tally: Tally, law: Sequence[float]) -> float:
    """How odd the sample is under the law: at most this share of all samples would lie as far off.

    Both functions jump at whole gt alone, so their greatest distance is found there (scipy's own kstest would compare
    the law after a jump with the sample before it). For a discrete law the distance tends to be smaller than for a
    continuous one, so that the share told by Kolmogorov's law is too large, never too small.
    """
    counts = np.bincount(np.array(tally.waits, dtype=int), minlength=len(law))
    distance = np.abs(np.cumsum(counts) / tally.asked - np.cumsum(law)).max()
    return float(stats.kstwo.sf(distance, tally.asked))


def chi_square(tally: Tally, law: Sequence[float], bins: int) -> float:
    """The same by counts in bins that the law makes about alike; the last holds all that is later, or never comes."""
    reached = np.cumsum(law)
    edges = sorted({int(np.searchsorted(reached, each / bins)) for each in range(1, bins)})
    shares = np.diff([0.0, *reached[edges], 1.0])
    counts = np.diff([0, *np.searchsorted(np.array(tally.waits), edges, side="right"), tally.asked])
    assert (shares * tally.asked > 20).all()
    return float(stats.chisquare(counts, shares * tally.asked).pvalue)


def two_stages(first: int, second: int) -> tuple[str, Law]:
    """Wax that melts only once the rust has flaked off, and its law."""
    length = 200
    text = f"""
sensor    rust    becomes off chance 1/{first}
place     loft    gets standing_light through solid when rust on
sensor    wax     at loft  becomes off chance 1/{second} above 8
detector  drip    watches wax
junction  row     joins drip
lamp      bell    from row
"""
    waits = [geometric(1 / each, length * GT_A_SECOND) for each in (first, second)]
    return BY_NIGHT.format(length=length) + text, later(one_after_the_other(*waits), 2)


@pytest.mark.parametrize(("rules", "chance", "cells"), [("older", OLDER, 1), ("older", OLDER, 7), ("newer", NEWER, 7)])
@pytest.mark.parametrize("seed", [1, 2])
def test_nights_lived_through_follow_the_geometric_law(rules: str, chance: float, cells: int, seed: int) -> None:
    tally = first_day(FADING.format(rules=rules, cells=cells, delay=3), seed)
    law = later(geometric(of_any(chance, cells), NIGHT), 3)
    assert kolmogorov_smirnov(tally, law) > TOO_ODD
    assert chi_square(tally, law, 20) > TOO_ODD


@pytest.mark.parametrize(("first", "second", "seed"), [(60, 90, 1), (4, 7, 2), (200, 3, 3)])
def test_nights_lived_through_follow_the_law_of_two_stages(first: int, second: int, seed: int) -> None:
    text, law = two_stages(first, second)
    tally = first_day(text, seed)
    assert kolmogorov_smirnov(tally, law) > TOO_ODD
    assert chi_square(tally, law, 10) > TOO_ODD
    exact = answer(text).distribution.chances
    assert kolmogorov_smirnov(tally, exact) > TOO_ODD
    assert chi_square(tally, exact, 10) > TOO_ODD


def test_a_sample_differs_from_the_law_of_one_cell_more_and_of_one_stage_out_of_two() -> None:
    # The two measures above would see a mistake.
    tally = first_day(FADING.format(rules="newer", cells=7, delay=3), 1)
    wrong = later(geometric(of_any(NEWER, 8), NIGHT), 3)
    assert kolmogorov_smirnov(tally, wrong) < TOO_ODD
    assert chi_square(tally, wrong, 20) < TOO_ODD
    text, law = two_stages(4, 7)
    assert chi_square(first_day(text, 2), [*law[1:], 0.0], 10) < TOO_ODD


@pytest.mark.parametrize("of", [1, 2, 7, 30, 2_000, 1_000_000])
def test_the_interval_of_a_share_is_wilsons(of: int) -> None:
    for hits in sorted({0, 1, of // 3, of // 2, of - 1, of}):
        theirs = stats.binomtest(hits, of).proportion_ci(confidence_level=CONFIDENCE, method="wilson")
        mine = of_share(hits, of)
        assert mine.value == hits / of
        assert mine.low == pytest.approx(theirs.low, rel=1e-9, abs=1e-15)
        assert mine.high == pytest.approx(theirs.high, rel=1e-9, abs=1e-15)


def chance_to_hold(share: float, of: int) -> float:
    """How often the interval around a quantile holds it, for a continuous law.

    As many of the values lie below the quantile as a binomial count says. It lies between the values of the ranks r and
    s if at least r and fewer than s do. Given the values 1 to n, the program tells its ranks; where it tells no bound,
    that lies beyond all values.
    """
    found = of_quantile(range(1, of + 1), of, share)
    low = 0 if found.low is None else round(found.low)
    high = of + 1 if found.high is None else round(found.high)
    count = stats.binom(of, share)
    return float(count.cdf(high - 1) - count.cdf(low - 1))


@pytest.mark.parametrize("share", [0.5, 0.9, 0.99, 0.999])
@pytest.mark.parametrize("of", [5, 6, 7, 10, 30, 100, 101, 500, 2_000, 100_000])
def test_the_interval_of_a_quantile_holds_it_in_95_of_100_cases(share: float, of: int) -> None:
    assert chance_to_hold(share, of) >= CONFIDENCE


@pytest.mark.parametrize("share", [0.5, 0.9])
def test_the_interval_of_a_quantile_holds_it_as_often_where_there_are_few_values(share: float) -> None:
    # With four values all of them lie above the median once in 16 times: the least of them is no lower bound then.
    assert min(chance_to_hold(share, of) for of in (1, 2, 3, 4)) >= CONFIDENCE


@pytest.mark.parametrize(("share", "of"), [(0.5, 200), (0.9, 200), (0.99, 2_000)])
def test_the_interval_of_a_quantile_holds_the_true_one_in_simulated_samples(share: float, of: int) -> None:
    # Waits of seven cells under older rules; those of more than 300 gt never come, and count as longer than all.
    samples, chance, until = 1_000, of_any(OLDER, 7), 300
    true = int(stats.geom.ppf(share, chance))
    waits = stats.geom.rvs(chance, size=(samples, of), random_state=np.random.default_rng(5))
    held = 0
    for sample in waits:
        found = of_quantile(sorted(int(each) for each in sample if each <= until), of, share)
        low, high = (beyond if each is None else each for each, beyond in ((found.low, 0.0), (found.high, np.inf)))
        held += low <= true <= high
    # At 95 of 100, fewer than 930 of 1,000 would be seen once in 300 times.
    assert held >= 930


def test_the_interval_of_a_mean_is_the_normal_one() -> None:
    source = random.Random(3)
    values = [source.randrange(1, 500) for _ in range(400)]
    low, high = stats.norm.interval(CONFIDENCE, loc=np.mean(values), scale=stats.sem(values))
    found = of_mean(values)
    assert found.value == pytest.approx(float(np.mean(values)))
    assert found.low == pytest.approx(float(low))
    assert found.high == pytest.approx(float(high))


def enumerated(hit: int, of: int) -> Fraction:
    """Every way for four tries to fall on `of` named places and the rest of the 45, those taken together."""
    weights = [1] * of + [45 - of]
    ways = 0
    for tries in product(range(of + 1), repeat=4):
        if {each for each in tries if each < of} == set(range(hit)):
            ways += weights[tries[0]] * weights[tries[1]] * weights[tries[2]] * weights[tries[3]]
    return Fraction(ways, 45**4)


@pytest.mark.parametrize("of", range(1, 9))
def test_the_tries_of_one_draw_are_as_all_their_ways_counted_out(of: int) -> None:
    for hit in range(of + 1):
        assert chance_of_exactly(hit, of) == pytest.approx(float(enumerated(hit, of)), rel=1e-12, abs=1e-18)


@pytest.mark.parametrize("cells", [1, 2, 5, 12])
def test_one_source_reaches_at_least_one_of_its_cells_as_rule_x5_says(cells: int) -> None:
    # By 14 less one block the bank is light enough to spread and to take, at any hour (G1, X3).
    text = f"""rules older
place     bank    gets standing_light through air
sensor    rim     at bank
sensor    pair    cells {cells}  at bank  grows from rim  starts off
detector  stir.*  watches pair.*
junction  row     joins stir.*
lamp      bell    from row
"""
    length = 300
    chance = OLDER * (1 - ((45 - cells) / 45) ** 4)
    assert_law(answer(BY_NIGHT.format(length=length) + text), later(geometric(chance, length * GT_A_SECOND), 2))
