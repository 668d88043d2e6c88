"""What water takes at a look, and the places that strokes can change, asked directly.

Common practice, no source: rules M1 (what a stroke moves), Z1, Z5 and Z6 (levels, new sources, drying).
"""

from __future__ import annotations

import pytest

from circuitcheck.model.rules import NEWER
from circuitcheck.space.configuration import AT_HOME
from circuitcheck.space.flowing import FALLING, SOURCE, Ground, HalfBelow
from circuitcheck.space.water import freed_places

from .building import ats, drawing_of


def taken(below: str, *, above: int = 0, sides: tuple[int, int] = (SOURCE, SOURCE), layer: int = 2) -> int:
    """The level that flowing water takes between two others, over what stands below it."""
    drawing = drawing_of(f"S{below}S", "~.~", "...")
    levels = {(layer, 1, 1): sides[0], (layer, 1, 3): sides[1], (layer + 1, 1, 2): above}
    return Ground(drawing, NEWER, AT_HOME).level_taken((layer, 1, 2), lambda at: levels.get(at, 0))


@pytest.mark.parametrize("below", ["S", "G"])
def test_between_two_sources_over_a_block_or_glass_water_becomes_a_source(below: str) -> None:
    assert taken(below) == SOURCE
    assert taken(below, above=FALLING) == SOURCE


def test_over_the_ground_too() -> None:
    assert taken(".", layer=1) == SOURCE


@pytest.mark.parametrize("below", [".", "T"])
def test_over_air_or_a_torch_it_takes_one_less_than_the_sources(below: str) -> None:
    assert taken(below) == SOURCE - 1


def test_over_a_half_block_it_is_refused_between_two_sources_alone() -> None:
    with pytest.raises(HalfBelow):
        taken("_")
    assert taken("_", sides=(SOURCE, 7)) == SOURCE - 1


@pytest.mark.parametrize(("sides", "level"), [((5, 3), 4), ((1, 0), 0), ((FALLING, 0), 7), ((SOURCE, 0), 7)])
def test_it_takes_one_less_than_the_highest_beside_it(sides: tuple[int, int], level: int) -> None:
    assert taken("S", sides=sides) == level


def test_below_water_it_falls() -> None:
    assert taken("S", above=1, sides=(3, 0)) == FALLING


@pytest.mark.parametrize(
    ("row", "changed"),
    [
        (")....", ats(2)),
        (">....", ats(2)),
        (")S...", ats(2, 3)),
        (")SS..", ats(2, 3, 4)),
        (">.S..", ats(2, 3)),
        (").S..", ats(2)),
        (">S.S.", ats(2, 3)),
        (".....", ()),
    ],
)
def test_a_stroke_changes_the_head_s_place_and_those_that_things_leave_and_come_to(
    row: str, changed: tuple[tuple[int, int, int], ...]
) -> None:
    assert freed_places(drawing_of(row), NEWER) == frozenset(changed)
