"""What an author can say of strokes: fixed blocks, and settings. Common practice, no source; rules M1 and M10."""

from __future__ import annotations

import pytest

from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.rules import NEWER, RULE_SETS

BUILD = """
legend
  F  block   fixed  named anchor
  S  block
  >  piston  facing east  named paddle
end
drawing
  layer 1
    >SF
  end
end
"""


def circuit_of(text: str) -> Circuit:
    loaded = load_text(text)
    assert loaded.diagnostics == ()
    return loaded.studies[0].circuit


def test_a_legend_says_of_a_solid_block_that_it_is_fixed() -> None:
    """M1: it is a solid block in all else (W1)."""
    drawing = circuit_of(BUILD).drawing
    assert drawing is not None
    thing = drawing.things[1, 1, 3]
    assert (thing.word, thing.shape, thing.block_type.solid) == ("block", "fixed", True)
    assert drawing.things[1, 1, 2].shape == ""


@pytest.mark.parametrize("word", ["glass", "lamp", "dust"])
def test_nothing_but_a_solid_block_can_be_fixed(word: str) -> None:
    told = load_text(BUILD.replace("S  block", f"S  {word}  fixed")).diagnostics[0]
    assert (told.code, told.span.line) == ("CKT605", 4)


def test_settings_of_strokes_can_be_changed() -> None:
    """M1, M10."""
    text = "rules older\nsetting push_limit 6\nsetting detectors_move yes\nsetting detector_feels start\n"
    rules = circuit_of(text + BUILD).rules
    assert (rules.push_limit, rules.detectors_move, rules.detector_feels) == (6, True, "start")
    assert [(each.push_limit, each.detectors_move, each.detector_feels) for each in RULE_SETS.values()] == [
        (12, False, "landing"),
        (12, True, "start"),
        (12, True, "start"),
    ]
    assert circuit_of(BUILD).rules == NEWER


@pytest.mark.parametrize(
    ("setting", "code"),
    [
        ("push_limit 100", "CKT305"),
        ("push_limit yes", "CKT201"),
        ("push_limit 1/2", "CKT510"),
        ("detector_feels soon", "CKT510"),
        ("detector_feels 3", "CKT510"),
        ("detector_feels 1/2", "CKT510"),
        ("detectors_move start", "CKT510"),
    ],
)
def test_what_a_setting_of_strokes_can_t_be_is_told_at_its_place(setting: str, code: str) -> None:
    told = load_text(f"setting {setting}\n{BUILD}").diagnostics[0]
    assert (told.code, told.span.line, told.span.column) == (code, 1, 9 + len(setting.split()[0]) + 1)
