"""What is said to have moved water, or to keep cells from changing, is what did (rules Z1, Z5, Z7; V4)."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

import circuitcheck
from circuitcheck.checks.finding import Finding
from circuitcheck.engine.program import Program
from circuitcheck.engine.record import Change, Recording, record
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action
from circuitcheck.explain.cause import why

CIRCUITS = Path(__file__).parents[2] / "circuits"
BED = """language 1
circuit bed "A bed below a channel, which a paddle cuts."
rules older
cycle 1200s day 500s, dusk 100s, night 500s, dawn 100s
legend
  .  air
  S  block
  W  water
  -  dust
  h  half      at bottom
  n  sensor    fades  named turf
  P  piston    facing below  named paddle
  i  lever     named gear
  o  lamp      named bell
  v  detector  facing south  named stir
end
drawing
  layer 1
    SSSSSSS
    {floor}
    SSSSvSS
    SSSSoSS
  end
  layer 2
    SSSSSSS
    {channel}
    SSSSSSS
    SSSSSSS
  end
  layer 3
    .......
    ..P....
    ..i....
    .......
  end
end
"""


@lru_cache
def run() -> Recording:
    """The paddles go out in gt 11 and home in gt 81."""
    program = Program(circuitcheck.load(CIRCUITS / "paddles.circuit").circuit)
    gear = program.number["gear"]
    acts = [(10, Action(gear, "on")), (80, Action(gear, "off"))]
    return record(program, the_start(program).levels, acts, (), 120)


def changes_of(name: str) -> Iterator[Change]:
    found = run()
    return (each for each in found.changes if found.program.names[each.device] == name)


def caller(change: Change) -> tuple[str, int]:
    found = run()
    assert change.cause is not None
    cause = found.changes[change.cause]
    return found.program.names[cause.device], cause.at


def test_a_head_takes_the_water_away_and_it_does_not_dry() -> None:
    """Common practice, Z7."""
    taken = next(changes_of("water_4_2_3"))
    assert (taken.at, taken.level, taken.reason and taken.reason[0]) == (11, 0, "Z7")
    assert caller(taken) == ("paddle.1", 11)


def test_what_is_cut_off_dries_as_it_looks() -> None:
    """Common practice, Z6."""
    dried = next(changes_of("water_4_2_4"))
    assert (dried.at, dried.level, dried.reason) == (16, 0, None)
    assert caller(dried) == ("paddle.1", 11)


def test_water_that_comes_back_is_caused_by_the_head_that_left() -> None:
    """Its source was there from the start, and the look in which it spreads changes nothing of itself (Z1, Z2)."""
    wet = [each for each in changes_of("water_4_2_3") if each.level]
    assert [(each.at, each.level, caller(each)) for each in wet] == [(85, 7, ("paddle.1", 81))]
    further = [each for each in changes_of("water_4_2_4") if each.level]
    assert [(each.level, caller(each)) for each in further] == [(6, ("water_4_2_3", 85))]


def test_a_detector_is_called_by_the_place_that_it_watches() -> None:
    """And not by the place that the water came from (D1, Z8)."""
    steps = why(run(), "float.1", 102).steps
    assert [(step.at, step.part, step.rule) for step in steps] == [
        (80, "gear", "O1"),
        (81, "paddle.1", "M3"),
        (85, "water_4_2_3", "Z1"),
        (90, "water_4_2_4", "Z1"),
        (95, "water_3_2_4", "Z3"),
        (100, "water_2_2_4", "Z3"),
        (102, "float.1", "D1"),
    ]


def findings(channel: str, floor: str = "SSSSnSS") -> dict[str, Finding]:
    report = circuitcheck.verify_text(BED.format(channel=channel, floor=floor))
    assert not report.diagnostics
    return {each.rule: each for each in report.findings}


def test_a_cell_below_water_that_a_paddle_cuts_may_change() -> None:
    assert "V4" not in findings("SW....S")


def test_a_cell_that_never_changes_as_water_is_not_followed_says_why_that_is() -> None:
    """The water washes dust away before gt 0, so it is left where it is drawn: that is the cause (V4, Z7)."""
    found = findings("SW...-S")
    assert "(Z7)" in found["V4"].message
    assert "layer 2, row 2, column 6" in found["V4"].message
    assert found["V4"].hint == found["Z7"].hint


def test_a_cell_to_which_that_water_could_never_come_says_nothing_of_it() -> None:
    """Here a wall stands before the place above the cell, and the dust is on the water's side of it."""
    found = findings("SW.-S.S", floor="SSSSSnS")
    assert "Z7" in found
    assert "Z7" not in found["V4"].message


def test_two_sources_over_a_half_block_before_the_start_are_named_as_that() -> None:
    """Common practice, Z5: and not as water that comes to no rest."""
    found = findings("SW.W..S", floor="SShSnSS")
    assert "Z1" not in found
    assert "layer 2, row 2, column 3" in found["Z5"].message
    assert "(Z5)" in found["V4"].message
