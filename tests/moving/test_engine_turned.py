"""The program runs turned and mirrored boxes alike: orders that directions could decide are followed both ways (C5)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from .engine_runs import Unread, histories
from .plain.boxes import cases
from .plain.runs import Shot
from .plain.things import Box, Place, Thing
from .test_plain_boxes import mirrored, mirrored_way, turned, turned_way

Turning = Callable[[Place], Place]


def other_box(made: Box, place_of: Turning, way: Callable[[str], str], size: Place) -> Box:
    def other(thing: Thing) -> Thing:
        return replace(thing, facing=way(thing.facing), on=way(thing.on))

    return Box(size, {place_of(place): other(thing) for place, thing in made.things.items()}, {})


def other_shot(shot: Shot, place_of: Turning) -> Shot:
    return Shot(
        shot.levels,
        tuple(sorted((place_of(place), level) for place, level in shot.dust)),
        tuple(sorted((place_of(place), what) for place, what in shot.things)),
        (),
    )


@pytest.mark.parametrize("how", ["turned", "mirrored"])
def test_turned_and_mirrored_boxes_have_the_same_histories(how: str) -> None:
    compared = 0
    for case in cases(23, 12, water=0):
        size = case.box.size
        turns = how == "turned"

        def place_of(place: Place, size: Place = size, turns: bool = turns) -> Place:
            return turned(place, size) if turns else mirrored(place, size)

        way, new_size = (turned_way, (size[0], size[2], size[1])) if turns else (mirrored_way, size)
        actions = [replace(action, drawn=action.name.startswith("sensor")) for action in case.actions]
        try:
            found = histories(case.box, actions, case.until)
            others = histories(other_box(case.box, place_of, way, new_size), actions, case.until)
        except Unread:
            continue
        assert {tuple(other_shot(shot, place_of) for shot in one.shots) for one in found} == {
            tuple(other_shot(shot, lambda place: place) for shot in one.shots) for one in others
        }
        compared += 1
    assert compared >= 8
