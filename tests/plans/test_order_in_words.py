"""The order in which `sheets` says to build, followed word by word, is the one that was simulated.

No source; README (Drawings) says what the sheets tell.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from circuitcheck.model.drawing import At, Drawing
from circuitcheck.plans.building import build_up
from circuitcheck.plans.staging import Stage
from circuitcheck.report.lines import plain
from circuitcheck.report.sheet import numbered
from circuitcheck.report.terminal.plans import plan_lines

from .calling import LATE, MILL, STUCK, flat
from .drawings import file_of, study_of

# Dust that the lit torch lights comes first, though the other dust lies further north.
LIT = file_of(
    "/".join(["SSSSSSS"] * 5),
    "......./a>-SW-./...-.-./..--ES./.......",
    names="rope 2 2 1, gate.inverse 2 2 5 starts off, gate 2 4 5 starts on",
)
SCATTERED = file_of(
    "/".join(["SSSSSSS"] * 5),
    "-.-.-../a>-SW-./...-.-./..--ES./-.--..-",
    names="rope 2 2 1, gate.inverse 2 2 5 starts off, gate 2 4 5 starts on",
)
GROUP = re.compile(r"(?:the other )?(?:(\d+) )?([a-z ]+?)(?: \(([^)]*)\))?")


def in_words(drawing: Drawing, stage: Stage, text: str) -> Iterator[At]:
    """The places of a stage, in the order in which somebody who reads the sheet takes them."""
    left = sorted(stage.places)
    for group in text.split("; "):
        told = GROUP.fullmatch(group)
        assert told is not None, group
        number, kind, places = told.groups()
        alike = [at for at in left if drawing.things[at].called == re.sub("(?<=torch)es$|s$", "", kind)]
        if kind.startswith("torch"):
            alike = [next(at for at in alike if drawing.name(at) == name) for name in places.split(", ")]
        elif places:
            alike = [at for at in alike if at in set(listed(places, stage.layer))]
        assert len(alike) == int(number or 1)
        left = [at for at in left if at not in alike]
        yield from alike
    assert not left


def listed(places: str, layer: int) -> Iterator[At]:
    for row in places.split(", "):
        words = re.fullmatch(r"(?:layer (\d+) )?row (\d+) columns? (.+)", row)
        assert words is not None
        for span in words[3].split(" and "):
            first, _, last = span.partition(" to ")
            yield from (
                (int(words[1] or layer), int(words[2]), each) for each in range(int(first), int(last or first) + 1)
            )


@pytest.mark.parametrize("text", [MILL, STUCK, LATE, LIT, SCATTERED], ids=["mill", "stuck", "late", "lit", "scattered"])
def test_who_follows_the_words_builds_in_the_order_that_was_simulated(text: str) -> None:
    study = study_of(text)
    drawing = study.circuit.drawing
    assert drawing is not None
    built = build_up(study.circuit, drawing, study.circuit)
    told = plain(plan_lines(study.circuit, drawing, built, 100))
    sheets = re.split(r"^layer (?=\d)", told, flags=re.MULTILINE)[1:]
    for stage, sheet in zip((each.stage for each in built.checkpoints), sheets, strict=True):
        order = re.search(r"in this order: (.*?)(?=\n  \S|\n\n)", sheet, re.DOTALL)
        if order is None:
            assert len({drawing.things[at].called for at in stage.places}) == 1
            assert list(stage.places) == sorted(stage.places)
        else:
            assert list(in_words(drawing, stage, flat(order[1]))) == list(stage.places)


def test_dust_that_a_lit_torch_lights_is_distinguished_from_the_other_dust() -> None:
    """Rules W4, T1: the other dust, laid first, would be lit by the other torch and put this one out."""
    study = study_of(LIT)
    assert study.circuit.drawing is not None
    built = build_up(study.circuit, study.circuit.drawing, study.circuit)
    told = flat(plain(plan_lines(study.circuit, study.circuit.drawing, built, 100)))
    assert "3 dust (row 3 column 4, row 4 columns 3 to 4); the other 3 dust" in told
    assert built.astray == ()


def test_half_blocks_are_counted_by_what_they_are_and_not_by_where_they_lie() -> None:
    assert numbered(2, "half block at top") == "2 half blocks at top"
    assert numbered(1, "half block at bottom") == "1 half block at bottom"
