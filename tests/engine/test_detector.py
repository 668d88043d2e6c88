"""The detectors: the pulse kind and the stuck piston (common practice, no source; rules D1 to D3)."""

from __future__ import annotations

import pytest

from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, step
from circuitcheck.language.load import load_text

from .driving import OUTSIDE_FIRST, Act, drive, edges, ons, pulse

RIPPLE = "lever pond\ndetector ripple watches pond\n"


def begun(program: Program) -> State:
    """The end of gt 0, where there is one start and nobody does anything."""
    (told,) = Simulator(program, 0, the_start(program).levels).tell_everyone()
    return told.snapshot()


def throws(*at: int) -> list[Act]:
    return [(each, "pond", "throw") for each in at]


def test_a_detector_pulses_at_changes_and_misses_those_while_it_waits_or_pulses() -> None:
    """Common practice, no source; rule D1: thrown at 10, 20, 30, 31, 33; those of 31 and 33 are lost."""
    run = drive(RIPPLE, throws(10, 20, 30, 31, 33), 100)
    assert ons(run, "ripple") == [(12, 14), (22, 24), (32, 34)]


@pytest.mark.parametrize(("setting", "expected"), [("", [(12, 14), (16, 18)]), (OUTSIDE_FIRST, [(12, 14)])])
def test_a_change_in_the_gt_in_which_the_pulse_ends_is_felt_if_it_comes_after(
    setting: str, expected: list[tuple[int, int | None]]
) -> None:
    """Common practice, no source; rules D1 and C2: by hand last, the pulse of 12–14 is over before the throw at 14."""
    assert ons(drive(setting + RIPPLE, throws(10, 14), 100), "ripple") == expected


def test_delay_and_pulse_of_a_detector_are_settable() -> None:
    """Common practice, no source; rule D1."""
    run = drive("lever pond\ndetector ripple watches pond delay 5gt pulse 2t\n", throws(10, 30), 100)
    assert ons(run, "ripple") == [(15, 19), (35, 39)]


def test_a_detector_feels_a_change_of_the_level_of_dust() -> None:
    """Common practice, no source; rule D1: levels of dust count."""
    body = "analogue pond\ndust sill from pond\ndetector ripple watches sill\n"
    run = drive(body, [(10, "pond", "5"), (20, "pond", "6"), (30, "pond", "6"), (40, "pond", "1")], 100)
    assert ons(run, "ripple") == [(12, 14), (22, 24), (42, 44)]


def test_a_detector_that_watches_a_lamp_feels_its_light() -> None:
    """Common practice, no source; rules D1 and O2: powered 10–12, lit till 16, pulses 12–14 and 18–20."""
    run = drive("lever pond\nlamp open from pond\ndetector ripple watches open\n", pulse("pond", 10, 2), 100)
    assert ons(run, "ripple") == [(12, 14), (18, 20)]


def test_a_detector_gives_no_pulse_for_the_start() -> None:
    """Common practice, no source; rules D1 and C6: an update at gt 0 is no change of what it watches."""
    assert ons(drive("lever pond starts on\ndetector ripple watches pond\n", [], 100), "ripple") == []


# The stuck piston. A repeater of 1t behind the lever makes a part, not the hand, give the update, 2 gt later.

CLOCK = """
lever pond
repeater bell from pond
detector knock arming rope hears bell, rope
torch rope from knock
"""
TRIGGERED = CLOCK.replace("hears bell, rope", "hears bell")


def test_a_stuck_piston_armed_off_its_own_output_and_hearing_it_is_a_clock() -> None:
    """Common practice, no source; rule D3: update at 10: out 13, torch off 15, out off 18, torch on 20, period 10."""
    run = drive(CLOCK, throws(8), 110)
    assert edges(run, "bell") == [(10, 15)]
    assert ons(run, "knock") == [*((at, at + 5) for at in range(13, 103, 10)), (103, 108)]
    assert edges(run, "rope")[:4] == [(15, 0), (20, 15), (25, 0), (30, 15)]


def test_a_stuck_piston_hearing_the_trigger_alone_stays_till_the_next_trigger() -> None:
    """Common practice, no source; rule D3: out on 13; the trigger's next update, at 60, sends it home for 63."""
    run = drive(TRIGGERED, throws(8, 58), 200)
    assert edges(run, "bell") == [(10, 15), (60, 0)]
    assert edges(run, "knock") == [(13, 15), (63, 0)]


def test_an_update_by_hand_starts_a_stuck_piston_in_the_next_gt() -> None:
    """Common practice, no source; rules D2 and O3: the lever itself is heard, at gt 10: start 11, out 14."""
    body = "lever pond\nlever race starts on\ndetector knock arming race hears pond\n"
    assert edges(drive(body, throws(10), 60), "knock") == [(14, 15)]


def test_a_change_of_arming_is_no_update() -> None:
    """Common practice, no source; rule D2: only the bell at 30 makes it look, and it moves for 33."""
    body = "lever pond\nlever race\nrepeater bell from pond\ndetector knock arming race hears bell\n"
    run = drive(body, [(10, "race", "on"), (28, "pond", "on")], 100)
    assert edges(run, "knock") == [(33, 15)]
    assert edges(drive(body, pulse("race", 10, 20), 100), "knock") == []


@pytest.mark.parametrize("setting", ["", OUTSIDE_FIRST])
def test_one_that_hears_a_cell_starts_a_gt_later_and_takes_no_time_from_what_waits_beside_it(setting: str) -> None:
    """Common practice, no source; rules C2 and D2: cells change behind all that is due, whoever comes first by hand."""
    body = "sensor bed\nlever pond\nrepeater far from pond delay 2t\ndetector knock arming pond hears bed\n"
    program = Program(load_text(setting + body).studies[0].circuit)
    state = step(program, begun(program), [Action(program.number["pond"], "throw")])[0].state
    acts = {2: [Action(program.number["bed"], "throw")]}
    levels = []
    for gt in range(2, 9):
        (outcome,) = step(program, state, acts.get(gt, ()))
        state = outcome.state
        levels.append((gt, *(state.levels[program.number[name]] for name in ("far", "knock"))))
    assert [next(gt for gt, *both in levels if both[place]) for place in (0, 1)] == [5, 6]


def test_an_update_that_finds_arming_and_state_agreed_moves_nothing() -> None:
    """Common practice, no source; rule D2."""
    body = "lever pond\nlever race\ndetector knock arming race hears pond\n"
    assert edges(drive(body, throws(10, 20, 30), 100), "knock") == []


def test_an_update_while_a_stuck_piston_moves_is_lost() -> None:
    """Common practice, no source; rule D2: it moves 10–13; the update at 12 finds arming off, and is lost."""
    body = "lever pond\nlever race starts on\nrepeater bell from pond\ndetector knock arming race hears bell\n"
    run = drive(body, [*pulse("pond", 8, 2), (11, "race", "off"), (28, "pond", "on")], 100)
    assert edges(run, "bell") == [(10, 15), (12, 0), (30, 15)]
    assert edges(run, "knock") == [(13, 15), (33, 0)]


def test_a_travel_of_its_own_can_be_given() -> None:
    """Common practice, no source; rules D2 and O3: travel is settable."""
    body = (
        "lever pond\nlever race starts on\nrepeater bell from pond\ndetector knock arming race hears bell travel 4t\n"
    )
    assert edges(drive(body, throws(8), 60), "knock") == [(18, 15)]


def test_a_build_that_gives_one_pulse_is_described_by_it_and_by_when_it_is_armed_again() -> None:
    """Common practice, no source; rule D3: pulse 12–17, deaf 20 gt more, so 30 is missed and 37 is felt again."""
    body = "lever pond\ndetector knock watches pond delay 1t pulse 5gt rearm 10t\n"
    run = drive(body, throws(10, 20, 30, 36, 37), 100)
    assert ons(run, "knock") == [(12, 17), (39, 44)]
