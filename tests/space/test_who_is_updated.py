"""Who gets an update from a change in a drawing (W10), shown by pistons that move only when they are updated (W9, D2).

Common practice, no source. A piston that nothing powers but a lever two places above it, which it can't hear, is put
down near each kind of thing, at every place up to three steps off; where it is updated, it names the thing as heard, or
feels its power itself.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import NamedTuple

import pytest

import circuitcheck
from circuitcheck.model.drawing import At
from circuitcheck.model.parts.piston import Piston
from circuitcheck.model.parts.stuck_piston import StuckPiston

from .building import built, circuit_of, drawn, side

Places = frozenset[At]

NORTH, EAST, SOUTH, WEST, ABOVE, BELOW = ((0, -1, 0), (0, 0, 1), (0, 1, 0), (0, 0, -1), (1, 0, 0), (-1, 0, 0))
AROUND = (NORTH, EAST, SOUTH, WEST)
SIX = (*AROUND, ABOVE, BELOW)
HERE = (0, 0, 0)
FAR = (0, 0, -9)
"""So far west that nothing there is heard."""


def plus(one: At, other: At, times: int = 1) -> At:
    """A place some steps on."""
    return (one[0] + times * other[0], one[1] + times * other[1], one[2] + times * other[2])


def six_around(*places: At) -> Places:
    """The six places around each of these places."""
    return frozenset(plus(place, step) for place in places for step in SIX)


SPAN = range(-4, 5)
NEAR: list[At] = [each for each in product(SPAN, SPAN, SPAN) if 1 <= sum(map(abs, each)) <= 4]
TWO_STEPS = frozenset(place for place in NEAR if sum(map(abs, place)) <= 2)


class Kind(NamedTuple):
    """A thing that changes, what it stands by, by steps from it, and the places that it tells."""

    says: str
    letter: str
    name: str
    beside: dict[At, str]
    tells: Places


WATCHED = {plus(HERE, WEST): "b", plus(WEST, BELOW): "S"}
KINDS = [
    Kind("dust", "x", "wire", {BELOW: "S"}, TWO_STEPS),
    Kind("dust on glass", "x", "wire", {BELOW: "G"}, TWO_STEPS),
    Kind("a torch that stands", "T", "flame", {BELOW: "S"}, TWO_STEPS),
    Kind("a torch that hangs", "W", "flame", {WEST: "S"}, TWO_STEPS),
    Kind("a lever that stands", "b", "pond", {BELOW: "S"}, six_around(HERE, BELOW)),
    Kind("a lever that hangs", "w", "rope", {WEST: "S"}, six_around(HERE, WEST)),
    Kind("a lever under a block", "v", "rope", {ABOVE: "S"}, six_around(HERE, ABOVE)),
    Kind("a button that stands", "B", "knock", {BELOW: "S"}, six_around(HERE, BELOW)),
    Kind("a button that hangs", "k", "knock", {WEST: "S"}, six_around(HERE, WEST)),
    Kind("a repeater to the east", ">", "winch", {BELOW: "S"}, six_around(EAST) | {EAST}),
    Kind("a repeater to the north", "A", "winch", {BELOW: "S"}, six_around(NORTH) | {NORTH}),
    Kind("a repeater on glass", "<", "winch", {BELOW: "G"}, six_around(WEST) | {WEST}),
    Kind("a comparator to the south", "Y", "scale", {BELOW: "S"}, six_around(SOUTH) | {SOUTH}),
    Kind("a comparator to the west", "{", "scale", {BELOW: "S"}, six_around(WEST) | {WEST}),
    Kind("a detector to the east", "D", "ripple", WATCHED, six_around(EAST) | {EAST}),
    Kind("a detector upwards", "⇑", "ripple", {BELOW: "b", (-2, 0, 0): "S"}, six_around(ABOVE) | {ABOVE}),
    Kind("a lamp", "O", "bell", {}, six_around(HERE)),
    Kind("a cell", "C", "turf", {}, six_around(HERE)),
    Kind("water that comes and goes", "≈", "pond", {FAR: "b", plus(FAR, BELOW): "S"}, six_around(HERE)),
    Kind("leaves that come and go", "¤", "pond", {FAR: "b", plus(FAR, BELOW): "S"}, six_around(HERE)),
    Kind("a piston with a block", "]", "paddle", {EAST: "S"}, six_around(HERE, EAST, (0, 0, 2))),
    Kind("a piston upwards with a lamp", "+", "paddle", {ABOVE: "O"}, six_around(HERE, ABOVE, (2, 0, 0))),
    Kind("a piston downwards with glass", "=", "paddle", {BELOW: "G"}, six_around(HERE, BELOW, (-2, 0, 0))),
    Kind("a piston alone", "]", "paddle", {}, six_around(HERE, EAST)),
]
IN_THE_WAY = {
    "a piston with a block": {(0, 0, 2)},
    "a piston upwards with a lamp": {(2, 0, 0)},
    "a piston downwards with glass": {(-2, 0, 0)},
    "a piston alone": {EAST},
}
"""Where another piston would keep the piston, or its block, from moving."""


def armed(place: At) -> Iterator[dict[At, str]]:
    """Ways to power a piston from above alone, by a lever that it can't hear: over the place there, or to its side."""
    yield {plus(place, ABOVE, 2): "u", plus(place, ABOVE, 3): "S"}
    for step, letter in zip(AROUND, "1234", strict=True):
        yield {plus(plus(place, ABOVE), step): letter, plus(plus(place, ABOVE), step, 2): "S"}


def told_at(kind: Kind, place: At) -> bool | None:
    """Whether a piston at a place gets an update from the thing; None where none can be put down there."""
    things = {HERE: kind.letter, **kind.beside}
    for apparatus in armed(place):
        if place in things or place in IN_THE_WAY.get(kind.says, ()) or apparatus.keys() & {*things, place, (0, 0, 2)}:
            continue
        circuit = circuit_of(drawn(built({**things, place: "P", **apparatus})))
        piston = circuit.by_name["wedge"]
        if isinstance(piston, StuckPiston):
            assert "race" in piston.arming
            return kind.name in piston.hears
        assert isinstance(piston, Piston)
        return kind.name in (*piston.feeds, *piston.hears)
    return None


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.says)
def test_a_change_tells_just_these_places(kind: Kind) -> None:
    """Common practice, no source; rules W10, W9 and D2."""
    tried = {place: told for place in NEAR if (told := told_at(kind, place)) is not None}
    assert {place for place, told in tried.items() if told} == kind.tells & tried.keys()
    missing = kind.tells - tried.keys() - kind.beside.keys() - {HERE} - IN_THE_WAY.get(kind.says, set())
    assert not missing
    assert len(tried) > 100


def test_blocks_and_what_only_light_passes_tell_nobody() -> None:
    """Common practice, no source; rule W10: of a lever on a block the lever is heard, and not the block."""
    for place, letter in product((NORTH, SOUTH, WEST, ABOVE), "KG^~%"):
        things = {HERE: letter, **({EAST: "w"} if letter == "K" else {}), place: "P", plus(place, ABOVE, 2): "u"}
        circuit = circuit_of(drawn(built({**things, plus(place, ABOVE, 3): "S"})))
        piston = circuit.by_name["wedge"]
        assert isinstance(piston, Piston | StuckPiston)
        assert piston.hears == (("rope",) if letter == "K" else ())


# In time: a lever two places above a piston powers it, and a repeater into the air beside it tells it.

STUCK = side("S...", "u...", "....", "P.<b", "..SS")
STUCK_WORDS = "lever race\nlever pond\nrepeater winch from pond\ndetector wedge arming race hears winch\n"
Acts = list[tuple[int, str, str]]
Edges = list[tuple[int, int]]


def moves(text: str, acts: Acts, until: int = 120, name: str = "wedge") -> Edges:
    """Every change of a part, with levers worked in these gt."""
    run = circuitcheck.loads(text).start()
    for at, lever, state in acts:
        run.run(gt=at - 1 - run.now).set(lever, state == "on").run(gt=1)
    return [(edge.at, edge.level) for edge in run.run(gt=until - run.now).edges(name)]


TIMES: list[tuple[str, Acts, Edges]] = [
    ("armed and never told, it stays", [(10, "race", "on")], []),
    ("told and not armed, it stays", [(10, "pond", "on"), (30, "pond", "off")], []),
    ("armed, then told in gt 32", [(10, "race", "on"), (30, "pond", "on")], [(35, 15)]),
    ("told in gt 12, then armed", [(10, "pond", "on"), (30, "race", "on")], []),
    ("told of an off as well", [(10, "pond", "on"), (30, "race", "on"), (50, "pond", "off")], [(55, 15)]),
    ("out till it is told again", [(10, "race", "on"), (30, "pond", "on"), (50, "race", "off")], [(35, 15)]),
    (
        "home when it is told again",
        [(10, "race", "on"), (30, "pond", "on"), (50, "race", "off"), (70, "pond", "off")],
        [(35, 15), (75, 0)],
    ),
    (
        "deaf while it moves: the repeater's off in gt 34 is lost",
        [(10, "race", "on"), (30, "pond", "on"), (31, "pond", "off"), (33, "race", "off")],
        [(35, 15)],
    ),
]


@pytest.mark.parametrize(("says", "acts", "expected"), TIMES, ids=[says for says, _, _ in TIMES])
def test_a_stuck_piston_moves_in_3_gt_and_only_when_it_is_updated(says: str, acts: Acts, expected: Edges) -> None:
    """Common practice, no source; rules D2, O3 and W9: as a detector in words."""
    assert moves(STUCK_WORDS, acts) == expected


DRAWN_TIMES: list[tuple[str, Acts, Edges]] = [
    ("armed and never told, it stays", [(10, "race", "on")], []),
    ("told and not armed, it stays", [(10, "pond", "on"), (30, "pond", "off")], []),
    ("armed, then told in gt 32", [(10, "race", "on"), (30, "pond", "on")], [(34, 15)]),
    ("told in gt 12, then armed", [(10, "pond", "on"), (30, "race", "on")], []),
    ("told of an off as well", [(10, "pond", "on"), (30, "race", "on"), (50, "pond", "off")], [(54, 15)]),
    (
        "its head lies below the lever that arms it, and hears that go off (M4)",
        [(10, "race", "on"), (30, "pond", "on"), (50, "race", "off")],
        [(34, 15), (53, 0)],
    ),
    (
        "it hears on its way out: told in gt 34, it goes home before its head has landed (M4, M6)",
        [(10, "race", "on"), (30, "pond", "on"), (31, "pond", "off"), (33, "race", "off")],
        [],
    ),
]


@pytest.mark.parametrize(("says", "acts", "expected"), DRAWN_TIMES, ids=[says for says, _, _ in DRAWN_TIMES])
def test_drawn_a_stuck_piston_lands_late_in_the_second_gt_and_hears_by_its_head(
    says: str, acts: Acts, expected: Edges
) -> None:
    """Common practice, no source; rules D2, M3, M4 and M6. It faces up, and the lever above arms it."""
    assert moves(drawn(STUCK), acts) == expected


def test_in_a_check_a_stuck_piston_is_late_by_the_repeater_and_its_travel() -> None:
    """Common practice, no source; rules D2, M3 and R1: 1t for the repeater; on its way 3 gt in words, and drawn 2 gt to
    the end of the gt in which its head lands."""
    check = """check "knocked out"
  at 10gt             race on
  from 0gt to 30gt    expect wedge off
  at 30gt             pond on
  from 30gt to {0}gt   expect wedge off
  from {0}gt to 49gt  expect wedge
  at 50gt             race off
end
"""
    for text in (drawn(STUCK, rest=check.format(34)), STUCK_WORDS + check.format(35)):
        report = circuitcheck.verify_text(text)
        assert [each.verdict.value for each in report.outcomes] == ["holds"] * len(report.outcomes) != []


@pytest.mark.parametrize(
    ("hears", "alike"), [("near, far", True), ("far, near", True), ("far", False), ("near", False)]
)
def test_a_stuck_piston_hears_each_dust_of_a_line_in_whatever_order_they_are_said(hears: str, alike: bool) -> None:
    """Common practice, no source; rules D3 and W10: two dust of a comparator, one a level below the other.

    A comparator that gives 1 lights the near one alone, so that to hear the far one only is another circuit.
    """
    words = f"""lever       rope
lever       race
comparator  scale  from rope
dust        near   from scale
dust        far    from near
detector    wedge  arming race  hears {hears}
"""
    layers = ("SSSS/....", "a}--/...P", "..../....", "..../...u", "..../...S")
    report = circuitcheck.verify_text(drawn(layers, rest=words))
    assert report.diagnostics == ()
    (outcome,) = report.outcomes
    assert bool(outcome.differences) is not alike, outcome.differences


def test_dust_that_arms_a_piston_from_above_tells_it_as_well() -> None:
    """Common practice, no source; rules W9, W10, M3 and O3: it lies two steps off; called by hand, it starts in gt 11,
    and lands late in gt 13 where it is drawn."""
    layers = side("a-.", "SGP")
    assert moves(drawn(layers), [(10, "rope", "on"), (40, "rope", "off")]) == [(13, 15), (43, 0)]
    words = "lever rope\ndust line from rope\ndetector wedge arming line hears line\n"
    assert moves(words, [(10, "rope", "on"), (40, "rope", "off")]) == [(14, 15), (44, 0)]


def test_a_piston_with_power_of_its_own_looks_above_when_that_changes() -> None:
    """Common practice, no source; rules W9 and O3: a lever two places above it, and one on a block beside it.

    Worked by hand, it starts a gt later, and lands late in the second gt after (M3). The lever above is seen when the
    other is let go; when that is let go itself, it tells the place of the head, which has landed there (M4).
    """
    layers = side("S..", "u..", "...", "PKw")
    acts: Acts = [(10, "race", "on"), (30, "rope", "on"), (50, "rope", "off"), (70, "race", "off")]
    assert moves(drawn(layers), acts) == [(33, 15), (73, 0)]
    assert moves(drawn(layers), [*acts, (90, "rope", "on"), (95, "rope", "off")], 150) == [
        (33, 15),
        (73, 0),
        (93, 15),
        (98, 0),
    ]


def test_without_power_above_a_piston_knows_nothing_of_it() -> None:
    """Common practice, no source; rule W9, setting `power_above_piston`."""
    text = drawn(STUCK, "setting power_above_piston no")
    assert moves(text, [(10, "race", "on"), (30, "pond", "on")]) == []
