"""The bounds that a response reports: orders that are open (C5), torches that could burn out (T4), what was left out.

The rules are common practice, no source.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pytest

from circuitcheck.chance.days.together import Plan, live_through
from circuitcheck.chance.days.walk import Watching
from circuitcheck.chance.first_edge.response import Response, respond
from circuitcheck.chance.machine.chain import Chain
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.engine.start import ManyStarts
from circuitcheck.language.load import load_file, load_text
from circuitcheck.model.claims import Atom, Test
from circuitcheck.verify import verify_text

NIGHT = "cycle 1200s day 600s, dusk 0s, night 600s, dawn 0s\n"
TWO_ROWS = (
    NIGHT
    + """place bed gets sky through leaf, water
sensor turf cells 3 at bed fades
sensor fern cells 3 at bed fades
detector m.* watches turf.*
detector f.* watches fern.*
junction left joins m.*
junction right joins f.*
repeater one from left delay 2t
repeater other from right delay 2t
junction both joins one, other
lamp dark from both
"""
)
FLICKERING = """cycle 20s day 10s, dusk 0s, night 10s, dawn 0s
sensor spark becomes off chance 1/{often} becomes on chance 1/{often}
detector felt watches spark
torch flame from felt
lamp lit from flame
"""


def asked(text: str, signal: str, edge: Test = Test.RISES) -> Response:
    loaded = load_text(text)
    assert loaded.valid, loaded.diagnostics
    return respond(loaded.studies[0].circuit, "night", Atom(signal, edge))


def outcome(text: str) -> Outcome:
    (found,) = verify_text(text).outcomes
    return found


def test_two_rows_that_change_in_one_gt_leave_the_claim_decided_where_that_can_not_turn_it() -> None:
    """X1: two rows of three are drawn in one gt with a chance of some 5 in a million, and that is all that is open."""
    found = asked(TWO_ROWS, "dark")
    assert 0.0 <= found.open < 0.02
    assert (
        outcome(f"{TWO_ROWS}response of night to dark: median at most 30s, missed at most 1%\n").verdict
        is Verdict.HOLDS
    )


def test_a_bound_that_lies_within_what_is_open_is_not_decided() -> None:
    found = asked(TWO_ROWS, "dark")
    if found.open == 0.0:
        pytest.skip("nothing is open here any more: the engine tells these orders to be one")
    share = 100.0 * (found.distribution.within(600) + found.open / 2.0)
    claim = f"response of night to dark: {share:.7f}% within 30s\n"
    assert outcome(TWO_ROWS + claim).verdict is Verdict.UNDECIDED
    # Beside it, a bound that is broken whatever the open orders come to decides.
    broken = outcome(f"{TWO_ROWS}{claim.rstrip()}, median at most 1gt\n")
    assert broken.verdict is Verdict.FAILS
    assert "not at most 1gt" in broken.detail
    assert "too close" not in broken.detail


def test_a_torch_that_may_go_off_eight_times_within_the_window_is_named() -> None:
    """T4: eight offs within 60 gt (newer); a detector's pulses of 3t that come every few gt are enough."""
    quick = FLICKERING.format(often=2).replace("watches spark", "watches spark pulse 3t")
    assert asked(quick, "lit", Test.FALLS).burning == ("flame",)
    claim = "response of night to lit falls: 1% within 9s\n"
    assert "as long as 'flame' does not burn out (T4)" in outcome(quick + claim).detail


def test_a_torch_whose_offs_lie_far_apart_is_not_named() -> None:
    """D1: a detector that is deaf for 1s after each pulse calls the torch no more often than that: 8 offs take 7s."""
    slow = FLICKERING.format(often=2).replace("watches spark", "watches spark pulse 3t rearm 1s")
    assert asked(slow, "lit", Test.FALLS).burning == ()


def test_only_what_a_signal_depends_on_has_a_say() -> None:
    """A second machine in the same file changes nothing of the first, not even the number of its states."""
    one = NIGHT + "place bed gets sky through leaf, water\nsensor turf cells 3 at bed fades\n"
    one += "detector m.* watches turf.*\njunction left joins m.*\n"
    other = "sensor fern cells 5 at bed fades\ndetector f.* watches fern.*\njunction right joins f.*\n"
    other += "lever rope\nlever bolt\nlatch gate set rope reset bolt\n"
    alone, beside = asked(one, "left"), asked(one + other, "left")
    assert beside.distribution.chances == alone.distribution.chances
    assert beside.states == alone.states


def test_what_is_sampled_is_only_what_the_signal_depends_on_too(monkeypatch: pytest.MonkeyPatch) -> None:
    """X1: cells that flicker for ever never let a machine rest: it is sampled, whatever else is in the file.

    It is given up a fiftieth as far as usual, which would take half a minute.
    """
    monkeypatch.setattr(Chain, "closeness", Chain.closeness._replace(most_steps=20_000))
    other = "lever rope\nlever bolt\nlatch gate set rope reset bolt\nlamp open from gate\n"
    flickering = FLICKERING.format(often=3).replace("sensor spark", "sensor spark cells 6")
    flickering = flickering.replace("felt watches spark", "felt.* watches spark.* pulse 5gt")
    found = asked(flickering.replace("from felt", "from felt.*") + other, "lit", Test.FALLS)
    assert found.rough
    assert found.days > 0


def test_a_signal_that_depends_on_no_sensor_never_comes_by_chance() -> None:
    text = (
        NIGHT
        + "place bed gets sky through leaf, water\nsensor turf cells 3 at bed fades\ndetector m.* watches turf.*\n"
    )
    found = asked(text + "lever rope\nlamp bell from rope\n", "bell")
    assert found.never == ("'bell' depends on no sensor: only actions change it",)


def test_a_machine_that_can_start_in_several_ways_is_reported_before_any_process_begins() -> None:
    """C6: a latch of which no start is declared; its parts are named, whoever works at the days."""
    text = NIGHT + "place bed gets sky through leaf, water\nsensor turf cells 3 at bed fades\n"
    text += "detector m.* watches turf.*\njunction row joins m.*\nlever rope\nlatch gate set row reset rope\n"
    circuit = load_text(text).studies[0].circuit
    plan = Plan(circuit, Watching((Atom("gate", Test.RISES),), ("night",)), 4, 1)
    with ProcessPoolExecutor(2) as executor, pytest.raises(ManyStarts) as told:
        live_through(plan, executor, 2)
    assert told.value.names == ("gate", "gate.inverse")


def test_what_is_so_already_but_for_what_was_left_out_is_so_already() -> None:
    """A cell that can't change is on for ever; that the machine around it is followed only so closely is no doubt."""
    loaded = load_file(Path(__file__).resolve().parents[2] / "circuits" / "lampkeeper.circuit")
    found = respond(loaded.studies[0].circuit, "night", Atom("crest_a.1", Test.RISES))
    assert found.exact
    assert found.already == 1.0
