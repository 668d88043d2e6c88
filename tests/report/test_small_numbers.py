"""What is said of one step, and of no time at all, is said as people say it."""

from __future__ import annotations

import re

import pytest

from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.verdict_lines import report_lines
from circuitcheck.verify import verify_text


def told(text: str) -> str:
    report = verify_text(text, states=0)
    assert report.diagnostics == ()
    return plain(report_lines(report, 200))


def chain(repeaters: int) -> str:
    """A line of repeaters out of a lever, and a check that fails at its end."""
    lines = ["lever rope", "repeater way.1 from rope"]
    lines += [f"repeater way.{number} from way.{number - 1}" for number in range(2, repeaters + 1)]
    return "\n".join([*lines, 'check "pull"', "  at 1t rope on", f"  at 40t expect way.{repeaters} off", "end", ""])


@pytest.mark.parametrize(("repeaters", "left_out"), [(9, None), (10, ("1", "step")), (11, ("2", "steps"))])
def test_of_a_long_chain_the_steps_left_out_are_counted(repeaters: int, left_out: tuple[str, str] | None) -> None:
    found = re.search(r"… and before that (\d+) more (steps?)\b", told(chain(repeaters)))
    assert (found and found.groups()) == left_out


ROPE = 'lever rope\nlever brake\ncheck "pull"\n  at 1t rope on\n  until 3t\nend\n'


@pytest.mark.parametrize(
    "claim",
    ["when rope then brake", "rope follows brake, settled within 0t"],
    ids=["an answer at once", "alike at once"],
)
def test_of_what_is_owed_at_once_no_stretch_of_no_time_is_reported(claim: str) -> None:
    (happened,) = re.findall(r"happened +(.*)", told(f'{ROPE}always "claim" {claim}\n'))
    assert "1t" in re.findall(r"\b\d+t\b", happened)
    assert "0t" not in re.findall(r"\b\d+t\b", happened)


def test_what_never_came_up_in_a_run_is_reported_with_what_was_claimed() -> None:
    text = ROPE.replace("  until", "  throughout when brake then rope\n  until")
    (outcome,) = verify_text(text, states=0).outcomes
    assert outcome.verdict.name == "NOT_MET"
    assert outcome.detail.endswith(": when brake then rope")
    assert "called into" not in outcome.detail
