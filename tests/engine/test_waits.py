"""Which wait a part begins, and when it begins none (common practice, no source; rules C3 and C4)."""

from __future__ import annotations

import pytest

import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, step

from .driving import HEADER, drive, edges, gap

Waits = list[tuple[int, int, str]]
"""Gt to go, the order class, and the part."""


def at_rest(body: str) -> tuple[Program, State]:
    """The circuit of these lines at the end of gt 0, where that is one state."""
    program = Program(circuitcheck.loads(HEADER + body).circuit)
    (start,) = starts(program)
    (simulator,) = Simulator(program, 0, start.levels).tell_everyone()
    return program, simulator.snapshot()


def waits(program: Program, state: State) -> Waits:
    """Every wait of a state."""
    return [(to_go, turn, program.names[device]) for to_go, turn, devices in state.waits for device in devices]


def begun(body: str, name: str, *verbs: str) -> Waits:
    """What waits at the end of the gt in which an input was last worked, once a gt from rest on."""
    program, state = at_rest(body)
    for verb in verbs:
        (outcome,) = step(program, state, [Action(program.number[name], verb)])
        state = outcome.state
    return waits(program, state)


@pytest.mark.parametrize(
    ("part", "waits"),
    [
        ("torch mill from pond", [(2, 4, "mill")]),
        ("repeater mill from pond delay 3t", [(6, 3, "mill")]),
        ("repeater mill from pond delay 3t\nrepeater bell from mill", [(6, 1, "mill")]),
        ("repeater mill from pond\nrepeater bell from pond locked by mill", [(2, 1, "mill"), (2, 3, "bell")]),
        ("repeater mill from pond\ndust row from mill\nrepeater bell from row", [(2, 3, "mill")]),
        ("comparator mill from pond", [(2, 4, "mill")]),
        ("comparator mill from pond\nrepeater bell from mill", [(2, 3, "mill")]),
        ("comparator mill from pond\nlamp open from mill", [(2, 4, "mill")]),
        ("detector mill watches pond delay 3gt", [(3, 4, "mill")]),
        ("lamp mill from pond", []),
    ],
)
def test_the_wait_of_a_part_that_is_called_on(part: str, waits: Waits) -> None:
    """Common practice, no source; rules C3, T2, R2, K1, D1 and O2: class 1 acts first, class 4 last."""
    assert begun(f"lever pond\n{part}\n", "pond", "on") == waits


def test_a_straight_repeater_is_one_though_a_detector_watches_it() -> None:
    """Common practice, no source; rules C3 and D1: what is watched gives no power to it."""
    body = "lever pond\nrepeater mill from pond\nrepeater bell from mill\ndetector ripple watches mill\n"
    assert begun(body, "pond", "on") == [(2, 1, "mill")]


@pytest.mark.parametrize(("port", "turn"), [("pond locked by mill, wheel", 1), ("mill, wheel", 3)])
def test_two_repeaters_at_the_sides_point_straight_but_not_two_behind(port: str, turn: int) -> None:
    """Common practice, no source; rule C3: one stands at each side; behind, something must lie between."""
    body = "lever pond\nlever race\nrepeater mill from race\nrepeater wheel from race delay 2t\n"
    found = begun(f"{body}repeater bell from {port}\n", "race", "on")
    assert found == [(2, turn, "mill"), (4, turn, "wheel")]


def test_repeaters_that_point_at_each_other_do_not_point_straight() -> None:
    """Common practice, no source; rule C3: class 2 and class 3 in such a ring, but class 1 for one that points in."""
    ring = "repeater rope from bell starts on\nrepeater bell from rope starts off\n"
    assert waits(*at_rest(ring)) == [(2, 2, "rope"), (2, 3, "bell")]
    line = "repeater rope from bell starts off\nrepeater bell from pond starts on\nlever pond\n"
    assert waits(*at_rest(line)) == [(2, 1, "bell"), (2, 3, "rope")]


@pytest.mark.parametrize(
    ("part", "waits"),
    [
        ("torch mill from pond", [(2, 4, "mill")]),
        ("repeater mill from pond delay 3t", [(6, 2, "mill")]),
        ("repeater mill from pond delay 3t\nrepeater bell from mill", [(6, 1, "mill")]),
        ("comparator mill from pond", [(2, 4, "mill")]),
        ("lamp mill from pond", [(4, 4, "mill")]),
    ],
)
def test_the_wait_of_a_part_that_is_called_off(part: str, waits: Waits) -> None:
    """Common practice, no source; rules C3, T2, R2, K1 and O2."""
    assert begun(f"lever pond starts on\n{part}\n", "pond", "off") == waits


@pytest.mark.parametrize(("part", "verb", "hold"), [("button", "press", 20), ("plate", "on", 20)])
def test_the_wait_of_an_input_that_comes_off_by_itself(part: str, verb: str, hold: int) -> None:
    """Common practice, no source; rules C3 and O1."""
    body = f"{part} pond{' short' if part == 'button' else ''}\n"
    assert begun(body, "pond", verb) == [(hold, 4, "pond")]


@pytest.mark.parametrize(
    "part",
    [
        "torch mill from pond",
        "repeater mill from pond delay 2t",
        "comparator mill from pond",
        "piston mill from pond",
        "detector mill arming pond hears pond",
    ],
)
def test_a_part_that_waits_holds_one_wait_however_often_it_is_called(part: str) -> None:
    """Common practice, no source; rule C4."""
    assert len(begun(f"lever pond\n{part}\n", "pond", "on", "off", "on")) == 1


@pytest.mark.parametrize("lever", ["on", "off"])
@pytest.mark.parametrize("kind", ["torch", "repeater", "comparator", "lamp", "piston"])
def test_a_part_at_rest_waits_for_nothing(kind: str, lever: str) -> None:
    """Common practice, no source; rules C6 and C4: told at the start, it finds everything as it should be."""
    assert waits(*at_rest(f"lever pond starts {lever}\n{kind} mill from pond\n")) == []


def test_a_comparator_that_waits_begins_nothing_at_another_level() -> None:
    """Common practice, no source; rules K1 and C4."""
    program, state = at_rest("analogue pond\ncomparator mill from pond\n")
    for level in (5, 9):
        (outcome,) = step(program, state, [Action(program.number["pond"], "is", level)])
        state = outcome.state
    assert waits(program, state) == [(1, 4, "mill")]


def test_a_comparator_looks_once_for_all_the_calls_of_its_wait() -> None:
    """Common practice, no source; rules K1 and C4: called at 10 and 11 it gives 9 at 12; called at 12, 3 at 14."""
    acts = [(10, "pond", "5"), (11, "pond", "9"), (12, "pond", "3")]
    run = drive("analogue pond\ncomparator mill from pond\n", acts, 60)
    assert edges(run, "mill") == [(12, 9), (14, 3)]


def test_a_lamp_looks_once_for_all_the_times_its_power_went_during_its_wait() -> None:
    """Common practice, no source; rules O2 and C4: power off 10–11 and 12–13, and from 15: it looks at 14 and 19."""
    acts = [*gap("pond", 10, 1), *gap("pond", 12, 1), (15, "pond", "off")]
    run = drive("lever pond starts on\nlamp open from pond\n", acts, 60)
    assert edges(run, "open") == [(19, 0)]
