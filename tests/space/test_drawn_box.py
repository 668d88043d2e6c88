"""The box of what is drawn, and the fewest places that its parts take: counted by hand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from circuitcheck.checks.drawing.drawn_box import DrawnBox, drawn_box
from circuitcheck.language.load import load_file, load_text
from circuitcheck.model.claims import Study
from circuitcheck.model.drawing import Drawing

from .builds import MACHINES, Machine, around, drawn_of, file_of, left, mirrored, padded, right

CIRCUITS = Path(__file__).parents[2] / "circuits"


def box_of(text: str) -> DrawnBox:
    loaded = load_text(text)
    assert loaded.valid
    box = drawn_box(loaded.studies[0])
    assert box is not None
    return box


def studies(name: str) -> list[Study]:
    return list(load_file(CIRCUITS / f"{name}.circuit").studies)


@pytest.mark.parametrize(
    ("label", "box"),
    [
        ("inverter", DrawnBox(1, 1, 3, 2 + 1)),  # a lever and a torch, and what holds them
        ("nor_gate", DrawnBox(2, 1, 3, 3 + 1)),  # two levers and a torch
        ("nand_gate", DrawnBox(2, 3, 2, 5 + 2)),  # two levers, two torches that are fed otherwise, dust given out
        ("or_gate", DrawnBox(2, 3, 3, 5 + 3)),  # two repeaters and the dust given out lie, each on its own
        ("xor_gate", DrawnBox(4, 5, 5, 7 + 5)),  # two levers, and five torches of which no two are fed alike
    ],
)
def test_the_gates_are_as_large_as_counted_in_their_drawings(label: str, box: DrawnBox) -> None:
    (study,) = [each for each in studies("gates") if each.label == label]
    assert drawn_box(study) == box
    assert box.places == box.layers * box.rows * box.columns
    assert box.is_least is (label == "inverter")


def test_every_drawing_of_the_demos_has_a_box_that_is_no_smaller_than_counted() -> None:
    files = sorted(CIRCUITS.glob("*.circuit"))
    drawn = [each for path in files for each in load_file(path).studies if (each.drawn or each.circuit).drawing]
    assert len(drawn) >= sum(path.read_text(encoding="utf-8").count("\ndrawing") for path in files) > 20
    for study in drawn:
        box = drawn_box(study)
        assert box is not None
        assert 0 < box.least <= box.places


def test_a_lamp_holds_and_carries_so_that_it_counts_once() -> None:
    legend = "legend\n  L  lamp\n  i  lever on below\n  S  block\n  .  air\nend\n"
    assert box_of(f"{legend}drawing\n  layer 1\n    L\n  end\n  layer 2\n    i\n  end\nend\n") == (2, 1, 1, 2)
    assert box_of(f"{legend}drawing\n  layer 1\n    SL\n  end\n  layer 2\n    i.\n  end\nend\n") == (2, 1, 2, 2)


def test_dust_counts_where_it_is_given_out_or_named_and_lies_on_something() -> None:
    layers = "drawing\n  layer 1\n    SSS\n  end\n  layer 2\n    i--\n  end\nend\n"
    wire = "legend\n  S  block\n  i  lever on below\n  -  dust\nend\n"
    assert box_of(f"{wire}{layers}").least == 2
    named = wire.replace("\nend", "\n  w  dust named way\nend") + layers.replace("i--", "i-w")
    assert box_of(named).least == 3


@pytest.mark.parametrize("machine", MACHINES, ids=lambda machine: machine.name)
def test_turned_mirrored_and_with_air_around_it_is_the_same_box(machine: Machine) -> None:
    """By hand: turning by a quarter exchanges rows and columns, and nothing else does anything."""
    drawn = drawn_of(machine.layers)
    box = box_of(file_of(drawn, machine.words))
    quarter = box._replace(rows=box.columns, columns=box.rows)
    for turn, expected in ((around, box), (mirrored, box), (right, quarter), (left, quarter)):
        assert box_of(file_of(turn(drawn), machine.words)) == expected
    assert box_of(file_of(padded(drawn, 1, 2, 3, 4, 1, 0), machine.words)) == box


def test_of_nothing_drawn_there_is_no_box() -> None:
    (study,) = load_text("lever a\ntorch t from a\n").studies
    assert drawn_box(study) is None
    empty = replace(study.circuit, drawing=Drawing({}, {}, size=(1, 2, 2)))
    assert drawn_box(study._replace(circuit=empty)) is None
