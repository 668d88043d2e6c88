"""Slices are taken out of right layouts: what wanders stays right, and what is mended is right and a slice smaller."""

from __future__ import annotations

import os
from math import prod
from random import Random

from circuitcheck.placing.annealing import weighed_with, wrong
from circuitcheck.placing.bounds import Bounds, places_of
from circuitcheck.placing.box import Box, box_of, fill, lift_unfit, with_slice
from circuitcheck.placing.compiled import PLAIN, Fast, compiled
from circuitcheck.placing.grid import AIR, KIND, LEVER, STAYS
from circuitcheck.placing.task import Task, drawn_task_of
from circuitcheck.placing.tempering import at_work
from circuitcheck.placing.thinning import PATIENCE, Change, Line, Slice, anneal_from_warm, slices_of

from .test_draw import SPREAD
from .test_moves import assert_all_can_stand

ANY = Bounds()


def roomy(fast: Fast = PLAIN) -> Box:
    """A right layout that leaves room, drawn by hand."""
    task = drawn_task_of(SPREAD, "mill.circuit", ".")
    assert isinstance(task, Task)
    assert task.drawn is not None
    box = box_of(task.problem, task.drawn.size, fast.rows)
    fill(box, task.drawn.things, {number: task.where[name] for number, name in enumerate(task.problem.names)})
    fast.read(box.memory)
    assert not wrong(box.memory)
    return box


def line_of(box: Box, fast: Fast = PLAIN, seed: int = 1, bounds: Bounds = ANY) -> Line:
    line = Line(fast, True, Random(seed).randrange, bounds.fits)
    line.begin(box)
    return line


def test_what_wanders_stays_right_and_leaves_its_slice() -> None:
    box, gone = roomy(), Change(Slice(2, 3), ())
    attempt = line_of(box).wander(gone, 1_500, 5, None)
    came = anneal_from_warm(attempt)
    assert came.moves == 1_500
    assert came.layout is not None
    wandered = Box(box.problem, box.size, at_work(came.layout, box.memory, PLAIN))
    PLAIN.read(wandered.memory)
    assert wrong(wandered.memory) == 0
    assert_all_can_stand(wandered)
    assert weighed_with(wandered.memory, attempt.leaves) < weighed_with(box.memory, attempt.leaves)


def test_what_is_mended_is_right_and_smaller() -> None:
    line, mended, wider = line_of(roomy()), 0, 0
    for seed in range(1, 9):
        [change] = line.chosen(1, 1)
        size = [int(side) for side in str(line).split(" = ")[0].split(" x ")]
        cut = line.cut(change, anneal_from_warm(line.wander(change, 500, seed, None)))
        assert places_of(cut.size) < prod(size)
        size[change.gone.axis] -= 1
        for new in change.new:
            size[new.axis] += 1
        assert cut.size == tuple(size)
        wider += bool(change.new)
        made = line.mended(cut, anneal_from_warm(line.mend(cut, 1_500, seed, None)))
        if made is not None:
            mended += 1
            assert wrong(made.memory) == 0
            assert places_of(made.size) <= places_of(cut.size)
            assert_all_can_stand(made)
            line.go_on(made)
    assert mended
    assert wider


def test_a_box_is_made_wider_elsewhere_only_as_far_as_is_allowed() -> None:
    box = roomy()
    for bounds, some in ((Bounds(), True), (Bounds(*box.size), False)):
        changes = [change for seed in range(60) for change in line_of(box, seed=seed, bounds=bounds).chosen(2, 1)]
        assert any(change.new for change in changes) is some


def test_an_empty_slice_takes_nothing_away_but_what_it_held() -> None:
    box = roomy()
    for axis in range(3):
        for before in range(1, box.size[axis] + 2):
            made = with_slice(box, axis, before)
            lift_unfit(made, by_hand=True)
            assert_all_can_stand(made)
            kinds = [made.memory[KIND + made.number(at)] for at in made.places() if at[axis] != before]
            same = [box.memory[KIND + box.number(at)] for at in box.places()]
            assert all(after in (AIR, kind) for after, kind in zip(kinds, same, strict=True))
            if before in (1, box.size[axis] + 1):
                hidden = [kind for kind, after in zip(same, kinds, strict=True) if kind != after]
                assert set(hidden) <= {LEVER}  # which a hand would not reach any more


def test_slices_are_those_that_nothing_stays_in() -> None:
    box = roomy()
    there = [at for at in box.places() if box.memory[KIND + box.number(at)] != AIR]
    box.memory[STAYS + box.number(there[0])] = 1
    found = slices_of(box)
    assert found
    for axis in range(3):
        assert Slice(axis, there[0][axis]) not in found
    for gone, filled in found.items():
        assert filled >= sum(at[gone.axis] == gone.number for at in there[1:])


def test_a_line_that_leads_no_further_is_begun_anew() -> None:
    first = roomy()
    line = line_of(first)
    second = Box(first.problem, first.size, list(first.memory))
    line.go_on(second)
    for _ in range(PATIENCE):
        line.chosen(1, 1)
        assert line._now is second
    line.chosen(1, 1)
    assert line._now is first


def test_an_attempt_ends_in_time() -> None:
    line = line_of(roomy())
    assert anneal_from_warm(line.wander(Change(Slice(0, 1), ()), 10**9, 1, until=0.0)).moves == 0


if "CIRCUITCHECK_COMPILED" in os.environ:

    def test_attempts_come_to_the_same_compiled_or_not() -> None:
        for seed in (1, 2, 3):
            plain, fast = (
                anneal_from_warm(line_of(roomy(each), each).wander(Change(Slice(2, 3), ()), 1_000, seed, None))
                for each in (PLAIN, compiled())
            )
            assert plain.moves == fast.moves
            assert plain.layout is not None
            assert fast.layout is not None
            for one, other in zip(plain.layout, fast.layout, strict=True):
                assert list(one) == list(other)
