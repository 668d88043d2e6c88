"""A stuck piston that its own block arms again, in text, held to the table of M12 and to the plain stepper.

Common practice, from memory, no source: M12, with M3 to M6 and M9. The plain stepper knows nothing of the text: it
moves the block in a box.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest
from checks.judging import verdict
from engine.driving import Act, drive, edges

from circuitcheck.language.load import load_text

from . import engine_runs
from .plain.runs import History, histories, only
from .plain.things import Action, Box, Thing, box
from .test_plain_rearm import draws, heard, silent

Edges = list[tuple[int, int]]
Histories = Callable[[Box, list[Action], int], set[History]]

TEXT = """
lever gate
torch feed from gate
lever pond
detector flap arming feed hears {hears} own_block {form}
"""
CALLED_BY_A_PART = "torch ready\nlever rope\nrepeater pond from rope\ndetector flap arming ready hears pond own_block "
ROWS = {
    "0gt": (silent(name="-", line="."), [(12, 15), (13, 0), (18, 15), (19, 0), (24, 15), (25, 0)]),
    "1t": (silent(), [(12, 15), (13, 0)]),
    "1t hears_itself": (heard(2), [(12, 15)]),
    "2t": (None, [(12, 15)]),
    "2t hears_itself": (heard(4), [(12, 15), (14, 0), (22, 15), (24, 0)]),
    "2t head_hears": (silent(4), [(12, 15), (14, 0)]),
}
"""Each form: a box that is it, and when its block is in its out place by the table, called by a part in gt 10."""
UNTIL, LONG = 28, 90
MANY, BY_THE_PROGRAM = 16, 6
"""How many runs of a form there are, and how many of them the program also makes of the box."""


def with_levers(made: Box) -> Box:
    """The box with a lever that updates the piston, by dust two steps off, and one that takes its power away."""
    things = {place: thing for place, thing in made.things.items() if thing.kind != "soil"}
    levers = {
        (2, 6, 1): Thing("dust"),
        (2, 7, 1): Thing("lever", name="pond"),
        (1, 5, 3): Thing("torch", on="south", level=15),
        (1, 7, 3): Thing("lever", name="gate", on="north"),
    }
    return box(made.size, {**things, **levers})


def drawn(made: Box, actions: list[Action], until: int, by: Histories = histories) -> Edges:
    """When the block of a box comes to its out place, and when it leaves."""
    found = only(by(made, actions, until)).where(lambda shot: 15 * (shot.at((2, 5, 4)) == "stone"))
    return [(gt, int(str(level))) for gt, level in found[1:]]


@pytest.mark.parametrize("form", ROWS)
def test_each_form_is_its_row_and_so_is_its_box(form: str) -> None:
    """M12, called by a part in gt 10: a clock of 6 gt, one clean stroke, a block lost, two states, two clocks."""
    made, row = ROWS[form]
    run = drive(CALLED_BY_A_PART + form + "\n", [(8, "rope", "on")], UNTIL)
    assert edges(run, "flap") == row
    if made is not None:
        assert drawn(made, draws(10), UNTIL) == row


def test_a_form_of_two_states_is_toggled_by_each_update() -> None:
    """M12, line 4, and the table of strokes: out 13, home-start 61, out 103; the box has two repeaters of 1t."""
    acts = [(10, "pond", "on"), (60, "pond", "off"), (100, "pond", "on")]
    run = drive(TEXT.format(hears="pond", form="2t"), acts, 120)
    box_of_two = drawn(silent(first="R"), draws(10, 60, 100, hand=True), 120)
    assert edges(run, "flap") == box_of_two == [(13, 15), (61, 0), (103, 15)]
    assert edges(run, "flap.above") == [(15, 0), (67, 15), (105, 0)]


def test_its_line_and_its_repeater_can_be_asked_for() -> None:
    """The table of strokes: line through the home place off 11–16, one behind the repeater off 13–18."""
    run = drive(TEXT.format(hears="pond", form="1t"), [(10, "pond", "on")], 40)
    assert edges(run, "flap.line") == [(11, 0), (16, 15)]
    assert edges(run, "flap.above") == [(13, 0), (18, 15)]
    assert edges(run, "flap.block") == [(11, 15), (16, 0)]


@pytest.mark.parametrize("form", [form for form in ROWS if ROWS[form][0] is not None])
def test_its_box_goes_the_same_way_however_it_is_updated_and_armed(form: str) -> None:
    """M3 to M6, M9: levers thrown at random; the torch that arms it stands two steps from it, and so it is heard."""
    made, _ = ROWS[form]
    assert made is not None
    made, chance, moved = with_levers(made), random.Random(form), 0
    text = TEXT.format(hears="pond, feed", form=form)
    for number in range(MANY):
        gts = sorted(chance.sample(range(3, 70), chance.randint(2, 14)))
        acts: list[Act] = [(gt, chance.choice(["pond", "pond", "gate"]), "throw") for gt in gts]
        on, actions = set[str](), []
        for gt, name, _ in acts:
            on ^= {name}
            actions.append(Action(gt, name, 15 * (name in on)))
        found = edges(drive(text, acts, LONG), "flap")
        assert found == drawn(made, actions, LONG), (number, acts)
        if number < BY_THE_PROGRAM:
            assert found == drawn(made, actions, LONG, engine_runs.histories), (number, acts)
        moved += len(found) > (form != "1t hears_itself")
    assert moved >= MANY // 2


@pytest.mark.parametrize(
    ("options", "code", "word"),
    [
        ("watches pond own_block 1t", "CKT303", "own_block"),
        ("watches pond hears_itself", "CKT303", "hears_itself"),
        ("arming feed hears pond hears_itself", "CKT303", "hears_itself"),
        ("arming feed hears pond head_hears", "CKT303", "head_hears"),
        ("arming feed hears pond own_block 1t travel 2t", "CKT303", "travel"),
        ("arming feed hears pond own_block 1t pulse 2t", "CKT303", "pulse"),
        ("arming feed hears pond own_block 3gt", "CKT305", "own_block"),
        ("arming feed hears pond own_block 5t", "CKT305", "5t"),
        ("arming feed hears pond own_block 0gt hears_itself", "CKT303", "hears_itself"),
        ("arming feed hears pond own_block 1t head_hears", "CKT303", "head_hears"),
        ("arming feed hears pond own_block 2t hears_itself head_hears", "CKT303", "head_hears"),
        ("hears pond own_block 1t", "CKT303", "own_block"),
        ("arming feed own_block 1t", "CKT303", "own_block"),
        ("own_block 1t", "CKT303", "own_block"),
        ("arming feed hears pond own_block 5t hears_itself", "CKT305", "5t"),
    ],
)
def test_what_means_nothing_is_refused_once_where_it_stands(options: str, code: str, word: str) -> None:
    line = f"detector flap {options}"
    loaded = load_text(f"language 1\ncircuit mill\nlever feed\nlever pond\n{line}\nlamp bell from flap\n")
    (found,) = loaded.diagnostics
    assert (found.code, found.span.line, bool(found.hint)) == (code, 5, True)
    assert found.span.column == line.index(word) + 1


def test_two_that_one_change_updates_land_in_an_unknown_order() -> None:
    """M13 and C5: nothing says which of two like detectors lands first, and a latch between them can tell."""
    text = (
        "language 1\ncircuit mill\ntorch feed\nlever rope\n"
        "detector one arming feed hears rope own_block 2t\n"
        "detector two arming feed hears rope own_block 2t\n"
        "detector told arming two hears one\n"
        'check "two comes first"\n  at 10gt rope on\n  by 30gt expect told\nend\n'
    )
    assert verdict(text, "two comes first") == "RACE"
