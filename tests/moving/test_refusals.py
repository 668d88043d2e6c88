"""Strokes that break something, and water that washes something away: one finding each, with place and trace.

Common practice, no source; rules M1, M8, M10, Z7.
"""

from __future__ import annotations

from circuitcheck.checks.finding import Finding, Refusal
from circuitcheck.checks.outcome import Verdict
from circuitcheck.language.load import load_text
from circuitcheck.model.rules import NEWER, OLDER, RuleSet
from circuitcheck.report.exchange.data import document
from circuitcheck.space.configuration import AT_HOME
from circuitcheck.space.refusals import refusal
from circuitcheck.space.strokes import Breaks, Strokes
from circuitcheck.verify import FileReport, verify_text

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


def told(row: str, above: str, rules: RuleSet = NEWER) -> list[tuple[str, list[str]]]:
    """Of each mistake its rule, and which of these words it has."""
    loaded = load_text(BUILD.format(row=row, above=above))
    drawing = loaded.studies[0].circuit.drawing
    assert drawing is not None
    strokes = Strokes(drawing, rules)
    (piston,) = strokes.pistons
    found = strokes.start_out(AT_HOME, piston)
    assert isinstance(found, Breaks)
    words = ("'paddle'", "breaks", "takes away", "'ripple'", "layer 1", "layer 2")
    said = [refusal(drawing, piston, broken) for broken in found.broken]
    return [(each.rule, [word for word in words if word in each.why]) for each in said]


def test_what_a_stroke_breaks_is_reported_with_piston_place_and_rule() -> None:
    """M8: the torch is attached to the block that comes to where it is; it is reported once."""
    assert told("ST.", "....") == [("M8", ["'paddle'", "breaks", "layer 1"])]


def test_what_loses_its_hold_is_reported_one_by_one() -> None:
    """M8: dust on each of two blocks that move."""
    assert told("SS.", ".--.") == [("M8", ["'paddle'", "takes away", "layer 2"])] * 2


def test_a_detector_that_older_rules_do_not_let_move_is_reported() -> None:
    """M10."""
    assert told("D..", "....", OLDER) == [("M10", ["'paddle'", "'ripple'", "layer 1"])]


BREAKING = """legend
  .  air
  S  block
  a  lever   named rope
  b  lever   named chain
  -  dust    named line
  >  piston  facing east    named gate
  v  piston  facing south   named flap
end
drawing
  layer 1
    SSSSSS, 3 times
  end
  layer 2
    ...vb.
    a>S...
    ...-..
  end
end
check "the flap after the gate"
  at 10gt  rope on
  at 30gt  chain on
  at 60gt  expect gate
end
check "the flap alone"
  at 10gt  chain on
  at 60gt  expect flap
end
"""
"""The flap pushes the block that the gate has moved before it onto the dust; alone it pushes nothing."""
BOTH = 'never "both are out"  gate and flap\n'
WASHED = """legend
  .  air
  S  block
  w  water
  -  dust    named line
  a  lever   named rope
  v  piston  facing south  named flap
end
drawing
  layer 1
    SSSSSS, 4 times
  end
  layer 2
    SSSvaS
    SwwS-S
    SSS.SS
    SSSSSS
  end
end
check "the flap opens"
  at 10gt  rope on
  at 30gt  rope off
  at 90gt  expect rope off
end
"""
"""The flap moves the block aside that holds the water back; while it is out its head does."""
LONG = """legend
  .  air
  S  block
  a  lever   named rope
  >  piston  facing east  named ram
end
drawing
  layer 1
    SSSSSSSSSSSSSSSSS
  end
  layer 2
    a>SSSSSSSSSSSSS..
  end
end
check "the ram"
  at 10gt  rope on
  at 60gt  expect ram off
end
"""


def refusals(report: FileReport) -> list[tuple[Finding, Refusal]]:
    return [(each, each.refusal) for each in report.findings if each.refusal is not None]


def test_a_run_that_comes_to_a_stroke_that_breaks_something_ends_with_one_finding() -> None:
    """M8: the chain is thrown in gt 30, and the flap starts in 31 (M2)."""
    report = verify_text(BREAKING)
    assert [each.verdict for each in report.outcomes] == [Verdict.UNDECIDED, Verdict.HOLDS]
    ((finding, found),) = refusals(report)
    assert (finding.rule, finding.part, found.place, found.at) == ("M8", "flap", (2, 3, 4), 31)
    assert [(act.at, act.name, act.verb) for act in found.acts] == [(10, "rope", "on"), (30, "chain", "on")]
    assert "'gate'" in found.stroke


def test_the_finding_points_to_the_letter_of_what_breaks() -> None:
    ((finding, _),) = refusals(verify_text(BREAKING))
    assert (finding.span.line, finding.span.column) == (BREAKING.splitlines().index("    ...-..") + 1, 8)


def test_the_report_for_machines_has_place_and_trace() -> None:
    findings = document([verify_text(BREAKING)])["files"][0]["findings"]
    ((found),) = [each["refusal"] for each in findings if each["refusal"] is not None]
    assert (found["stands_at"], found["at"], len(found["way"])) == ([2, 3, 4], 31, 2)


def test_a_claim_that_is_explored_has_the_trace_to_it() -> None:
    """M8: no check pulls both, and the prover does: at once, or one after the other."""
    alone = BREAKING[: BREAKING.index('check "the flap after')] + BREAKING[BREAKING.index('check "the flap alone') :]
    report = verify_text(alone + BOTH)
    ((finding, found),) = refusals(report)
    assert (finding.rule, finding.part, found.place) == ("M8", "flap", (2, 3, 4))
    assert {act.name for act in found.acts} == {"rope", "chain"}
    assert report.outcomes[-1].verdict is Verdict.UNDECIDED


def test_water_that_reaches_what_it_washes_away_is_one_finding_with_the_stroke_that_let_it() -> None:
    """Z7, Z2, W10: the dust goes dark in gt 30, two steps from the water, so that this looks in 35; by then the head is
    gone, whose place becomes wet and looks in 40."""
    ((finding, found),) = refusals(verify_text(WASHED))
    assert (finding.rule, finding.part, found.place, found.at) == ("Z7", "line", (2, 2, 5), 40)
    assert "'flap'" in found.stroke


def test_a_row_that_is_too_long_is_a_finding_where_the_piston_is_called() -> None:
    """M1: 13 blocks before it, and it moves 12."""
    report = verify_text(LONG)
    assert [(each.rule, each.part, each.where) for each in report.findings] == [
        ("M1", "ram", "layer 2, row 1, column 2")
    ]
    assert report.outcomes[0].verdict is Verdict.HOLDS
    assert verify_text(LONG.replace("SSSSSSSSSSSSS..", "SSSSSSSSSSSS...")).findings == ()
