"""A pure step costs what changes, not what there is: ports read, and what one state shares with the next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import pytest

from circuitcheck.engine import kernel, wiring
from circuitcheck.engine import simulator as simulators
from circuitcheck.engine.offs import MOST_OFFS_KEPT, LatestOffs, aged, offs_by_torch
from circuitcheck.engine.program import PortDrivers, Program, read
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, step
from circuitcheck.language.load import load_text

BUCKETS = 40
WHEEL = "lever rope starts off\n" + "".join(
    f"torch bucket_{number} from {'rope' if number == 0 else f'bucket_{number - 1}'}\n" for number in range(BUCKETS)
)
"""Buckets in a line: what the rope does runs down them, one every 2 gt."""


def at_rest() -> tuple[Program, State]:
    program = Program(load_text(WHEEL).studies[0].circuit)
    (simulator,) = Simulator(program, 0, starts(program)[0].levels).tell_everyone()
    return program, simulator.snapshot()


def test_a_step_reads_only_ports_that_a_change_reaches(monkeypatch: pytest.MonkeyPatch) -> None:
    program, state = at_rest()
    (pulled,) = step(program, state, [Action(program.number["rope"], "throw")])
    read_afresh = 0

    def counted(feeds: PortDrivers, levels: Sequence[int] | Mapping[int, int]) -> int:
        nonlocal read_afresh
        read_afresh += 1
        return read(feeds, levels)

    monkeypatch.setattr(wiring, "read", counted)
    monkeypatch.setattr(simulators, "read", counted)
    monkeypatch.setattr(kernel, "read", counted)
    state = pulled.state
    for _ in range(2 * BUCKETS):
        ((state, _),) = step(program, state)
    assert not state.waits
    assert read_afresh <= BUCKETS


def test_a_state_shares_all_that_does_not_change_with_the_one_after_it() -> None:
    program, state = at_rest()
    (pulled,) = step(program, state, [Action(program.number["rope"], "throw")])
    (later,) = step(program, pulled.state)
    assert later.state.levels is pulled.state.levels
    assert later.state.readings is pulled.state.readings
    assert [wait[0] for wait in later.state.waits] == [wait[0] - 1 for wait in pulled.state.waits]


def test_a_state_holds_the_readings_that_its_levels_make() -> None:
    program, state = at_rest()
    for at in range(2 * BUCKETS):
        assert list(state.readings) == program.readings(state.levels)
        actions = [Action(program.number["rope"], "throw")] if at % 7 == 0 else []
        ((state, _),) = step(program, state, actions)


def test_offs_are_kept_as_long_as_the_window_and_no_longer() -> None:
    """Rule T4: an off exactly a window old still counts."""
    offs = (((3, 5), 4), ((5,), 2))
    assert offs_by_torch(100, offs) == {3: [94], 5: [94, 98]}
    assert offs_by_torch(154, aged(offs, 54, 60)) == {3: [94], 5: [94, 98]}
    assert offs_by_torch(155, aged(offs, 55, 60)) == {5: [98]}
    assert aged(offs, 59, 60) == ()


def test_what_is_kept_of_offs_does_not_grow_with_the_length_of_a_run() -> None:
    kept = LatestOffs(60)
    for at in range(0, 40_004, 4):
        kept.add(at // 4 % 2, at)
        assert len(kept._went_off) <= 2 * MOST_OFFS_KEPT
    found = offs_by_torch(40_000, kept.frozen(40_000))
    assert sorted(at for offs in found.values() for at in offs) == list(range(39_940, 40_004, 4))
    assert kept.frozen(40_000) == kept.frozen(40_000)
