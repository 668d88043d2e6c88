"""Runs that can't go on: each one finding with its rule and place, the stroke that led there and what was done by then.

Common practice, no source: rules M5, M6, M7, M9, M13, Z1, Z5. What strokes break, and water washes away, is in
`test_refusals`.
"""

from __future__ import annotations

import pytest

from circuitcheck.checks.finding import Finding, Refusal
from circuitcheck.checks.outcome import Verdict
from circuitcheck.report.exchange.data import document
from circuitcheck.space import wirings
from circuitcheck.verify import FileReport, verify_text

LEGEND = """language 1
legend
  .  air
  S  block
  F  block     fixed
  h  half      at bottom
  W  water
  -  dust
  i  lever     named gear
  j  lever     named rope
  r  repeater  facing east   named lead
  Q  piston    facing south  named flap
  P  piston    facing east   named ram
  L  piston    facing west   named stop
  w  piston    facing east   starts on  named wedged
  o  piston    facing east   starts on  named open
end
drawing
  layer 1
    SSSSSSS, 4 times
  end
"""
WITHIN_A_MOMENT = """  layer 2
    .jrQ...
    .i-SP..
    ......., 2 times
  end
end
check "the flap takes away what powers the ram"
  at 8gt   rope on
  at 9gt   gear on
  at 60gt  expect flap
end
"""
"""The lever powers the ram through dust and a block. The ram starts in gt 10, and behind it the flap, which moves that
block."""
WEDGED = """  layer 2
    .o.....
    .......
    .wF....
    .......
  end
end
check "nothing happens"
  at 60gt  expect wedged
end
always "at rest" possible rest
"""
TWO = """  layer 2
    .iPS...
    .......
    .jPS...
    .......
  end
end
check "one after the other"
  at 10gt  gear on
  at 30gt  rope on
  at 60gt  expect ram.2
end
"""
HALF_BELOW = """language 1
legend
  .  air
  S  block
  h  half    at bottom
  W  water
  i  lever   named gear
  Q  piston  facing south  named flap
end
drawing
  layer 1
    SSSSS
    SShSS
    SSSSS, 2 times
  end
  layer 2
    SSQSS
    SWSWS
    SS.SS
    SSSSS
  end
  layer 3
    ...i.
    ....., 3 times
  end
end
check "the flap leaves its block behind"
  at 10gt  gear on
  at 20gt  gear off
  at 60gt  expect flap off
end
"""
FACE_TO_FACE = """  layer 2
    .P.L...
    .-.-...
    .---i..
    .......
  end
end
check "which of them comes first"
  at 10gt  gear on
  at 60gt  expect ram
end
"""


def found_in(report: FileReport) -> tuple[Finding, Refusal]:
    ((found),) = [each for each in report.findings if each.refusal is not None]
    assert found.refusal is not None
    return found, found.refusal


def done(refusal: Refusal) -> list[tuple[int, str, str]]:
    return [(act.at, act.name, act.verb) for act in refusal.acts]


def test_a_piston_called_out_and_home_within_one_moment_ends_the_run() -> None:
    """M6: the ram was called by hand in gt 9, the flap by the repeater in 10: both start in moment 3 of 10 (M2)."""
    report = verify_text(LEGEND + WITHIN_A_MOMENT)
    (outcome,) = report.outcomes
    assert outcome.verdict is Verdict.UNDECIDED
    finding, refusal = found_in(report)
    assert (finding.rule, finding.part, refusal.place, refusal.at) == ("M6", "ram", (2, 2, 5), 10)
    assert done(refusal) == [(8, "rope", "on"), (9, "gear", "on")]
    assert "'flap'" in refusal.stroke
    assert "layer 2, row 2, column 4" in refusal.stroke


def test_power_that_goes_a_gt_later_only_cuts_the_stroke_short() -> None:
    later = WITHIN_A_MOMENT.replace("at 8gt   rope on", "at 10gt  rope on")
    (outcome,) = verify_text(LEGEND + later).outcomes
    assert outcome.verdict is Verdict.HOLDS


def test_a_piston_that_starts_out_where_it_can_t_be_ends_every_run_and_is_named() -> None:
    """M7: the first of two that start out can be out; no budget of a proof helps."""
    report = verify_text(LEGEND + WEDGED)
    assert [each.verdict for each in report.outcomes] == [Verdict.UNDECIDED] * 2
    assert report.outcomes[1].proof is not None
    assert report.outcomes[1].proof.hints == ()
    finding, refusal = found_in(report)
    assert (finding.rule, finding.part, refusal.place, refusal.at) == ("M7", "wedged", (2, 3, 2), 0)
    assert "'wedged'" in finding.message
    assert finding.hint
    assert done(refusal) == []


def test_more_wirings_than_are_read_end_the_run_with_the_stroke_that_led_to_the_next(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """M9: home, and under way and out of the first piston are three; the stroke of the second would be a fourth."""
    monkeypatch.setattr(wirings, "MOST_WIRINGS", 3)
    report = verify_text(LEGEND + TWO)
    (outcome,) = report.outcomes
    assert outcome.verdict is Verdict.UNDECIDED
    finding, refusal = found_in(report)
    assert (finding.rule, refusal.at) == ("M9", 31)
    assert done(refusal) == [(10, "gear", "on"), (30, "rope", "on")]
    assert "'ram.2'" in refusal.stroke


def test_as_many_wirings_as_are_read_do_not_end_it() -> None:
    assert [each.verdict for each in verify_text(LEGEND + TWO).outcomes] == [Verdict.HOLDS]


def test_water_between_two_sources_over_a_half_block_ends_the_run_with_the_stroke_that_let_it() -> None:
    """Z5, W10: the head is gone in gt 21; the lever updates the source below in 20, which so looks in 25, and the place
    between them that it makes wet looks in 30."""
    report = verify_text(HALF_BELOW)
    (outcome,) = report.outcomes
    assert outcome.verdict is Verdict.UNDECIDED
    finding, refusal = found_in(report)
    assert (finding.rule, refusal.place, refusal.at) == ("Z5", (2, 2, 3), 30)
    assert done(refusal) == [(10, "gear", "on"), (20, "gear", "off")]
    assert "'flap'" in refusal.stroke
    assert finding.hint


def test_each_has_its_place_and_trace_in_json() -> None:
    for text in (LEGEND + WITHIN_A_MOMENT, LEGEND + WEDGED, HALF_BELOW):
        findings = document([verify_text(text)])["files"][0]["findings"]
        ((refusal),) = [each["refusal"] for each in findings if each["refusal"] is not None]
        assert len(refusal["stands_at"]) == 3
        assert isinstance(refusal["way"], list)


def test_two_that_one_change_calls_to_one_place_are_a_race() -> None:
    """M7, M13: plain pistons face each other with one place between, and one line calls both."""
    (outcome,) = verify_text(LEGEND + FACE_TO_FACE).outcomes
    assert outcome.verdict is Verdict.RACE
    assert outcome.race is not None
    assert {outcome.race.first, outcome.race.second} == {"ram", "stop"}
