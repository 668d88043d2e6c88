"""Strokes that break something are reported as mistakes. Common practice, no source; rules M8 and M10."""

from __future__ import annotations

from circuitcheck.language.load import load_text
from circuitcheck.model.rules import NEWER, OLDER, RuleSet
from circuitcheck.space.configuration import AT_HOME
from circuitcheck.space.refusals import refusals
from circuitcheck.space.strokes import Breaks, Strokes

BUILD = """legend
  .  air
  S  block
  T  torch     on west        named flame
  -  dust
  D  detector  facing east    named ripple
  >  piston    facing east    sticky  named paddle
end
drawing
  layer 1
    >{row}
  end
  layer 2
    {above}
  end
end
"""


def told(row: str, above: str, rules: RuleSet = NEWER) -> list[tuple[str, int, int, list[str]]]:
    """Of each mistake the code, the line and column of its letter, and which of these words it has."""
    loaded = load_text(BUILD.format(row=row, above=above))
    drawing = loaded.studies[0].circuit.drawing
    assert drawing is not None
    strokes = Strokes(drawing, rules)
    (piston,) = strokes.pistons
    found = strokes.start_out(AT_HOME, piston)
    assert isinstance(found, Breaks)
    words = ("'paddle'", "breaks", "takes away", "lies on", "hangs on", "'ripple'", "layer 1", "layer 2", "M8", "M10")
    return [
        (each.code, each.span.line, each.span.column, [word for word in words if word in each.message])
        for each in refusals(drawing, piston, found)
    ]


def test_what_a_stroke_breaks_is_reported_at_its_letter_with_piston_place_and_rule() -> None:
    """M8: the torch is attached to the block that comes to where it is; it is reported once."""
    assert told("ST.", "....") == [("CKT612", 11, 7, ["'paddle'", "breaks", "layer 1", "M8"])]


def test_what_loses_its_hold_is_reported_one_by_one() -> None:
    """M8: dust on each of two blocks that move."""
    assert told("SS.", ".--.") == [
        ("CKT612", 14, 6, ["'paddle'", "takes away", "lies on", "layer 2", "M8"]),
        ("CKT612", 14, 7, ["'paddle'", "takes away", "lies on", "layer 2", "M8"]),
    ]


def test_a_detector_that_older_rules_do_not_let_move_is_reported() -> None:
    """M10."""
    assert told("D..", "....", OLDER) == [("CKT612", 11, 6, ["'paddle'", "'ripple'", "layer 1", "M10"])]
