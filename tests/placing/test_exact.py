"""The least box of small circuits, with what was excluded, and what is said where it could not be decided."""

from __future__ import annotations

from functools import cache

import pytest

from circuitcheck.checks.drawing.built import differences
from circuitcheck.language.load import load_file, load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.placing.exact import Ended, ask, boxes, least_box
from circuitcheck.placing.exact_places import Box
from circuitcheck.placing.exact_wanted import wanted
from circuitcheck.placing.problem import CantPlace
from circuitcheck.space.circuit import read


@cache
def _shelf(file: str) -> dict[str, Circuit]:
    return {study.circuit.name: study.circuit for study in load_file(f"circuits/{file}.circuit").studies}


def _circuit(text: str) -> Circuit:
    return load_text(f"language 1\n{text}\n", "x.circuit").studies[0].circuit


# The figures are those of an earlier search of another kind (constraint programming, by hand-written constraints).
@pytest.mark.parametrize(("name", "least"), [("inverter", 3), ("nor_gate", 6), ("nand_gate", 8), ("and_gate", 9)])
def test_the_least_box_of_a_gate_is_found_and_all_smaller_ones_are_excluded(name: str, least: int) -> None:
    circuit = _shelf("gates")[name]
    result = least_box(wanted(circuit), 30)
    assert result.found is not None
    assert result.found.box.volume == least
    assert result.is_least
    assert result.open_below(least) == []
    first = wanted(circuit).least_places
    assert {box.volume for box in result.excluded} >= set(range(first, least))
    drawing = result.found.drawing
    assert drawing is not None
    assert drawing.size == (result.found.box.height, result.found.box.depth, result.found.box.width)
    assert differences(circuit, read(drawing, circuit.rules).circuit) == []


def test_each_torch_that_is_fed_otherwise_counts_with_a_block_of_its_own() -> None:
    # Two levers and five torches, no two of which are fed alike; a lamp would be one of the five blocks.
    xor = wanted(_shelf("gates")["xor_gate"])
    assert xor.least_places == 7 + 5
    lit = "lever a\nlever b\ntorch t from a\ntorch u from b\ntorch v from a\nlamp l from t"
    assert wanted(_circuit(lit)).least_places == 6 + 1
    assert wanted(_circuit("lever a\nrepeater r from a\nrepeater s from r")).least_places == 3 + 2


def test_boxes_come_by_volume_and_none_is_another_one_turned() -> None:
    found = list(boxes(1, 12))
    assert [box.volume for box in found] == sorted(box.volume for box in found)
    assert all(box.width >= box.depth for box in found)
    assert [box for box in found if box.volume == 4] == [Box(4, 1, 1), Box(2, 2, 1), Box(2, 1, 2), Box(1, 1, 4)]


def test_a_turned_box_has_the_same_answer() -> None:
    circuit = wanted(_shelf("gates")["and_gate"])
    for one, other in ((Box(3, 1, 3), Box(1, 3, 3)), (Box(4, 1, 2), Box(1, 4, 2)), (Box(3, 2, 1), Box(2, 3, 1))):
        assert ask(circuit, one).ended is ask(circuit, other).ended is not Ended.OPEN


def test_a_box_that_is_not_decided_within_the_budget_is_named_and_nothing_is_called_least() -> None:
    result = least_box(wanted(_shelf("gates")["nor_gate"]), 6, budget=0)
    assert result.open_below(7) == list(boxes(4, 6))
    assert result.excluded == []
    assert not result.is_least


def test_a_box_ends_with_its_budget_of_conflicts_the_same_each_time() -> None:
    circuit = wanted(_shelf("pulses")["ring_clock"])
    one, other = (ask(circuit, Box(4, 1, 4), conflicts=50) for _ in range(2))
    assert one == other
    assert one.ended is Ended.OPEN
    assert 50 <= one.work < 1_000


def test_a_hand_reaches_a_box_from_its_sides_and_from_above() -> None:
    box = Box(3, 3, 2)
    assert not box.in_reach((1, 2, 2))
    assert box.in_reach((2, 2, 2))
    assert all(box.in_reach((1, row, column)) for row in (1, 2, 3) for column in (1, 2, 3) if (row, column) != (2, 2))


def test_the_kinds_it_does_not_know_are_refused_by_name() -> None:
    circuit = _circuit("lever a\ndetector d watches a")
    with pytest.raises(CantPlace, match="'d' is a detector"):
        wanted(circuit)
