"""Whatever moves are made, all that stands can stand, and a move that is taken back leaves nothing behind."""

from __future__ import annotations

import pytest

from circuitcheck.language.load import load_text
from circuitcheck.placing.annealing import keep, make_move, undo
from circuitcheck.placing.bounds import Bounds
from circuitcheck.placing.box import Box, box_of
from circuitcheck.placing.compiled import PLAIN
from circuitcheck.placing.fast_reading import read, read_changes
from circuitcheck.placing.grid import (
    AMISS,
    CODE,
    COST,
    COUNT,
    DUST,
    DUSTS,
    HAVE,
    INSIDE,
    JOINED,
    KIND,
    LIGHTS,
    LIT,
    OUTER,
    PARTS,
    PLACE,
    POINTS,
    PORTS,
    WAY,
    WHO,
    Row,
    is_solid,
)
from circuitcheck.placing.problem import problem_of
from circuitcheck.placing.putting import holder_of
from circuitcheck.placing.rerouting import move_and_reroute
from circuitcheck.placing.smallest_box import Search
from circuitcheck.workers import workers

LATCHED = """\
lever pond
lever race
detector rise watches pond pulse 2t
repeater opening from rise delay 2t locked by keep
repeater keep from gate delay 4t
torch gate from race, no
torch no from gate, opening
lamp open from gate
"""


def standing(m: Row) -> tuple[list[int], ...]:
    whole = slice(KIND, KIND + 8192), slice(WAY, WAY + 8192), slice(WHO, WHO + 8192), slice(PLACE, PLACE + m[PARTS])
    return tuple(list(m[each]) for each in whole)


def read_in(m: Row) -> tuple[list[int], ...]:
    """What a layout is read as; dust is listed in no particular order, and followed only where that is asked."""
    fields = (COST, 5), (HAVE, m[PORTS]), (AMISS, m[PORTS]), *((field, 8192) for field in (LIT, POINTS, JOINED, LIGHTS))
    return *(list(m[field : field + size]) for field, size in fields), sorted(m[DUSTS : DUSTS + m[COUNT + 1]])


def assert_all_can_stand(box: Box) -> None:
    m = box.memory
    for at in map(box.number, box.places()):
        kind, part = m[KIND + at], m[WHO + at]
        if part >= 0:
            assert m[PLACE + part] == at
            assert m[CODE + part] == kind
        else:
            assert kind <= DUST
        holder = holder_of(m, kind, at, m[WAY + at])
        assert holder < 0 or is_solid(m[KIND + holder])
    outside = [at for at in range(m[0]) if not m[INSIDE + at]]
    assert not any(m[KIND + at] for at in outside)


GIVEN_OUT = """\
define less (a, b) gives high, out
  repeater way from b
  comparator spare from a side way subtract
  torch low from spare
  junction out joins low, way
  junction high joins spare, way
  check "both give"
    from 20t to 29t  expect high off
  end
end
"""


@pytest.mark.parametrize("text", [LATCHED, GIVEN_OUT], ids=["latch", "given out"])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_after_any_move_all_that_stands_can_stand_and_it_can_be_taken_back(seed: int, text: str) -> None:
    box = box_of(problem_of(load_text(text).studies[0].circuit), (3, 3, 4))
    m, rng = box.memory, [seed]
    read(m)
    kept, made = list(m), 0
    for number in range(400):
        before = standing(m), read_in(m)
        moved = move_and_reroute(m, rng, True) if number % 2 else make_move(m, rng, True)
        if moved:
            read_changes(m)
            assert_all_can_stand(box)
            again = list(m)
            read(again)
            assert read_in(m) == read_in(again)
        if moved and number % 3:
            made += 1
            assert all(m[OUTER + m[PLACE + part]] for part in (0, 1) if m[PLACE + part] >= 0)
            keep(m, kept)
            assert standing(kept) == standing(m)
        else:
            undo(m, kept)
            assert (standing(m), read_in(m)) == before
    assert made > 50


def test_what_is_found_does_not_depend_on_how_many_processes_share_the_work() -> None:
    problem = problem_of(load_text(LATCHED).studies[0].circuit)
    alone = Search(problem, Bounds(), PLAIN, 3_000).run()
    with workers(2) as executor:
        shared = Search(problem, Bounds(), PLAIN, 3_000).run(executor)
    assert alone == shared
    assert alone.boxes > 1
