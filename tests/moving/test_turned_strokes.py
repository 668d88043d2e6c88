"""Strokes know no north: turned, mirrored, stood on end and shifted, a build makes the same steps.

Common practice, no source; rules M1 to M8.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest

from circuitcheck.model.drawing import At, Direction, Drawing
from circuitcheck.model.rules import NEWER
from circuitcheck.space.configuration import AT_HOME, Configuration, Phase
from circuitcheck.space.strokes import Blocked, Breaks, Step, Strokes

from .building import LETTERS

Turn = Callable[[At], At]
BACK_UP = 40
"""How far above the ground all builds stand, so that none comes to it."""
TURNS: dict[str, Turn] = {
    "turned right": lambda at: (at[0], at[2], 9 - at[1]),
    "turned around": lambda at: (at[0], 9 - at[1], 9 - at[2]),
    "mirrored": lambda at: (at[0], at[1], 9 - at[2]),
    "shifted": lambda at: (at[0] + 3, at[1] - 2, at[2] + 5),
    "stood on end": lambda at: (BACK_UP + at[2], at[1], at[0] - BACK_UP),
}
FREE = "SSGFCD>AV)(^<~"
"""What can stand anywhere, so that any of these builds can be stood on end."""


def carried(drawing: Drawing, turn: Turn) -> Drawing:
    """The drawing with each place, and each facing, turned."""
    origin = turn((0, 0, 0))

    def turned(direction: Direction | None) -> Direction | None:
        if direction is None:
            return None
        there = turn(direction.value)
        return Direction((there[0] - origin[0], there[1] - origin[1], there[2] - origin[2]))

    things = {turn(at): replace(each, facing=turned(each.facing)) for at, each in drawing.things.items()}
    return replace(drawing, things=things)


def random_build(seed: int) -> Drawing:
    """A box of 4 × 4 × 2 places, half full."""
    chosen = random.Random(seed)
    things = {
        (BACK_UP + layer, row, column): LETTERS[chosen.choice(FREE)]
        for layer in (0, 1)
        for row in range(1, 5)
        for column in range(1, 5)
        if chosen.random() < 0.5
    }
    return Drawing(things, {})


def walk(strokes: Strokes, seed: int, order: Turn, steps: int = 30) -> Iterator[tuple[str, object]]:
    """A random way through configurations; pistons are chosen by their places as `order` carries them."""
    chosen = random.Random(seed)
    now: Configuration = AT_HOME
    pistons = sorted(strokes.pistons, key=order)
    for _ in range(steps):
        under_way = sorted(now.under_way, key=lambda stroke: (order(stroke.piston), stroke.out))
        if under_way and chosen.random() < 0.5:
            step: Step | Blocked | Breaks = strokes.land(now, chosen.choice(under_way))
        else:
            piston = chosen.choice(pistons)
            if now.phase(piston) is Phase.GOING_HOME:
                continue
            step = (
                strokes.start_out(now, piston) if now.phase(piston) is Phase.HOME else strokes.start_home(now, piston)
            )
        if isinstance(step, Step):
            now = step.after
            yield "step", (step.tells, step.landed, step.water, set(step.felt), now.places, now.phases, now.moving)
        elif isinstance(step, Blocked):
            yield "blocked", step.place
        else:
            yield "breaks", {each.place for each in step.broken}


def turned(seen: object, turn: Turn) -> object:
    """What a walk saw, with every place in it turned; what is sorted by places is sorted anew."""
    if isinstance(seen, tuple) and len(seen) == 3 and all(type(each) is int for each in seen):
        return turn((seen[0], seen[1], seen[2]))
    if isinstance(seen, tuple):
        return tuple(turned(each, turn) for each in seen)
    if isinstance(seen, set):
        return {turned(each, turn) for each in seen}
    return seen


def as_sets(seen: tuple[str, object]) -> object:
    """A step with its sorted halves as sets."""
    what, told = seen
    if what != "step":
        return seen
    assert isinstance(told, tuple)
    return (*told[:4], *map(frozenset, told[4:]))


@pytest.mark.parametrize("words", TURNS)
def test_a_turned_build_makes_the_same_steps(words: str) -> None:
    turn = TURNS[words]
    kinds: set[str] = set()
    for seed in range(150):
        drawing = random_build(seed)
        plain, other = Strokes(drawing, NEWER), Strokes(carried(drawing, turn), NEWER)
        if not plain.pistons:
            continue
        back = {turn(at): at for at in plain.pistons}
        seen = list(walk(plain, seed, lambda at: at))
        there = list(walk(other, seed, lambda at, back=back: back[at]))  # type: ignore[misc]
        assert [as_sets((what, turned(told, turn))) for what, told in seen] == [as_sets(each) for each in there], seed
        kinds |= {what for what, _ in seen}
    assert {"step", "blocked"} <= kinds


def test_no_two_things_are_ever_at_one_place() -> None:
    """W1, M4: things, what is in motion, and heads, on random ways."""
    for seed in range(300):
        strokes = Strokes(random_build(seed), NEWER)
        if not strokes.pistons:
            continue
        for what, told in walk(strokes, seed, lambda at: at, steps=60):
            if what == "step":
                assert isinstance(told, tuple)
                check_places(strokes, Configuration(told[5], told[4], told[6]))


def check_places(strokes: Strokes, now: Configuration) -> None:
    solid = [now.place(home) for home, each in strokes.drawing.things.items() if each.word != "water"]
    heads = [
        strokes.facing(piston).from_(now.place(piston))
        for piston in strokes.pistons
        if now.phase(piston) in (Phase.GOING_OUT, Phase.OUT)
    ]
    assert len({*solid, *heads}) == len(solid) + len(heads)
    assert {home for home, _ in now.moving} <= {*strokes.drawing.things}
