"""How a circuit starts (common practice, no source; rules C6 and L5)."""

from __future__ import annotations

import pytest

from circuitcheck.errors import OpenOrder

from .driving import Act, drive, edges, proceed, pulse, start


@pytest.mark.parametrize("lever", ["off", "on"])
def test_a_part_without_a_declared_start_has_the_level_it_settles_to(lever: str) -> None:
    """Common practice, no source; rule C6: every part of the chain rests from the first gt on."""
    body = (
        f"lever pond starts {lever}\ntorch rope from pond\nrepeater mill from rope\ncomparator wheel from mill\n"
        "block wall from wheel\ntorch bell from wall\nlamp open from bell\npiston gate from rope\n"
    )
    run = start(body)
    on = {"rope", "mill", "wheel", "wall", "gate"} if lever == "off" else {"bell", "open"}
    names = ("rope", "mill", "wheel", "wall", "bell", "open", "gate")
    assert {name for name in names if run.is_on(name)} == on
    run.run(gt=200)
    assert [edges(run, name) for name in names] == [[]] * len(names)


def test_every_part_is_updated_at_the_start() -> None:
    """Common practice, no source; rules C6 and T2: declared off, unpowered, it waits from gt 0 and is on at 2."""
    assert edges(drive("lever pond\ntorch rope from pond starts off\n", [], 60), "rope") == [(2, 15)]


def test_a_repeater_declared_other_than_it_settles_waits_from_gt_zero() -> None:
    """Common practice, no source; rules C6 and R2."""
    assert edges(drive("lever pond\nrepeater mill from pond delay 3t starts on\n", [], 60), "mill") == [(6, 0)]


def test_the_order_in_which_parts_are_updated_at_the_start_is_unknown() -> None:
    """Common practice, no source; rules C6 and C5: both declared off, the first of the two told comes on at 2."""
    run = start("torch rope from bell starts off\ntorch bell from rope starts off\njunction any joins rope, bell\n")
    run.run(gt=1)
    assert run.levels("any") == {0}
    run.run(gt=1)
    assert run.levels("rope") == run.levels("bell") == {0, 15}
    run.run(gt=100)
    assert edges(run, "any") == [(2, 15)]


UNDECLARED = """
lever pond
lever race
latch gate set pond reset race
junction any joins gate, gate.inverse
torch gate_off from gate
torch inverse_off from gate.inverse
torch both from gate_off, inverse_off
"""


def test_an_undeclared_latch_has_no_known_state() -> None:
    """Common practice, no source; rules L5 and C6: either side may be on, but always one of them and never both."""
    run = start(UNDECLARED)
    assert run.levels("gate") == {0, 15}
    assert run.levels("gate.inverse") == {0, 15}
    assert run.level("any") == 15
    assert run.level("both") == 0
    run.run(gt=1000)
    assert run.levels("gate") == {0, 15}
    assert edges(run, "any") == []


def test_what_depends_on_an_undeclared_latch_is_reported_and_not_picked() -> None:
    """Common practice, no source; rule L5."""
    run = start(UNDECLARED + "repeater mill from gate\nlamp open from mill\n")
    run.run(gt=100)
    assert run.levels("open") == {0, 15}
    with pytest.raises(OpenOrder):
        run.is_on("open")


@pytest.mark.parametrize(("side", "on"), [("pond", True), ("race", False)])
def test_an_undeclared_latch_is_known_once_it_has_been_worked(side: str, on: bool) -> None:
    """Common practice, no source; rules L5 and L2."""
    acts: list[Act] = pulse(side, 10, 10)
    assert proceed(start(UNDECLARED), acts, 60).is_on("gate") is on


def test_an_undeclared_latch_whose_input_is_on_has_one_level_to_settle_to() -> None:
    """Common practice, no source; rules C6 and L2."""
    run = start(UNDECLARED.replace("lever pond", "lever pond starts on"))
    assert run.level("gate") == 15
    assert run.level("gate.inverse") == 0


def test_a_ring_without_a_declared_start_may_start_in_every_way() -> None:
    """Common practice, no source; rule C6: no level of a ring of three settles, so each torch may be on or off."""
    run = start("torch mill from bell\ntorch rope from mill\ntorch bell from rope\n")
    assert [run.levels(name) for name in ("mill", "rope", "bell")] == [{0, 15}] * 3


def test_an_undeclared_repeater_that_holds_itself_may_be_on_or_off() -> None:
    """Common practice, no source; rule C6: a loop of two repeaters keeps whichever it starts with."""
    run = start("repeater rope from bell\nrepeater bell from rope\n")
    assert run.levels("rope") == {0, 15}
    run.run(gt=100)
    assert run.levels("rope") == {0, 15}


def test_a_locked_repeater_without_a_declared_start_may_hold_either() -> None:
    """Common practice, no source; rules C6 and R5: locked from the start, it keeps what it had, which nobody said."""
    body = "lever pond\nlever rope starts on\nrepeater bolt from rope\nrepeater mill from pond locked by bolt\n"
    run = start(body)
    assert run.levels("mill") == {0, 15}
    assert proceed(run, [(10, "rope", "off")], 60).level("mill") == 0
