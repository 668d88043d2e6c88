"""The fewest places that counting asks for, beside drawings by chance and least boxes found by SAT."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random

import pytest

from circuitcheck.checks.drawing.drawn_box import drawn_box
from circuitcheck.language.load import load_file
from circuitcheck.model.claims import Study
from circuitcheck.model.drawing import BELOW, Drawing
from circuitcheck.model.rules import USUAL
from circuitcheck.space.circuit import read

from .random_drawings import random_drawing

CIRCUITS = Path(__file__).parents[2] / "circuits"

LEAST = {
    "gates": {"inverter": 3, "or_gate": 10, "nor_gate": 6, "and_gate": 9, "nand_gate": 8, "xor_gate": 20},
    "latches": {"set_reset": 15, "data_latch": 12, "toggle": 32},
    "pulses": {"edge_pulse": 16, "longer_pulse": 20, "delay_line": 10, "ring_clock": 20},
}
"""The least boxes of the shelf, as the exact search found them with all smaller ones excluded (`least_boxes.py`)."""


@pytest.mark.parametrize("name", LEAST)
def test_counting_never_asks_for_more_than_the_least_box_that_there_is(name: str) -> None:
    drawn = [each for each in load_file(CIRCUITS / f"{name}.circuit").studies if each.drawn is not None]
    found = {each.circuit.name: drawn_box(each) for each in drawn}
    assert found.keys() == LEAST[name].keys()
    for label, box in found.items():
        assert box is not None
        assert box.least <= LEAST[name][label] <= box.places


def test_no_drawing_is_smaller_than_counted() -> None:
    """Whatever stands in a drawing has its parts in it, so that there are at least as many things as they take.

    Drawings are asked as they are, and without all dust and all blocks that hold nothing: then some are as counted.
    """
    rng, asked, as_counted = Random(5), 0, 0
    for _ in range(100):
        whole = random_drawing(rng)
        for drawing in (whole, _bare(whole)):
            found = read(drawing, USUAL)
            if drawing.things and not found.mistakes:
                box = drawn_box(Study(found.circuit, (), ()))
                assert box is not None
                assert box.least <= len(drawing.things) <= box.places
                asked += 1
                as_counted += box.least == len(drawing.things)
    assert asked > 100
    assert as_counted > 10


def _bare(drawing: Drawing) -> Drawing:
    """The parts of a drawing with the blocks that hold them or lie below them."""
    parts = {at: thing for at, thing in drawing.things.items() if thing.is_part}
    held = {thing.on.from_(at) for at, thing in parts.items() if thing.on is not None}
    held |= {BELOW.from_(at) for at, thing in parts.items() if thing.block_type.lies}
    return replace(drawing, things={at: drawing.things[at] for at in drawing.things if at in parts or at in held})
