"""What parts say of themselves beforehand: the waits they may begin, and how they feel their inputs.

The engine decides from it which orders can matter (rule C5), so it must say all that can happen, and no more than the
rules of the part leave open. (Common practice, no source; each case names its rule.)
"""

from __future__ import annotations

import pytest

import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import starts
from circuitcheck.model.parts.base import Device, Port
from circuitcheck.model.parts.waits import CALLED, CLASS_BITS

from .driving import HEADER

ON, OFF, EITHER = True, False, None
Waits = set[tuple[int, int]]
"""Gt, and the order class; the moment at which pistons start counts as class 5 (rule C2)."""


def device(body: str, name: str = "mill") -> Device:
    """One part of the circuit of these lines, wired up."""
    program = Program(circuitcheck.loads(HEADER + "lever pond\nlever race\n" + body + "\n").circuit)
    return program.devices[program.number[name]]


def unpacked(waits: frozenset[int]) -> Waits:
    return {(wait >> CLASS_BITS, wait & ((1 << CLASS_BITS) - 1)) for wait in waits}


LOCKED = "repeater bolt from race\nrepeater mill from pond delay 2t locked by bolt"


@pytest.mark.parametrize(
    ("body", "what_it_reads", "waits"),
    [
        ("torch mill from pond", ON, {(2, 4)}),
        ("torch mill from pond", OFF, {(2, 4)}),
        ("torch mill from pond", EITHER, {(2, 4)}),
        ("repeater mill from pond delay 2t", ON, {(4, 3)}),
        ("repeater mill from pond delay 2t", OFF, {(4, 2)}),
        ("repeater mill from pond delay 2t", EITHER, {(4, 3), (4, 2)}),
        ("repeater mill from pond delay 2t\nrepeater bell from mill", ON, {(4, 1)}),
        ("repeater mill from pond delay 2t\nrepeater bell from mill", OFF, {(4, 1)}),
        (LOCKED, ON, {(4, 3)}),
        (LOCKED, OFF, {(4, 3), (4, 2)}),
        (LOCKED, EITHER, {(4, 3), (4, 2)}),
        ("comparator mill from pond", EITHER, {(2, 4)}),
        ("comparator mill from pond\nrepeater bell from mill", EITHER, {(2, 3)}),
        ("detector mill watches pond delay 3gt", EITHER, {(3, 4)}),
        ("lamp mill from pond", EITHER, {(4, 4)}),
        ("piston mill from pond", EITHER, {(0, CALLED), (1, CALLED)}),
        ("detector mill arming race hears pond", EITHER, {(0, CALLED), (1, CALLED)}),
    ],
)
def test_the_waits_a_part_may_begin_when_it_is_updated(body: str, what_it_reads: bool | None, waits: Waits) -> None:
    """Common practice, no source; rules C3, C5, T2, R2, R5, K1, D1, O2, O3 and D2.

    A repeater that reads nothing but its back is called to go the way its back goes. One that can be locked may be
    called either way when its lock goes. A piston starts in this gt or, called by hand, in the next.
    """
    assert unpacked(device(body).waits_on_change(what_it_reads)) == waits


@pytest.mark.parametrize(
    ("body", "goes", "waits"),
    [
        ("torch mill from pond", OFF, {(160, 4)}),
        ("torch mill from pond", EITHER, {(160, 4)}),
        ("torch mill from pond", ON, set()),
        ("rules older\ntorch mill from pond", OFF, set()),
        ("setting burn_out_rest 7gt\ntorch mill from pond", OFF, {(7, 4)}),
        ("repeater mill from pond delay 3t", ON, {(6, 2)}),
        ("repeater mill from pond delay 3t", EITHER, {(6, 2)}),
        ("repeater mill from pond delay 3t", OFF, set()),
        ("repeater mill from pond delay 3t\nrepeater bell from mill", ON, {(6, 2)}),
        ("comparator mill from pond", EITHER, set()),
        ("detector mill watches pond pulse 5gt", ON, {(5, 4)}),
        ("detector mill watches pond pulse 5gt", OFF, set()),
        ("detector mill watches pond pulse 5gt", EITHER, {(5, 4)}),
        ("detector mill watches pond pulse 5gt rearm 9gt", ON, {(5, 4)}),
        ("detector mill watches pond pulse 5gt rearm 9gt", OFF, {(9, 4)}),
        ("detector mill watches pond pulse 5gt rearm 9gt", EITHER, {(5, 4), (9, 4)}),
        ("lamp mill from pond", EITHER, set()),
        ("button mill long", ON, {(30, 4)}),
        ("plate mill", ON, {(20, 4)}),
        ("piston mill from pond travel 5gt", EITHER, {(0, CALLED), (5, 4)}),
        ("detector mill arming race hears pond travel 5gt", EITHER, {(5, 4)}),
    ],
)
def test_the_waits_a_part_may_begin_of_itself(body: str, goes: bool | None, waits: Waits) -> None:
    """Common practice, no source; rules C5, T4, R2, D1, O1, O3 and D2: while it goes on or off or is worked."""
    lines = body.splitlines()
    settings = [line for line in lines if line.startswith(("rules", "setting"))]
    text = "\n".join([*settings, "lever pond", "lever race", *(line for line in lines if line not in settings), ""])
    program = Program(circuitcheck.loads(HEADER + text).circuit)
    assert unpacked(program.devices[program.number["mill"]].own_waits(goes)) == waits


def port(body: str, name: str) -> Port:
    """One input of the part `mill`."""
    (found,) = (port for port in device(body).part.ports() if port.name == name)
    return found


@pytest.mark.parametrize(
    ("body", "name", "sources"),
    [
        ("torch mill from pond, race", "block", ("pond", "race")),
        ("repeater mill from pond", "back", ("pond",)),
        (LOCKED, "side", ("bolt",)),
        ("comparator mill from pond side race", "back", ("pond",)),
        ("comparator mill from pond side race", "side", ("race",)),
        ("lamp mill from pond", "power", ("pond",)),
        ("piston mill from pond", "power", ("pond",)),
        ("detector mill watches pond", "watched", ("pond",)),
        ("detector mill arming pond hears race", "arming", ("pond",)),
        ("detector mill arming pond hears race", "heard", ("race",)),
    ],
)
def test_the_inputs_of_a_part(body: str, name: str, sources: tuple[str, ...]) -> None:
    """Common practice, no source; rules T1, R1, R5, K1, O2, O3, D1 and D2: by name, with what feeds each."""
    assert port(body, name).sources == sources


@pytest.mark.parametrize("body", ["repeater mill from pond", "comparator mill from pond"])
def test_a_part_without_anything_at_its_side_has_no_side(body: str) -> None:
    """Common practice, no source; rules R5 and K1."""
    assert [each.name for each in device(body).part.ports()] == ["back"]


def test_a_torch_and_the_side_of_a_comparator_turn_power_into_less() -> None:
    """Common practice, no source; rules T1 and K1; a back, a lamp's or piston's power does not."""
    assert port("torch mill from pond", "block").inverts is True
    assert port("comparator mill from pond side race", "side").inverts is True
    assert port("comparator mill from pond side race", "back").inverts is False
    assert port("repeater mill from pond", "back").inverts is False


def test_a_lock_holds_and_carries_nothing() -> None:
    """Common practice, no source; rule R5; the sides of a comparator do carry (K1)."""
    assert port(LOCKED, "side").carries is False
    assert port(LOCKED, "back").carries is True
    assert port("comparator mill from pond side race", "side").carries is True


def test_who_feels_levels_and_who_feels_only_power() -> None:
    """Common practice, no source; rules P1, K1, D1 and D2: comparators and detectors feel each change of level."""
    assert port("comparator mill from pond side race", "back").boolean is False
    assert port("comparator mill from pond side race", "side").boolean is False
    assert port("detector mill watches pond", "watched").boolean is False
    assert port("detector mill arming pond hears race", "heard").boolean is False
    for body, name in (("torch mill from pond", "block"), (LOCKED, "side"), ("lamp mill from pond", "power")):
        assert port(body, name).boolean is True


@pytest.mark.parametrize(
    "body",
    [
        "button mill short",
        "plate mill",
        "analogue mill",
        "lever mill",
        "detector mill watches pond",
        "detector mill arming pond hears race",
        "torch mill from pond",
        "repeater mill from pond",
        "comparator mill from pond",
        "lamp mill from pond",
        "piston mill from pond",
    ],
)
@pytest.mark.parametrize("lever", ["on", "off"])
def test_a_part_whose_inputs_are_known_is_no_open_part_of_the_start(body: str, lever: str) -> None:
    """Common practice, no source; rule C6: there is one start, and nothing had to be tried for it."""
    text = f"lever pond starts {lever}\nlever race starts {lever}\n{body}\n"
    (start,) = starts(Program(circuitcheck.loads(HEADER + text).circuit))
    assert start.tried == ()


def test_a_part_that_is_fed_by_another_in_its_place_keeps_all_else() -> None:
    """No rule of the trade: changed circuits, as explanations try them, are made so."""
    mill = device("repeater bolt from race\nrepeater mill from pond, race delay 3t locked by bolt").part
    assert mill.rewired("race", "pond").ports()[0].sources == ("pond", "pond")
    without = mill.rewired("race", None)
    assert [each.sources for each in without.ports()] == [("pond",), ("bolt",)]
    assert (without.name, without.lag) == ("mill", 6)
    assert mill.rewired("bolt", None).ports()[0].sources == ("pond", "race")
    assert len(mill.rewired("bolt", None).ports()) == 1
    assert mill.rewired("rope", "pond") == mill


def test_a_detector_feels_only_what_it_watches_and_keeps_that_when_power_is_rewired() -> None:
    """Common practice, no source; rule D1: what a part only watches is no source of power."""
    ripple = device("detector mill watches pond").part
    assert ripple.rewired("pond", "race") == ripple
