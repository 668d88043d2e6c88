"""What changed between two versions of a drawing, place by place.

Common practice, no source: what is the same to build has not changed (README, Drawings).
"""

from __future__ import annotations

import pytest

from circuitcheck.model.drawing import At, Drawing
from circuitcheck.plans.changes import changes
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.plans import change_lines

from .drawings import drawn_of, study_of


def drawing_of(legend: str, *rows: str, more: str = "") -> Drawing:
    """A drawing of two layers: a floor, and these rows; `legend` is its entries with commas between."""
    width = len(rows[0])
    lines = ["legend", *legend.split(", "), ".  air", "S  block", "end", "drawing", "layer 1"]
    lines += [f"{'S' * width}, {len(rows)} times", "end", "layer 2", *rows, "end", more, "end"]
    drawing = study_of("\n".join(lines)).circuit.drawing
    assert drawing is not None
    return drawing


def places(before: Drawing, after: Drawing) -> set[At]:
    return {each.place for each in changes(before, after)}


def words(before: Drawing, after: Drawing) -> list[str]:
    return plain(change_lines(list(changes(before, after)), 120)).splitlines()


BEFORE = drawing_of("a  lever, -  dust, O  lamp, >  repeater facing east", "a->O", "....")


def test_a_drawing_that_is_the_same_has_not_changed() -> None:
    again = drawing_of("a  lever, -  dust, O  lamp, >  repeater facing east", "a->O", "....")
    assert places(BEFORE, again) == set()
    assert words(BEFORE, again) == ["  nothing changed in the drawing"]


@pytest.mark.parametrize(
    ("legend", "row"),
    [
        ("l  lever, x  dust, @  lamp, >  repeater facing east", "lx>@"),
        ("a  lever named rope, -  dust named line, O  lamp named bell, >  repeater facing east", "a->O"),
        ("a  lever starts off, -  dust, O  lamp, >  repeater facing east", "a->O"),
        ("a  lever, -  dust, O  lamp, >  repeater facing east delay 1t", "a->O"),
    ],
    ids=["other letters", "names", "a lever said to start off, as it does anyhow", "a delay of 1t, which is usual"],
)
def test_what_only_says_the_same_otherwise_is_no_change(legend: str, row: str) -> None:
    assert places(BEFORE, drawing_of(legend, row, "....")) == set()


@pytest.mark.parametrize(
    ("legend", "rows", "changed"),
    [
        ("a  lever, -  dust, O  lamp, >  repeater facing east", ("a-.O", "..>."), {(2, 1, 3), (2, 2, 3)}),
        ("a  lever, -  dust, O  lamp, >  repeater facing west", ("a->O", "...."), {(2, 1, 3)}),
        ("a  lever, -  dust, O  lamp, >  repeater facing east delay 2t", ("a->O", "...."), {(2, 1, 3)}),
        ("a  button short, -  dust, O  lamp, >  repeater facing east", ("a->O", "...."), {(2, 1, 1)}),
        ("a  lever, -  dust dot, O  lamp, >  repeater facing east", ("a->O", "...."), {(2, 1, 2)}),
        ("a  lever starts on, -  dust, O  lamp, >  repeater facing east", ("a->O", "...."), {(2, 1, 1)}),
    ],
    ids=["moved", "turned", "slower", "another thing", "a dot", "on at the start"],
)
def test_each_place_at_which_something_else_stands_is_reported(
    legend: str, rows: tuple[str, ...], changed: set[At]
) -> None:
    assert places(BEFORE, drawing_of(legend, *rows)) == changed


def test_changes_come_from_the_bottom_up_and_row_by_row() -> None:
    after = drawing_of("a  lever, -  dust, O  lamp", "--OO", "a...")
    found = [each.place for each in changes(BEFORE, after)]
    assert found == [(2, 1, 1), (2, 1, 3), (2, 2, 1)]


def test_a_change_tells_what_stands_there_now_and_what_stood_there_before() -> None:
    after = drawing_of("a  lever, -  dust, O  lamp, >  repeater facing east delay 2t", "a->.", "O...")
    assert words(BEFORE, after) == [
        "  layer 2, row 1, column 3: repeater, facing east, delay 2t instead of repeater, facing east",
        "  layer 2, row 1, column 4: air instead of lamp",
        "  layer 2, row 2, column 1: lamp instead of air",
    ]


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("a  lever", "a  lever starts on"),
        ("a  dust", "a  dust dot"),
        ("a  torch", "a  torch starts off"),
        ("a  half at top", "a  half at bottom"),
        ("a  button short", "a  button long"),
        ("a  detector facing east", "a  detector facing east pulse 3t"),
        ("a  piston facing above", "a  piston facing above sticky"),
        ("a  sensor becomes off chance 1/4", "a  sensor becomes off chance 1/8"),
        ("a  sensor", "a  sensor fades"),
    ],
)
def test_the_words_for_before_and_after_differ(before: str, after: str) -> None:
    (told,) = words(drawing_of(before, "a"), drawing_of(after, "a"))
    now, _, then = told.partition(": ")[2].partition(" instead of ")
    assert now != then


def test_a_version_that_has_grown_is_compared_from_the_same_corner() -> None:
    _, before = drawn_of("SS", "a-")
    _, after = drawn_of("SSS/...", "a-O/...", ".../..S")
    assert places(before, after) == {(1, 1, 3), (2, 1, 3), (3, 2, 3)}


def test_what_is_put_down_as_a_piece_is_the_same_as_drawn() -> None:
    arch = "\n".join(["piece arch", "layer 1", "S", "end", "layer 2", "a", "end", "end", ""])
    head = "legend\n.  air\nS  block\na  lever\n-  dust\nend\n"
    layers = "layer 1\n.S\nend\nlayer 2\n.-\nend\n"
    by_piece = study_of(f"{head}{arch}drawing\n{layers}put arch at layer 1 row 1 column 1\nend\n").circuit.drawing
    assert by_piece is not None
    assert places(by_piece, drawn_of("SS", "a-")[1]) == set()
