"""Starts that are declared, and how many are tried where none is (common practice, no source; rules C6 and L5)."""

from __future__ import annotations

import pytest

import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts, starts

from .driving import HEADER, Act, drive, edges, start


def program(body: str) -> Program:
    """The circuit of these lines, wired up."""
    return Program(circuitcheck.loads(HEADER + body).circuit)


def test_an_analogue_input_starts_at_the_level_it_declares() -> None:
    """Common practice, no source; rule C6: and at 0 where it declares none."""
    run = drive("analogue pond starts 7\nanalogue race\ncomparator mill from pond\n", [], 60)
    assert [run.level(name) for name in ("pond", "race", "mill")] == [7, 0, 7]
    assert edges(run, "mill") == []


@pytest.mark.parametrize(("starts_at", "level"), [("9", 9), ("4", 4), ("1", 1), ("on", 15), ("off", 0)])
def test_a_comparator_starts_at_the_level_it_declares_and_then_says_what_its_inputs_make(
    starts_at: str, level: int
) -> None:
    """Common practice, no source; rules C6 and K1: 4 at its back, which it gives from 2 on."""
    run = start(f"analogue pond starts 4\ncomparator mill from pond starts {starts_at}\n")
    assert run.level("mill") == level
    assert edges(run.run(gt=60), "mill") == ([] if level == 4 else [(2, 4)])


@pytest.mark.parametrize(
    ("mode", "side", "level"), [("compare", 4, 9), ("compare", 10, 0), ("subtract", 4, 5), ("subtract", 10, 0)]
)
def test_a_comparator_with_a_side_starts_at_what_its_inputs_make(mode: str, side: int, level: int) -> None:
    """Common practice, no source; rules C6 and K1: 9 at its back."""
    body = f"analogue pond starts 9\nanalogue race starts {side}\ncomparator mill from pond side race {mode}\n"
    run = start(body)
    assert run.level("mill") == level
    assert edges(run.run(gt=60), "mill") == []


@pytest.mark.parametrize("mode", ["compare", "subtract"])
def test_a_comparator_without_a_side_is_weakened_by_nothing(mode: str) -> None:
    """Common practice, no source; rule K1: whatever else of the circuit is powered."""
    body = f"analogue pond starts 4\ncomparator mill from pond {mode}\nlever race starts on\nlamp open from race\n"
    run = start(body)
    assert run.level("mill") == 4
    assert edges(drive(body, [(10, "pond", "9")], 60), "mill") == [(12, 9)]


def test_a_comparator_behind_an_open_latch_starts_at_what_each_way_makes_of_it() -> None:
    """Common practice, no source; rules C6, L5 and K1: the latch is at its side, or at its back."""
    body = "lever pond\nlever race\nlatch gate set pond reset race\nanalogue rain starts 9\n"
    run = start(body + "comparator mill from rain side gate\ncomparator wheel from gate side rain subtract\n")
    assert run.levels("mill") == {0, 9}
    assert run.levels("wheel") == {0, 6}


@pytest.mark.parametrize(("kind", "block"), [("", []), (" sticky", [(3, 0)])])
def test_a_piston_declared_out_without_power_goes_home(kind: str, block: list[tuple[int, int]]) -> None:
    """Common practice, no source; rules C6 and O3: told in gt 0, it starts in it; only a sticky one pulls its block."""
    body = f"lever pond\npiston gate from pond{kind} starts on\n"
    run = start(body)
    assert (run.level("gate"), run.level("gate.block")) == (15, 15)
    run.run(gt=60)
    assert edges(run, "gate") == [(3, 0)]
    assert edges(run, "gate.block") == block


def test_a_piston_declared_home_with_power_goes_out() -> None:
    """Common practice, no source; rules C6 and O3."""
    run = drive("lever pond starts on\npiston gate from pond starts off\n", [], 60)
    assert edges(run, "gate") == edges(run, "gate.block") == [(3, 15)]


def test_nothing_later_than_gt_zero_happens_in_it() -> None:
    """Common practice, no source; rules C6 and O3: a piston that travels 1 gt is out at 1."""
    body = "lever pond starts on\npiston gate from pond travel 1gt starts off\n"
    assert start(body).level("gate") == 0
    assert edges(drive(body, [], 10), "gate") == [(1, 15)]


def test_a_stuck_piston_declared_out_stays_until_it_gets_an_update() -> None:
    """Common practice, no source; rules C6 and D2: the start is no update; by hand at 10 it starts at 11."""
    body = "lever pond\nlever race\ndetector knock arming race hears pond starts on\n"
    assert edges(drive(body, [(10, "pond", "on")], 60), "knock") == [(14, 0)]
    assert start(body).run(gt=1000).level("knock") == 15


def test_a_detector_gives_no_pulse_for_the_start() -> None:
    """Common practice, no source; rules C6 and D1: an update at the start is no change of what it watches."""
    run = drive("lever pond starts on\nlamp open from pond\ndetector ripple watches open\n", [], 60)
    assert edges(run, "ripple") == []


@pytest.mark.parametrize(
    ("side", "starts_at", "gate", "inverse"),
    [("pond", "reset", [(4, 15)], [(2, 0)]), ("race", "set", [(2, 0)], [(4, 15)])],
)
def test_a_latch_starts_on_both_sides_as_declared_whatever_its_inputs(
    side: str, starts_at: str, gate: list[tuple[int, int]], inverse: list[tuple[int, int]]
) -> None:
    """Common practice, no source; rules C6 and L3: its other input is on from the start; each side takes 1t."""
    body = f"lever pond\nlever race\nlatch gate set pond reset race starts {starts_at}\n"
    body = body.replace(f"lever {side}\n", f"lever {side} starts on\n")
    run = start(body)
    assert (run.is_on("gate"), run.is_on("gate.inverse")) == (starts_at == "set", starts_at != "set")
    run.run(gt=60)
    assert edges(run, "gate") == gate
    assert edges(run, "gate.inverse") == inverse


@pytest.mark.parametrize("starts_at", ["on", "off"])
def test_a_data_latch_locked_from_the_start_keeps_what_is_declared(starts_at: str) -> None:
    """Common practice, no source; rules C6 and R5."""
    data = "off" if starts_at == "on" else "on"
    body = f"lever pond starts {data}\nlever rope starts on\nlatch store data pond locked by rope starts {starts_at}\n"
    released: list[Act] = [(10, "rope", "off")]
    run = drive(body, released, 60)
    assert edges(run, "store.lock") == [(12, 0)]
    assert edges(run, "store") == [(14, 15 if data == "on" else 0)]


def test_two_comparators_in_a_ring_may_rest_at_any_level() -> None:
    """Common practice, no source; rules C6 and K1: each gives on what it gets, so all sixteen levels would rest."""
    run = start("comparator mill from wheel\ncomparator wheel from mill\n")
    assert run.levels("mill") == run.levels("wheel") == set(range(16))
    assert run.run(gt=100).levels("mill") == set(range(16))


def test_only_starts_that_rest_are_tried_where_some_do() -> None:
    """Common practice, no source; rules C6 and L5: of four ways to start a latch with both inputs off, two rest."""
    found = starts(program("lever pond\nlever race\nlatch gate set pond reset race\n"))
    assert sorted(each.tried for each in found) == [
        (("gate", 0), ("gate.inverse", 15)),
        (("gate", 15), ("gate.inverse", 0)),
    ]


def test_only_parts_in_or_behind_an_open_loop_are_tried() -> None:
    """Common practice, no source; rules C6 and L5: a torch and a lamp apart from the latch are not."""
    body = "lever pond\nlever race\nlatch gate set pond reset race\ntorch mill from pond\nlamp open from mill\n"
    assert [{name for name, _ in each.tried} for each in starts(program(body))] == [{"gate", "gate.inverse"}] * 2


def test_a_start_does_not_depend_on_the_order_in_which_parts_are_written() -> None:
    """Common practice, no source; rule C6: a chain written from its end has one start, and nothing is tried for it."""
    wired = program(
        "lamp open from wheel\nrepeater wheel from mill\ntorch mill from rope\nrepeater rope from pond\nlever pond\n"
    )
    (found,) = starts(wired)
    assert found.tried == ()
    assert dict(zip(wired.names, found.levels, strict=True)) == {
        "open": 15,
        "wheel": 15,
        "mill": 15,
        "rope": 0,
        "pond": 0,
    }


def latches(count: int) -> str:
    """So many latches with no declared start."""
    return "lever pond\nlever race\n" + "".join(f"latch gate_{n} set pond reset race\n" for n in range(count))


def rings(*lengths: int) -> str:
    """Rings of torches with no declared start."""
    lines = [
        f"torch ring_{which}_{n} from ring_{which}_{(n - 1) % length}"
        for which, length in enumerate(lengths)
        for n in range(length)
    ]
    return "\n".join([*lines, ""])


MIXED = "torch mill from wheel\ncomparator wheel from mill\n"
"""A ring in which nothing rests, with a part that gives any level."""


@pytest.mark.parametrize(("body", "count"), [(latches(6), 64), (rings(3, 3), 64), (rings(5), 32), (MIXED, 32)])
def test_every_start_is_tried_up_to_sixty_four(body: str, count: int) -> None:
    """Common practice, no source; rules C6 and L5: two ways for each latch, every way for the torches of a ring."""
    found = starts(program(body))
    assert len(found) == len({each.levels for each in found}) == count


@pytest.mark.parametrize(("body", "names"), [(latches(7), 14), (rings(7), 7), (rings(3, 5), 8)])
def test_more_starts_are_not_tried_but_the_open_parts_are_named(body: str, names: int) -> None:
    """Common practice, no source; rules C6 and L5: the author learns what to declare."""
    wired = program(body)
    with pytest.raises(TooManyStarts) as refused:
        starts(wired)
    assert refused.value.names == tuple(name for name in wired.names if name.startswith(("gate", "ring")))
    assert len(refused.value.names) == names


def test_a_search_for_starts_that_takes_too_long_is_given_up_and_says_what_was_open(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Common practice, no source; rules C6 and L5: to find all 64 starts of six latches, 63 times a level is tried."""
    wired = program(latches(6))
    monkeypatch.setattr("circuitcheck.engine.start.MOST_TRIALS", 127)
    assert len(starts(wired)) == 64
    monkeypatch.setattr("circuitcheck.engine.start.MOST_TRIALS", 100)
    with pytest.raises(TooManyStarts) as refused:
        starts(wired)
    assert refused.value.names == tuple(name for name in wired.names if name.startswith("gate"))
