"""In the order of the sheets nothing hangs in the air while it is built, and a hand comes to all that it must come to.

Common practice, no source: rule W1 of grammar/RULES.md (Placing). What has a side is written here a second time, by the
words of a legend.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from circuitcheck.cli import main
from circuitcheck.examine import opened
from circuitcheck.language.load import load_file, load_text
from circuitcheck.model.drawing import MATTERS, At, Drawing, Thing
from circuitcheck.model.rules import RULE_SETS
from circuitcheck.placing.bounds import Bounds
from circuitcheck.placing.compiled import PLAIN
from circuitcheck.placing.problem import problem_of
from circuitcheck.placing.smallest_box import Search
from circuitcheck.plans.building import build_up
from circuitcheck.plans.placed_against import in_the_air, out_of_reach, shut_in
from circuitcheck.plans.staging import stages

from .drawings import drawn_of

CIRCUITS = Path(__file__).parents[2] / "circuits"
C17 = Path(__file__).parents[1] / "outside" / "drawn_c17.circuit"
FILES = [*sorted(CIRCUITS.glob("*.circuit")), C17]
WITH_SIDES = {"block", "glass", "half", "lamp", "leaf", "piston", "detector", "soil"}


def beside(at: At) -> set[At]:
    layer, row, column = at
    return {
        (layer - 1, row, column),
        (layer + 1, row, column),
        (layer, row - 1, column),
        (layer, row + 1, column),
        (layer, row, column - 1),
        (layer, row, column + 1),
    }


def has_sides(thing: Thing) -> bool:
    return thing.word in WITH_SIDES or thing.is_cell


def without_a_side(drawing: Drawing, order: list[At]) -> list[At]:
    """What can't be placed in an order: by the words of things, and by what bears them."""
    found, stand = [], set[At]()
    ground = min(at[0] for at in drawing.things)
    for at in order:
        thing = drawing.things[at]
        if thing.on is not None:
            good = thing.on.from_(at) in stand
        elif thing.word in ("dust", "repeater", "comparator"):
            good = (at[0] - 1, *at[1:]) in stand
        elif has_sides(thing):
            good = at[0] == ground or any(each in stand and has_sides(drawing.things[each]) for each in beside(at))
        else:
            good = thing.word == "water"
        found += [] if good else [at]
        stand.add(at)
    return found


def groups_in_the_air(drawing: Drawing) -> int:
    """How many groups of things with sides nothing joins to the ground."""
    left = {at for at, thing in drawing.things.items() if has_sides(thing)}
    ground = min(at[0] for at in drawing.things)
    count = 0
    while left:
        group, new = set[At](), {left.pop()}
        while new:
            group |= new
            new = {each for at in new for each in beside(at)} & left
            left -= new
        count += all(at[0] != ground for at in group)
    return count


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_in_stage_order_everything_has_a_side_or_is_said_to_need_a_helper(path: Path) -> None:
    drawn = {study.circuit.name: study.drawn or study.circuit for study in load_file(str(path), "").studies}
    for circuit in drawn.values():
        drawing = circuit.drawing
        if drawing is None:
            continue
        order = [at for stage in stages(drawing, circuit.rules, {}) for at in stage.places]
        assert sorted(order) == sorted(drawing.things)
        told = list(in_the_air(drawing, order))
        assert without_a_side(drawing, order) == told
        assert len(told) == groups_in_the_air(drawing)
        assert list(shut_in(drawing, order)) == []
        assert list(out_of_reach(drawing)) == []


LAID_OUT = """\
lever pond
lever rope
torch no.1 from pond
torch no.2 from rope
torch both from no.*
output open from both
"""


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_layout_is_built_like_any_drawing(seed: int) -> None:
    circuit = load_text(LAID_OUT).studies[0].circuit
    drawing = Search(problem_of(circuit), Bounds(), PLAIN, 16_000, seed).run().drawing
    assert drawing is not None
    built = build_up(circuit, drawing, circuit)
    assert without_a_side(drawing, list(built.order)) == list(built.helpers)
    assert len(built.helpers) <= groups_in_the_air(drawing)
    assert built.shut_in == built.out_of_reach == ()


BLOCK = Thing(MATTERS["block"], "S")


@settings(max_examples=60, deadline=None)
@given(st.sets(st.tuples(st.integers(1, 4), st.integers(1, 3), st.integers(1, 3)), min_size=1))
def test_blocks_anywhere_take_a_helper_for_each_group_in_the_air_and_no_more(places: set[At]) -> None:
    drawing = Drawing(dict.fromkeys(places, BLOCK), {}, size=(4, 3, 3))
    order = [at for stage in stages(drawing, RULE_SETS["newer"], {}) for at in stage.places]
    assert without_a_side(drawing, order) == list(in_the_air(drawing, order))
    assert len(list(in_the_air(drawing, order))) == groups_in_the_air(drawing)


def test_what_only_a_higher_layer_joins_to_the_ground_waits_for_that_layer_with_what_it_holds() -> None:
    circuit, drawing = drawn_of("S..", "S.S", "SSS", names="")
    assert [stage.places for stage in stages(drawing, circuit.rules, {})] == [
        ((1, 1, 1),),
        ((2, 1, 1),),
        ((3, 1, 1), (3, 1, 2), (3, 1, 3), (2, 1, 3)),
    ]


def test_what_is_shut_in_before_its_turn_is_told() -> None:
    walls = {(layer, row, column): BLOCK for layer in (1, 2, 3) for row in (1, 2, 3) for column in (1, 2, 3)}
    drawing = Drawing(walls, {}, size=(3, 3, 3))
    middle = (2, 2, 2)
    assert list(shut_in(drawing, [*(at for at in sorted(walls) if at != middle), middle])) == [middle]
    assert list(shut_in(drawing, sorted(walls))) == []


@pytest.mark.parametrize(("lid", "reached"), [("S", False), (".", True)])
def test_a_lever_behind_walls_and_under_a_lid_is_out_of_reach(lid: str, reached: bool) -> None:
    circuit, drawing = drawn_of("SSS/SSS/SSS", "SSS/SaS/SSS", f".../.{lid}./...", names="rope 2 2 2")
    found = build_up(circuit, drawing, circuit).out_of_reach
    assert found == (() if reached else ((2, 2, 2),))


def test_the_sheets_say_what_needs_a_helper_block(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["sheets", str(CIRCUITS / "ripple.circuit")])
    told = " ".join(capsys.readouterr().out.split())
    drawn = opened(str(CIRCUITS / "ripple.circuit")).drawn
    helpers = build_up(drawn.circuit, drawn.drawing, drawn.declared).helpers
    assert helpers
    by_layer = {
        layer: "as they have no side to be placed against (W1): "
        + ", ".join(f"row {row} column {column}" for at, row, column in helpers if at == layer)
        for layer, _, _ in helpers
    }
    for layer, words in by_layer.items():
        stage = told[told.index(f" layer {layer} ") :].partition(f" layer {layer + 1} ")[0]
        assert words in stage
