"""The clock that counts work: the same reading for the same work, and bounds that end it in the same place."""

from __future__ import annotations

import pytest

import circuitcheck
from circuitcheck.engine import work
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.step import merge, run_game_tick
from circuitcheck.model.circuit import Circuit

RING = ("torch a from c", "torch b from a", "torch c from b")


def circuit(*lines: str) -> Circuit:
    return circuitcheck.loads("\n".join(["language 1", "circuit tried", *lines, ""])).circuit


def ticked(program: Program, times: int) -> int:
    """How many gt a ring was taken through before it was stopped."""
    simulators = merge(Simulator(program, 0, starts(program)[0].levels).tell_everyone())
    for now in range(1, times + 1):
        for simulator in simulators:
            simulator.now = now
        try:
            simulators = merge(run_game_tick(simulators, ()))
        except work.OutOfWork:
            return now - 1
    return times


def test_the_same_work_reads_the_same() -> None:
    readings = []
    for _ in range(2):
        begun = work.done()
        ticked(Program(circuit(*RING)), 50)
        readings.append(work.done() - begun)
    assert readings[0] == readings[1] > 50 * (3 + work.OVERHEAD)


def test_a_bound_ends_work_in_the_same_place_each_time() -> None:
    program = Program(circuit(*RING))
    ends = []
    for _ in range(2):
        with work.bounded(3_000):
            ends.append(ticked(program, 1_000))
    assert ends[0] == ends[1]
    assert 10 < ends[0] < 60


def test_the_narrower_of_two_bounds_counts_and_the_wider_is_back_behind_it() -> None:
    program = Program(circuit(*RING))
    with work.bounded(100_000):
        with work.bounded(3_000):
            narrow = ticked(program, 1_000)
        with work.bounded(10**9):
            assert narrow < ticked(program, 10_000) < 10_000
        with pytest.raises(work.OutOfWork):
            work.count(1)
    work.count(1)


def test_a_search_for_starts_is_bounded_by_the_parts_it_looks_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of rings that can't rest every assignment is tried, 2 to the power of their number; that is bounded in all."""
    lines = [f"torch {name}{n} from {source}{n}" for n in range(16) for name, source in ("ac", "ba", "cb")]
    begun = work.done()
    monkeypatch.setattr("circuitcheck.engine.start.MOST_LOOKED_AT", 10_000)
    with pytest.raises(TooManyStarts):
        starts(Program(circuit(*lines)))
    assert work.done() - begun < 48 * work.WIRING + 2 * 10_000
