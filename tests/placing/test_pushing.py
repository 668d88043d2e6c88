"""Layouts made smaller window by window: what is changed is in the window, and what comes out is the circuit.

What is asked of each drawing is asked of the true reading, which knows nothing of windows.
"""

from __future__ import annotations

import os
from functools import cache, partial

import pytest

from circuitcheck.language.load import load_text
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.placing.annealing import wrong
from circuitcheck.placing.bounds import Bounds, places_of
from circuitcheck.placing.compiled import PLAIN, Fast, compiled
from circuitcheck.placing.grid import PARTS, PLACE
from circuitcheck.placing.pieces.in_pieces import PieceSearch
from circuitcheck.placing.pieces.pushing import Pushing
from circuitcheck.placing.pieces.tools import PLAIN as TOOLS
from circuitcheck.placing.pieces.whole import Whole
from circuitcheck.placing.pieces.windows import Window
from circuitcheck.placing.problem import Problem, problem_of
from circuitcheck.placing.random_numbers import random
from circuitcheck.placing.true_reading import wrong_with

WINDOWS = 12
"""How many windows are tried."""
GATE = """\
rules newer
lever pond
lever race
lever bar
torch low from pond, bar
torch dry from race
torch open from low, dry
repeater slow from open delay 2t
torch shut from slow
lamp sign from shut, low
dust line from slow
lamp bell from line
output told from line
"""


@cache
def problem() -> Problem:
    return problem_of(load_text(GATE).studies[0].circuit)


@cache
def laid_out() -> Drawing:
    """A roomy layout: none of the slices is taken out yet."""
    for seed in range(1, 9):
        found = PieceSearch(problem(), Bounds(), TOOLS, 11_000, seed).run()
        if found.drawing is not None:
            return found.drawing
    raise AssertionError("no seed lays it out")


@cache
def pushed(windows: int, fast: Fast = PLAIN, seed: int = 1) -> Drawing:
    made = Pushing(problem(), laid_out(), fast, partial(random, [seed]), lambda moves: None, by_hand=True)
    for _ in range(windows):
        made.step()
    return made.drawing


def windows_of(drawing: Drawing) -> list[tuple[At, At]]:
    """Windows of 3 x 4 x 4 places all over a drawing."""
    layers, rows, columns = drawing.size
    starts = ((layer, row, column) for layer in (1, 3) for row in range(1, rows, 3) for column in range(1, columns, 3))
    return [
        (low, (min(layers, low[0] + 2), min(rows, low[1] + 3), min(columns, low[2] + 3)))
        for low in starts
        if low[0] <= layers
    ]


def test_in_a_window_of_a_right_drawing_nothing_is_wrong() -> None:
    drawing = laid_out()
    whole = Whole(problem(), drawing, by_hand=True)
    for low, high in windows_of(drawing):
        window = Window(whole, low, high)
        box = window.box(lambda at: False, PLAIN.read, list)
        assert box is not None
        PLAIN.read(box.memory)
        assert wrong(box.memory) == 0
        assert window.with_box(box) == drawing


def test_what_is_to_go_is_off_and_nothing_else() -> None:
    """A part that stands in the slice has no place; those around the window have theirs still."""
    drawing = laid_out()
    at = next(at for at, name in drawing.names.items() if name == "slow")
    whole = Whole(problem(), drawing, by_hand=True)
    low = (max(1, at[0] - 1), max(1, at[1] - 1), max(1, at[2] - 1))
    window = Window(whole, low, (at[0], at[1], at[2]))
    box = window.box(lambda place: place == at, PLAIN.read, list)
    assert box is not None
    lacking = [window.seen[part] for part in range(box.memory[PARTS]) if box.memory[PLACE + part] < 0]
    assert [problem().names[part] for part in lacking] == ["slow"]
    after = window.with_box(box)
    assert at not in after.things
    assert {place: after.things.get(place) for place in drawing.things if not window.has(place)} == {
        place: thing for place, thing in drawing.things.items() if not window.has(place)
    }


@pytest.mark.parametrize("seed", [1, 2])
def test_what_is_pushed_gets_smaller_and_stays_the_circuit(seed: int) -> None:
    before = laid_out()
    made = pushed(WINDOWS, seed=seed)
    assert places_of(made.size) < places_of(before.size)
    assert made.size == made.extent
    assert wrong_with(problem().circuit, made) == []
    assert "line" in made.names.values()


def test_levers_stay_within_reach() -> None:
    """A hand comes to each from above, or from a side of the box."""
    made = pushed(WINDOWS)
    layers, rows, columns = made.size
    for at, name in made.names.items():
        if name in ("pond", "race", "bar"):
            above = any((layer, *at[1:]) in made.things for layer in range(at[0] + 1, layers + 1))
            assert not above or at[1] in (1, rows) or at[2] in (1, columns)


def test_a_seed_gives_one_drawing_compiled_or_not() -> None:
    """CIRCUITCHECK_COMPILED=1 asks for compiled code, as compiling takes some forty seconds; else both are plain."""
    fast = compiled() if "CIRCUITCHECK_COMPILED" in os.environ else PLAIN
    assert pushed(WINDOWS, fast) == pushed(WINDOWS)
