"""Flip-flops on one clock: orders that are left open until they matter come to the same as following all of them.

How a flip-flop is made of locked repeaters, of two set-reset latches, or of one repeater that a pulse unlocks: common
practice, no source; rules R5 and L1. That a register clocked in two phases that don't overlap shifts by one place is in
any textbook of digital design (for example C. Mead and L. Conway, Introduction to VLSI Systems, 1980; from memory).
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from circuitcheck.checks.run import Notebook, run_check
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.step import Action, run_game_tick
from circuitcheck.language.load import load_text

from . import test_orders
from .circuits import Scene
from .every_order import every_order

Build = Callable[[int], str]


def level(number: int) -> str:
    """Places start on and off in turn, so that all of them change with each turn of the clock."""
    return "on" if number % 2 else "off"


def before(number: int, count: int) -> str:
    """The output that a place takes over: that of the place before, of the last for the first."""
    return f"q_{number - 1 or count}"


def locked_each(count: int) -> str:
    """Two data latches a place, each with a lock of its own, on two phases of the clock."""
    lines = ["lever take starts on", "lever give starts on"]
    for number in range(1, count + 1):
        lines.append(f"latch m_{number} data {before(number, count)} locked by take starts {level(number)}")
        lines.append(f"latch q_{number} data m_{number} locked by give starts {level(number)}")
    return "\n".join(lines)


def locked_as_one(count: int) -> str:
    """The same, one lock for a whole line of repeaters."""
    lines = ["lever take starts on", "lever give starts on"]
    lines += ["repeater take_lock from take starts on", "repeater give_lock from give starts on"]
    for number in range(1, count + 1):
        source = before(number, count)
        lines.append(f"repeater m_{number} from {source} delay 1t locked by take_lock starts {level(number)}")
        lines.append(f"repeater q_{number} from m_{number} delay 1t locked by give_lock starts {level(number)}")
    return "\n".join(lines)


def toggling(count: int) -> str:
    """Toggles: each takes over the opposite of what it gives, told by one lock."""
    lines = ["lever take starts on", "lever give starts on"]
    lines += ["repeater take_lock from take starts on", "repeater give_lock from give starts on"]
    for number in range(1, count + 1):
        lines.append(f"torch t_{number} from q_{number}")
        lines.append(f"repeater m_{number} from t_{number} locked by take_lock starts off")
        lines.append(f"repeater q_{number} from m_{number} locked by give_lock starts off")
    return "\n".join(lines)


def of_torches(count: int) -> str:
    """Set-reset latches behind gates of torches, on one phase only: it takes over while the clock is off."""
    lines = ["lever take starts on", "lever give"]
    for number in range(1, count + 1):
        on, off = ("give", "dark") if number == 1 else (f"q_{number - 1}", f"q_{number - 1}.inverse")
        lines.append(f"torch s_{number} from {off}, take")
        lines.append(f"torch r_{number} from {on}, take")
        lines.append(f"latch q_{number} set s_{number} reset r_{number} starts {'set' if number % 2 else 'reset'}")
    return "\n".join([*lines, "torch dark from give"])


def pulsed(count: int) -> str:
    """A repeater a place that a pulse of the clock unlocks, each straight behind the next: who is first matters."""
    lines = ["lever take", "lever give", "torch still from take", "repeater tail from take delay 4t"]
    lines += ["torch open from still, tail", "torch shut from open", "repeater lock from shut"]
    for number in range(1, count + 1):
        lines.append(f"repeater q_{number} from {before(number, count)} delay 2t locked by lock starts {level(number)}")
    return "\n".join(lines)


def pulsed_apart(count: int) -> str:
    """The same with a lamp at each place, so that none points straight: those that go off act first."""
    return pulsed(count) + "".join(f"\nlamp shown_{number} from q_{number}" for number in range(1, count + 1))


TURN = (
    (4, (("take", "throw"),)),
    (12, (("take", "throw"),)),
    (20, (("give", "throw"),)),
    (28, (("give", "throw"),)),
)
"""The clock's two phases, one after the other."""

FELT = {
    "nothing": "",
    "a latch": "\nrepeater push from q_1\nrepeater pull from q_3\nlatch gate set push reset pull starts reset",
    "a line": "\njunction row joins q_1, q_2, q_3\ndetector ripple watches row",
}
"""What feels which of two places was first: a latch that both let go of at once (L4), or a detector on a line (D1)."""


def scene(build: Build, count: int, felt: str = "nothing") -> Scene:
    return Scene("rules older\n" + build(count) + FELT[felt], TURN)


def same_histories(each: Scene, monkeypatch: pytest.MonkeyPatch) -> int:
    """How many histories there are, which are the same by both ways."""
    monkeypatch.setattr(test_orders, "MOST", 30_000)
    with every_order():
        brute = test_orders.histories(each)
    assert test_orders.histories(each) == brute
    assert test_orders.histories_thawed(each) == brute
    return len(brute)


@pytest.mark.parametrize("felt", FELT)
@pytest.mark.parametrize("build", [locked_each, locked_as_one, toggling, of_torches, pulsed])
@pytest.mark.parametrize("count", [3, 4])
def test_few_flip_flops_go_every_way_that_all_orders_go(
    count: int, build: Build, felt: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Common practice, no source; rule C5."""
    assert same_histories(scene(build, count, felt), monkeypatch)


@pytest.mark.parametrize("build", [locked_each, locked_as_one, toggling, pulsed, pulsed_apart])
@pytest.mark.parametrize("count", [5, 6])
def test_more_flip_flops_go_every_way_that_all_orders_go(
    count: int, build: Build, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Common practice, no source; rule C5."""
    assert same_histories(scene(build, count), monkeypatch)


def test_a_latch_that_feels_which_toggle_was_first_ends_both_ways(monkeypatch: pytest.MonkeyPatch) -> None:
    """Common practice, no source; rules C5 and L4: what is open is not lost on its way through two rows of locks."""
    again = ((36, (("take", "throw"),)), (44, (("take", "throw"),)), (52, (("give", "throw"),)))
    turned_twice = Scene(scene(toggling, 3, "a latch").text, (*TURN, *again))
    monkeypatch.setattr(test_orders, "UNTIL", 64)
    assert len(test_orders.histories(turned_twice, 64)) == 2


@pytest.mark.parametrize("build", [locked_each, locked_as_one, toggling, pulsed_apart])
@pytest.mark.parametrize("count", [14, 64])
def test_a_long_register_runs_in_one_order(count: int, build: Build) -> None:
    """Common practice, no source; rule C5: nothing in it feels who was first, so one moment stands for all orders."""
    program = scene(build, count).program()
    (simulator,) = [later for start in starts(program) for later in Simulator(program, 0, start.levels).tell_everyone()]
    outputs = [program.number[f"q_{number}"] for number in range(1, count + 1)]
    before_turn = [simulator.levels[each] for each in outputs]
    hands = dict(TURN)
    for at in range(1, 40):
        simulator.now = at
        actions = [Action(program.number[name], verb) for name, verb in hands.get(at, ())]
        (simulator,) = run_game_tick([simulator], actions)
        assert simulator.log is None
    assert [simulator.levels[each] for each in outputs] != before_turn


def test_a_long_ring_in_which_each_place_reads_the_next_as_it_acts_is_refused_by_name() -> None:
    """Common practice, no source; rules C5 and R1: each may be before or behind the next, and no order is picked."""
    loaded = load_text("rules older\n" + pulsed(14) + '\ncheck "one turn"\n  at 4gt take on\n  until 40gt\nend\n')
    study = loaded.studies[0]
    program = Program(study.circuit)
    run = run_check(program, starts(program), study.checks[0], (), Notebook())
    assert "14 parts tie" in run.limit
