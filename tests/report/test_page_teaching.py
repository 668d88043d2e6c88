"""Building step by step on the page of `report`, before any script runs.

What each step brings, in which order, and what must be lit is held against `build_up`, which `tests/plans` tests; what
a text of an author's may do to a page is said by the HTML standard.
"""

from __future__ import annotations

import json
from typing import Any

from circuitcheck.language.load import load_text
from circuitcheck.plans.building import build_up
from circuitcheck.report.lines import safe

from .test_page import DRAWN, HOSTILE, shown, texts, tree

TOLD = DRAWN.replace("  layer 1\n", '  layer 1 "The floor first.", "All of it."\n').replace(
    "  layer 2\n", f'  layer 2 "{HOSTILE.strip(chr(7)).strip()}"\n'
)


def data_of(read: Any) -> Any:
    (known,) = read.xpath("//script[@type='application/json']/text()")
    return json.loads(known)


def test_each_layer_has_its_author_s_words_as_text_before_its_picture() -> None:
    written = shown(TOLD)
    read = tree(written)
    first, second = read.xpath("//figure[contains(@class, 'sheet')]")
    assert texts(first, "blockquote") == ["The floor first.", "All of it."]
    assert texts(second, "blockquote") == [safe(HOSTILE.strip(chr(7)).strip())]
    assert [each.tag for each in second][:2] == ["figcaption", "blockquote"]
    assert "\u202e" not in written
    assert not read.xpath("//img")
    assert len(read.xpath("//script")) == 2


def test_each_layer_says_what_to_bring_and_what_must_light_once_it_stands() -> None:
    read = tree(shown(DRAWN))
    circuit = load_text(DRAWN, "mill.circuit", ".").studies[0].circuit
    assert circuit.drawing is not None
    built = build_up(circuit, circuit.drawing, circuit)
    steps = read.xpath("//ul[@class='step']")
    assert len(steps) == len(built.checkpoints) == 2
    assert [figure.get("data-step") for figure in read.xpath("//figure[contains(@class, 'sheet')]")] == ["0", "1"]
    for step, checkpoint in zip(steps, built.checkpoints, strict=True):
        said = " ".join(texts(step, "li"))
        assert "Bring: " in said
        assert all(f"'{name}'" in said for name in (*checkpoint.lit, *checkpoint.dark))
    assert built.checkpoints[1].lit  # T1: the torch on an unpowered block, and the lamp beside it


def test_the_script_is_told_what_must_be_lit_and_which_states_are_of_building() -> None:
    known = data_of(tree(shown(DRAWN)))
    assert known["building"] == 1  # nothing moves: one way to stand, then two stages
    assert known["lit"] == [[], ["2,1,6", "2,1,7"]]


def test_what_stands_after_the_first_step_is_in_the_views_for_that_state() -> None:
    read = tree(shown(DRAWN))
    (view, *_) = read.xpath("//*[@class='view']")
    placed = [each.get("data-in") for each in view.xpath(".//use[starts-with(@data-place, '2,')]")]
    assert placed
    assert set(placed) == {"0 2"}  # as it stands, and once the second layer is built; never with the floor alone


def test_a_drawing_too_large_to_be_built_up_on_a_page_has_no_steps(monkeypatch: Any) -> None:
    monkeypatch.setattr("circuitcheck.scenes.MOST_BUILT", 5)
    read = tree(shown(TOLD))
    assert not read.xpath("//ul[@class='step']")
    assert "building" not in data_of(read)
    assert texts(read, "//blockquote")[:1] == ["The floor first."]
