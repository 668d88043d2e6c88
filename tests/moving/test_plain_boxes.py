"""Random boxes for the plain stepper, and their text in the drawing language."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from random import Random

import pytest

import circuitcheck

from .plain.boxes import Case, cases, one_box, one_case
from .plain.printing import printed
from .plain.runs import Follower, Shot, histories
from .plain.things import LEVEL_WAYS, Box, Place, Settings, Thing

NOT_RECKONED = "CKT602"
"""What the program says it can't reckon with, such as half a block that moves near soil cells."""


PARTS = frozenset({"torch", "repeater", "lamp", "detector", "lever", "soil"})


def resting(seed: int, count: int) -> list[Case]:
    """So many boxes, whether or not anything moves in them."""
    chance, found = Random(seed), list[Case]()
    while len(found) < count:
        case = one_case(chance, Settings(), chance.random() < 0.2)
        if case is not None:
            found.append(case)
    return found


def test_printed_boxes_are_read_without_a_mistake() -> None:
    chance, boxes = Random(7), list[Box]()
    while len(boxes) < 200:
        made = one_box(chance, Settings(), chance.random() < 0.2)
        boxes += [made] if made is not None else []
    codes = [mistakes(printed(made)) for made in boxes]
    assert {code for found in codes for code in found} <= {NOT_RECKONED}
    assert sum(not found for found in codes) >= 180


def mistakes(text: str) -> list[str]:
    try:
        circuitcheck.loads(text)
    except circuitcheck.InvalidCircuit as why:
        return [each.code for each in why.diagnostics]
    return []


def test_a_seed_makes_the_same_cases_again() -> None:
    assert cases(3, 3) == cases(3, 3)


def test_boxes_rest_until_something_is_done() -> None:
    for case in resting(11, 20):
        for found in histories(case.box, [], 20):
            assert len(set(found.shots)) == 1


def test_in_most_cases_what_moves_matters() -> None:
    """Dust or a part changes in a gt in which something comes to be in motion or lands."""
    found = cases(5, 20)
    assert sum(case.moves for case in found) >= 16
    assert sum(case.matters for case in found) >= 10


def turned(place: Place, size: Place) -> Place:
    """As seen from above, turned right."""
    return place[0], place[2], size[1] + 1 - place[1]


def turned_way(way: str) -> str:
    return LEVEL_WAYS[(LEVEL_WAYS.index(way) + 1) % 4] if way in LEVEL_WAYS else way


def mirrored(place: Place, size: Place) -> Place:
    return place[0], place[1], size[2] + 1 - place[2]


def mirrored_way(way: str) -> str:
    return {"east": "west", "west": "east"}.get(way, way)


@pytest.mark.parametrize("how", ["turned", "mirrored"])
def test_turned_and_mirrored_boxes_have_the_same_histories(how: str) -> None:
    for case in cases(17, 8):
        size = case.box.size

        def place_of(place: Place, size: Place = size) -> Place:
            return turned(place, size) if how == "turned" else mirrored(place, size)

        def other(thing: Thing) -> Thing:
            way = turned_way if how == "turned" else mirrored_way
            return replace(thing, facing=way(thing.facing), on=way(thing.on))

        other_box = Box(
            (size[0], size[2], size[1]) if how == "turned" else size,
            {place_of(place): other(thing) for place, thing in case.box.things.items()},
            {place_of(place): level for place, level in case.box.water.items()},
        )

        def other_shot(shot: Shot, place_of: object = place_of) -> Shot:
            assert callable(place_of)
            return Shot(
                shot.levels,
                tuple(sorted((place_of(place), level) for place, level in shot.dust)),
                tuple(sorted((place_of(place), what) for place, what in shot.things)),
                tuple(sorted((place_of(place), level) for place, level in shot.water)),
            )

        found = {tuple(map(other_shot, one.shots)) for one in histories(case.box, case.actions, case.until)}
        assert found == {one.shots for one in histories(other_box, case.actions, case.until)}


def test_where_nothing_moves_the_program_shows_what_the_plain_stepper_shows() -> None:
    """The two readings of standing boxes, gt by gt: every part's level, in an order that the plain stepper allows."""
    standing = [case for case in resting(23, 90) if not case.moves and not case.box.water]
    readable = [case for case in standing if not mistakes(printed(case.box, case.actions, case.until))]
    assert len(readable) >= 20
    for case in readable:
        assert first_difference(case) is None, printed(case.box, case.actions, case.until)


def first_difference(case: Case) -> int | None:
    """The first gt in which the program shows what no order of the plain stepper does."""
    run, plain = circuitcheck.loads(printed(case.box)).start(), Follower(case.box)
    names = [thing.name for thing in case.box.things.values() if thing.kind in PARTS]
    for gt in range(case.until + 1):
        for action in case.actions:
            if action.gt == gt:
                run.set(action.name, bool(action.level))
        if gt > 0:
            run.step()
        plain.step(case.actions)
        on = {name: bool(run.level(name)) for name in names}
        if not plain.keep(partial(shows, on)):
            return gt
    return None


def shows(on: Mapping[str, bool], shot: Shot) -> bool:
    return all(on[name] == (shot.level(name) > 0) for name in on)
