"""The picture of the signal graph shows each way, and none that isn't there: no line behind a box or off the sheet.

The lines are measured by De Casteljau's construction of a cubic Bézier curve, the curve that `C` means in SVG (W3C,
SVG 2, 9.3.6).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest

import circuitcheck
from circuitcheck.language.load import load_file
from circuitcheck.model.circuit import Circuit
from circuitcheck.report.exchange.graph_picture import TIP, graph_svg

CIRCUITS = sorted((Path(__file__).parents[2] / "circuits").glob("*.circuit"))
SVG = "{http://www.w3.org/2000/svg}"
LOOPS = {
    "a torch that feeds itself": "lever rope\ntorch bell from bell, rope starts on\nlamp open from bell\n",
    "two feedbacks over many columns": (
        "lever rope\nlever chain\nlatch gate set late reset chain starts reset\nrepeater late from rope, four\n"
        "repeater one from gate\nrepeater two from one\nrepeater three from two\nrepeater four from three\n"
        "lamp open from gate, three\nlamp shut from gate.inverse, rope, four\n"
    ),
    "lines that join": (
        "lever rope\nlever chain\ndust east from rope length 3\ndust west from chain length 3\n"
        "junction meet joins east, west\nlamp bell from meet\nlamp near from east\n"
    ),
}
Point = tuple[float, float]


def circuits() -> Iterator[tuple[str, Circuit]]:
    for path in CIRCUITS:
        for study in load_file(path).studies:
            yield f"{path.stem} {study.label}", study.circuit
    for name, text in LOOPS.items():
        yield name, circuitcheck.loads(text).circuit


EVERY = dict(circuits())


def along(path: str) -> list[Point]:
    """Points of a line, close to one another."""
    found: list[Point] = []
    for letter, numbers in re.findall(r"([MCL])([^MCL]*)", path):
        values = [float(number) for number in numbers.split()]
        points = list(zip(values[::2], values[1::2], strict=True))
        if letter == "M":
            found += points
            continue
        ends = [found[-1], *points]
        found += [at(ends, step / 40) for step in range(1, 41)]
    return found


def at(points: list[Point], share: float) -> Point:
    while len(points) > 1:
        points = [(x1 + (x2 - x1) * share, y1 + (y2 - y1) * share) for (x1, y1), (x2, y2) in pairwise(points)]
    return points[0]


@pytest.mark.parametrize("name", EVERY)
def test_no_line_runs_behind_a_box_or_off_the_sheet(name: str) -> None:
    root = ElementTree.fromstring(graph_svg(EVERY[name]))
    width, height = float(root.get("width", "")), float(root.get("height", ""))
    boxes = [
        tuple(float(each.get(key, "")) for key in ("x", "y", "width", "height"))
        for each in root.iter(f"{SVG}rect")
        if each.get("rx")
    ]
    assert len(boxes) == len(EVERY[name].graph)
    for each in root.iter(f"{SVG}path"):
        for x, y in along(each.get("d", "")):
            assert 0 < x < width
            assert 0 < y < height
            assert not any(left < x < left + wide and top < y < top + high for left, top, wide, high in boxes)


@pytest.mark.parametrize("name", EVERY)
def test_each_line_leads_from_the_right_of_its_source_to_the_left_of_its_reader(name: str) -> None:
    graph = EVERY[name].graph
    root = ElementTree.fromstring(graph_svg(EVERY[name]))
    boxes = [each for each in root.iter(f"{SVG}rect") if each.get("rx")]
    by_name = dict(zip(graph, boxes, strict=True))
    ends: set[tuple[Point, Point]] = set()
    for each in root.iter(f"{SVG}path"):
        line = along(each.get("d", ""))
        ends.add((line[0], line[-1]))

    def middle(part: str) -> Point:
        box = by_name[part]
        return float(box.get("x", "")), float(box.get("y", "")) + float(box.get("height", "")) / 2

    wanted = {}
    for source, reader in graph.edges:
        (x1, y1), (x2, y2) = middle(source), middle(reader)
        wanted[source, reader] = ((x1 + 120, y1), (x2 - (0 if graph.edges[source, reader]["joined"] else TIP), y2))
    for (source, reader), way in wanted.items():
        both_ways = graph.edges[source, reader]["joined"] and (reader, source) in wanted
        assert way in ends or (both_ways and wanted[reader, source] in ends)
    assert ends <= set(wanted.values())


def shown(text: str) -> dict[str, tuple[float, float]]:
    """The place of each box of a picture in which rows fold, by what it is called."""
    root = ElementTree.fromstring(graph_svg(circuitcheck.loads(text).circuit, rows_fold=True))
    groups = (each for each in root.iter(f"{SVG}g") if each.get("data-part"))
    return {each.get("data-part", ""): (float(each[0].get("x", "")), float(each[0].get("y", ""))) for each in groups}


def test_units_that_are_wired_alike_stand_once_with_their_number() -> None:
    found = shown("lever rope.1 to rope.100\ntorch calm.* from rope.*\nlamp bell from calm.*\n")
    assert set(found) == {"rope.* ×100", "calm.* ×100", "bell"}


def test_a_row_whose_units_differ_in_their_wires_does_not_fold_nor_does_what_reads_it() -> None:
    text = "lever rope.1 to rope.3\ntorch calm.* from rope.*\nlamp bell from rope.1\n"
    assert len(shown(text)) == 7
    chain = "lever rope\nrepeater step.1 from rope\nrepeater step.2 from step.1\nlamp bell from step.2\n"
    assert len(shown(chain)) == 4


def ends(text: str, means: str) -> list[tuple[list[str], float]]:
    """The shapes that lines of one meaning end in, each with how far down it stands."""
    root = ElementTree.fromstring(graph_svg(circuitcheck.loads(text).circuit))
    groups = [each for each in root.iter(f"{SVG}g") if each.get("class") == means]
    assert all(each.findtext(f"{SVG}title") == means for each in groups)
    shapes = [[shape.tag.removeprefix(SVG) for shape in each][1:] for each in groups]
    return [(names, float(each[1].get("cy", ""))) for names, each in zip(shapes, groups, strict=True)]


LOCKED = (
    "lever rope\nlever hold\nrepeater catch from hold\nrepeater gate from rope locked by catch\ntorch calm from gate\n"
)


def test_a_lock_ends_in_a_padlock_and_an_inversion_in_a_circle_and_nothing_else_does() -> None:
    """Rules R5 and T1; the circle is the negation symbol of IEC 60617-12, from memory; the padlock has no source."""
    assert [shapes for shapes, _ in ends(LOCKED, "locks")] == [["circle", "rect"]]
    assert [shapes for shapes, _ in ends(LOCKED, "inverts")] == [["circle"]]
    root = ElementTree.fromstring(graph_svg(circuitcheck.loads(LOCKED).circuit))
    assert len(list(root.iter(f"{SVG}polygon"))) == 2  # what only carries: hold to catch, and rope to gate


def test_each_line_says_whose_it_is_and_each_box_its_part_in_full() -> None:
    long = "a_name_that_is_longer_than_its_box"
    root = ElementTree.fromstring(graph_svg(circuitcheck.loads(f"lever {long}\nlamp bell from {long}\n").circuit))
    assert [each.get("data-from") for each in root.iter(f"{SVG}path")] == [long]
    titles = [each.findtext(f"{SVG}title", "") for each in root.iter(f"{SVG}g") if each.get("data-part")]
    assert titles[0].startswith(f"{long}, lever")


def test_unwired_parts_stand_apart_below_the_others() -> None:
    found = shown("lever rope\nlamp bell from rope\nlever idle\nlever spare\n")
    wired = max(found[name][1] for name in ("rope", "bell"))
    assert found["idle"][1] == found["spare"][1] > wired
