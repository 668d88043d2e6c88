"""Feedback: latches with their table and shortest pulses, ring clocks with their period, rings that rest."""

from __future__ import annotations

import itertools

import pytest

from circuitcheck import Simulation
from circuitcheck.explain.circuit_reading import read_circuit
from circuitcheck.explain.loops import Loop, LoopKind, loops

from .trying import circuit_of, machine_of

# Set, reset and what becomes of it. Source: any textbook of digital design, the latch of two NOR gates (rule L2).
TABLE = (("off", "off", "holds"), ("on", "off", "set"), ("off", "on", "reset"), ("on", "on", "both off"))
ROPES = ("lever opens", "lever shuts")
LATCHES = {
    "declared": (*ROPES, "latch gate set opens reset shuts starts reset"),
    "declared, start open": (*ROPES, "latch gate set opens reset shuts"),
    "two raw torches": (*ROPES, "torch gate from shuts, idle", "torch idle from opens, gate"),
    "behind repeaters": (
        *ROPES, "repeater up from opens delay 2t", "repeater down from shuts delay 4t", "latch gate set up reset down",
    ),
}  # fmt: skip


def only_loop(*lines: str) -> Loop:
    """The one loop of a circuit."""
    (found,) = loops(machine_of(*lines))
    return found


@pytest.mark.parametrize("lines", LATCHES.values(), ids=LATCHES)
def test_a_latch_has_the_textbook_table(lines: tuple[str, ...]) -> None:
    found = only_loop(*lines)
    assert found.kind is LoopKind.LATCH
    assert found.latch is not None
    assert found.latch.table == TABLE
    assert {found.latch.side, found.latch.inverse} == set(found.parts)


@pytest.mark.parametrize("lines", LATCHES.values(), ids=LATCHES)
def test_a_latch_wants_3_gt_from_a_detector_and_2_gt_by_hand(lines: tuple[str, ...]) -> None:
    # Common practice, no source; rules L2, L3.
    facts = only_loop(*lines).latch
    assert facts is not None
    assert (facts.set_by_part, facts.reset_by_part) == (3, 3)
    assert (facts.set_by_hand, facts.reset_by_hand) == (2, 2)


@pytest.mark.parametrize(("length", "latches"), [(1, False), (2, True), (3, True)])
def test_the_shortest_pulse_by_hand_is_that_of_the_simulation(length: int, latches: bool) -> None:
    for side, start in (("opens", "reset"), ("shuts", "set")):
        run = Simulation(circuit_of(*ROPES, f"latch gate set opens reset shuts starts {start}")).run(gt=10)
        run.set(side, True)
        run.run(gt=length)
        run.set(side, False)
        run.run(gt=60)
        assert run.is_on("gate") is (latches is (side == "opens"))


def test_with_hands_first_a_latch_wants_3_gt_by_hand() -> None:
    # Rule T3: 2 gt by hand do nothing to a torch when hands come first; 3 gt do in either setting.
    facts = only_loop("setting outside_first yes", *ROPES, "latch gate set opens reset shuts").latch
    assert facts is not None
    assert (facts.set_by_hand, facts.reset_by_hand) == (3, 3)


def ring(count: int, *starts: str) -> list[str]:
    """A ring of torches, each reading the one before, with declared starts as far as they go."""
    said = [f" starts {start}" for start in starts] + [""] * (count - len(starts))
    return [f"torch wheel{place} from wheel{(place - 1) % count}{said[place]}" for place in range(count)]


def alternating(count: int) -> list[str]:
    """Starts with one place in the ring where two neighbours agree."""
    return ["on" if place % 2 == 0 else "off" for place in range(count)]


@pytest.mark.parametrize("count", [3, 5, 7, 9])
def test_a_ring_of_n_torches_ticks_every_2n_ticks(count: int) -> None:
    # Source: the ring oscillator, f = 1 / (2 n t_pd), any textbook of VLSI design (rule T6); a tick is 2 gt.
    lines = ring(count, *alternating(count))
    found = only_loop(*lines)
    assert found.kind is LoopKind.CLOCK
    assert found.period == 2 * count * 2
    run = Simulation(circuit_of(*lines)).run(gt=400)
    rises = [edge.at for edge in run.edges("wheel0") if edge.level]
    assert {later - earlier for earlier, later in itertools.pairwise(rises[1:])} == {found.period}


@pytest.mark.parametrize("count", [5, 7])
def test_a_ring_whose_start_nobody_declares_ticks_or_the_program_says_why_it_does_not_know(count: int) -> None:
    program = machine_of(*ring(count), "lamp bell from wheel0")
    reading = read_circuit(program)
    assert [loop.period for loop in reading.clocks] == [4 * count] or reading.left_out


@pytest.mark.parametrize("count", [4, 6])
def test_a_ring_of_an_even_number_is_no_clock(count: int) -> None:
    # An even number of inversions in a ring rests in either of two states: any textbook, the bistable.
    for lines in (ring(count), ring(count, *alternating(count))):
        found = only_loop(*lines)
        assert found.kind is not LoopKind.CLOCK
        assert found.period is None


def test_a_torch_on_its_own_block_burns_out_and_is_no_clock() -> None:
    # Common practice, no source; rule T5: off in gt 2, 6, 10 …, burnt out in gt 30, for good.
    found = only_loop("torch self from self starts on")
    assert found.kind is LoopKind.UNKNOWN
    assert found.period is None
    run = Simulation(circuit_of("torch self from self starts on")).run(gt=400)
    assert [edge.at for edge in run.edges("self") if not edge.level] == list(range(2, 31, 4))


def test_a_ring_of_three_burns_out_by_the_older_rules_and_is_no_clock_there() -> None:
    # Rule T6: with a window of 100 gt a ring of 3 burns out, first in gt 86.
    found = only_loop("rules older", *ring(3, "on", "off", "on"))
    assert found.kind is LoopKind.UNKNOWN


def test_a_torch_and_repeaters_in_a_ring_tick_at_twice_their_delays() -> None:
    # Half a period is once round the ring: one torch (1t) and repeaters of 4t and 3t make 8t, 16t for both halves.
    lines = (
        "torch wheel from near starts on",
        "repeater far from wheel delay 4t",
        "repeater near from far delay 3t",
    )
    found = only_loop(*lines)
    assert found.kind is LoopKind.CLOCK
    assert found.period == 2 * 2 * (1 + 4 + 3)


def test_lines_that_meet_are_no_feedback() -> None:
    lines = ("lever rope", "dust one from rope length 3", "dust two from one length 3", "junction meet joins two, one")
    assert loops(machine_of(*lines)) == ()


def test_several_loops_are_reported_in_the_order_of_the_file() -> None:
    found = loops(machine_of(*ROPES, "latch gate set opens reset shuts", *ring(5, *alternating(5))))
    assert [loop.kind for loop in found] == [LoopKind.LATCH, LoopKind.CLOCK]
