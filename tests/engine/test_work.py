"""The clock that counts work: the same reading for the same work, and bounds that end it in the same place."""

from __future__ import annotations

import pytest

import circuitcheck
from circuitcheck.engine import work
from circuitcheck.engine.machine import Machine
from circuitcheck.engine.moment import Moment
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.step import merge, run_game_tick
from circuitcheck.model.circuit import Circuit

RING = ("torch a from c", "torch b from a", "torch c from b")


def circuit(*lines: str) -> Circuit:
    return circuitcheck.loads("\n".join(["language 1", "circuit tried", *lines, ""])).circuit


def ticked(machine: Machine, times: int) -> int:
    """How many gt a ring was taken through before it was stopped."""
    moments = merge(Moment(machine, 0, starts(machine)[0].levels).tell_everyone())
    for now in range(1, times + 1):
        for moment in moments:
            moment.now = now
        try:
            moments = merge(run_game_tick(moments, ()))
        except work.OutOfWork:
            return now - 1
    return times


def test_the_same_work_reads_the_same() -> None:
    readings = []
    for _ in range(2):
        begun = work.done()
        ticked(Machine(circuit(*RING)), 50)
        readings.append(work.done() - begun)
    assert readings[0] == readings[1] > 50 * (3 + work.OVERHEAD)


def test_a_bound_ends_work_in_the_same_place_each_time() -> None:
    machine = Machine(circuit(*RING))
    ends = []
    for _ in range(2):
        with work.bounded(3_000):
            ends.append(ticked(machine, 1_000))
    assert ends[0] == ends[1]
    assert 10 < ends[0] < 60


def test_the_narrower_of_two_bounds_counts_and_the_wider_is_back_behind_it() -> None:
    machine = Machine(circuit(*RING))
    with work.bounded(100_000):
        with work.bounded(3_000):
            narrow = ticked(machine, 1_000)
        with work.bounded(10**9):
            assert narrow < ticked(machine, 10_000) < 10_000
        with pytest.raises(work.OutOfWork):
            work.count(1)
    work.count(1)


def test_a_search_for_starts_is_bounded_by_the_parts_it_looks_at(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of rings that can't rest every assignment is tried, 2 to the power of their number; that is bounded in all."""
    lines = [f"torch {name}{n} from {source}{n}" for n in range(16) for name, source in ("ac", "ba", "cb")]
    begun = work.done()
    monkeypatch.setattr("circuitcheck.engine.start.MOST_LOOKED_AT", 10_000)
    with pytest.raises(TooManyStarts):
        starts(Machine(circuit(*lines)))
    assert work.done() - begun < 48 * work.WIRING + 2 * 10_000
