"""The program against the plain stepper, on random boxes in which pistons matter: all that can be at each end of a gt.

`CIRCUITCHECK_BOXES=10000 python -m pytest tests/moving/test_engine_boxes.py` compares so many boxes instead of a few,
and `CIRCUITCHECK_SEED=70000` beside it others.
"""

from __future__ import annotations

import os
from dataclasses import replace

import pytest

from .engine_runs import Runs, Unread
from .plain.boxes import Case, cases
from .plain.runs import Follower, Open, Shot
from .plain.things import Settings

BATCHES = 8
BOXES = int(os.environ.get("CIRCUITCHECK_BOXES", "120"))
SEED = int(os.environ.get("CIRCUITCHECK_SEED", "0"))
HANDS_FIRST = Settings(outside_first=True)
LANDS_AS_WAIT = Settings(piston_lands="wait")


def without_water(shot: Shot) -> Shot:
    return replace(shot, water=())


def differs(case: Case, settings: Settings) -> str:
    """What differs first, and when; nothing if nothing does. Raises Unread and Open."""
    actions = [replace(action, drawn=action.name.startswith("sensor")) for action in case.actions]
    runs, plain = Runs(case.box, settings), Follower(case.box, settings)
    for gt in range(case.until + 1):
        mine = [action for action in actions if action.gt == gt]
        expected = {without_water(shot) for shot in plain.step(mine)}
        found = {without_water(runs.shot(simulator)) for simulator in runs.step(mine)}
        refused = (
            {(each.rule, each.at) for _, each in runs.refused},
            {(each.rule, each.place) for each in plain.refused},
        )
        if refused[0] or refused[1]:
            # The program gives up at the first order that is refused, so it may say fewer mistakes, but no others.
            alike = refused[0] and refused[0] <= refused[1]
            return "" if alike else f"in {gt}gt one refuses {refused[0]} and the other {refused[1]}"
        if found != expected:
            return f"in {gt}gt there is {found - expected} and not {expected - found}"
    return ""


@pytest.mark.parametrize("batch", range(BATCHES))
def test_both_show_the_same_at_the_end_of_each_gt(batch: int) -> None:
    settings = HANDS_FIRST if batch % 4 == 3 else LANDS_AS_WAIT if batch % 4 == 2 else Settings()
    compared = moved = 0
    for number, case in enumerate(cases(100 + SEED + batch, BOXES // BATCHES, settings, water=0)):
        try:
            found = differs(case, settings)
        except (Unread, Open):
            continue
        assert not found, (batch, number, found)
        compared += 1
        moved += case.moves
    assert compared > BOXES // BATCHES * 0.6
    assert moved > compared // 2
