"""The program runs turned and mirrored boxes alike: orders that directions could decide are followed both ways (C5)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from random import Random

import pytest

from circuitcheck.engine.step import TooManyStates

from .engine_runs import Runs, Unread, histories
from .plain.boxes import Case, cases
from .plain.runs import Shot
from .plain.things import Action, Box, Place, Thing
from .test_plain_boxes import mirrored, mirrored_way, turned, turned_way

Turning = Callable[[Place], Place]


def other_box(made: Box, place_of: Turning, way: Callable[[str], str], size: Place) -> Box:
    def other(thing: Thing) -> Thing:
        return replace(thing, facing=way(thing.facing), on=way(thing.on))

    things = {place_of(place): other(thing) for place, thing in made.things.items()}
    return Box(size, things, {place_of(place): level for place, level in made.water.items()})


def other_shot(shot: Shot, place_of: Turning) -> Shot:
    return Shot(
        shot.levels,
        tuple(sorted((place_of(place), level) for place, level in shot.dust)),
        tuple(sorted((place_of(place), what) for place, what in shot.things)),
        tuple(sorted((place_of(place), level) for place, level in shot.water)),
    )


def shifted(place: Place) -> Place:
    return place[0], place[1] + 1, place[2] + 2


def same_place(place: Place) -> Place:
    return place


def bent(made: Box, how: str) -> tuple[Box, Turning]:
    """A box turned, mirrored, or with more room to its north and west; and where each of its places is then."""
    size = made.size
    ways: dict[str, tuple[Turning, Callable[[str], str], Place]] = {
        "turned": (partial(turned, size=size), turned_way, (size[0], size[2], size[1])),
        "mirrored": (partial(mirrored, size=size), mirrored_way, size),
        "shifted": (shifted, str, shifted(size)),
    }
    place_of, way, other_size = ways[how]
    return other_box(made, place_of, way, other_size), place_of


def actions_of(case: Case) -> list[Action]:
    return [replace(action, drawn=action.name.startswith("sensor")) for action in case.actions]


@pytest.mark.parametrize("how", ["turned", "mirrored", "shifted"])
def test_turned_mirrored_and_shifted_boxes_have_the_same_histories(how: str) -> None:
    compared = 0
    for case in cases(23, 12, water=0):
        other, place_of = bent(case.box, how)
        try:
            found = histories(case.box, actions_of(case), case.until)
            others = histories(other, actions_of(case), case.until)
        except Unread:
            continue
        assert {tuple(other_shot(shot, place_of) for shot in one.shots) for one in found} == {
            tuple(other_shot(shot, same_place) for shot in one.shots) for one in others
        }
        compared += 1
    assert compared >= 8


@pytest.mark.parametrize("how", ["turned", "mirrored", "shifted"])
def test_what_a_box_with_water_does_it_can_do_turned_mirrored_and_shifted(how: str) -> None:
    """Water leaves many orders open: one is followed at random, and the other box must be able to follow it."""
    chance, compared = Random(41), 0
    for case in cases(29, 6, water=1):
        other, place_of = bent(case.box, how)
        try:
            runs, others = Runs(case.box), Runs(other)
            for gt in range(case.until + 1):
                mine = [action for action in actions_of(case) if action.gt == gt]
                found, fitting = runs.step(mine), others.step(mine)
                if runs.refused or others.refused:
                    break
                runs.simulators = [chance.choice(found)]
                now = other_shot(runs.shot(runs.simulators[0]), place_of)
                others.simulators = [each for each in fitting if other_shot(others.shot(each), same_place) == now]
                assert others.simulators, (how, gt)
        except (Unread, TooManyStates):
            continue
        compared += 1
    assert compared >= 4
