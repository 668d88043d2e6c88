"""The program against the plain stepper on random boxes with water: what one shows, the other can show.

Water leaves many orders open, so of each run one order is followed at random, and the other must be able to follow it.

`CIRCUITCHECK_BOXES=10000 python -m pytest tests/moving/test_engine_water.py` compares so many boxes instead of a few,
and `CIRCUITCHECK_SEED=70000` beside it others.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import replace
from random import Random

import pytest

from circuitcheck.engine.step import TooManyStates

from .engine_runs import Runs, Unread
from .plain.boxes import Case, cases
from .plain.runs import Follower, Open, shot
from .plain.things import Action, Settings

BATCHES = 4
BOXES = int(os.environ.get("CIRCUITCHECK_BOXES", "32"))
SEED = int(os.environ.get("CIRCUITCHECK_SEED", "0"))


def actions_of(case: Case, gt: int) -> Sequence[Action]:
    """What is done in a gt; cells change as chance has it, since hands don't change them."""
    mine = [action for action in case.actions if action.gt == gt]
    return [replace(action, drawn=action.name.startswith("sensor")) for action in mine]


def only_here(case: Case, settings: Settings, chance: Random) -> str:
    """What the program does that the stepper can't; nothing if there is nothing. Raises Unread and Open."""
    runs, plain = Runs(case.box, settings), Follower(case.box, settings)
    for gt in range(case.until + 1):
        expected, found = plain.step(actions_of(case, gt)), runs.step(actions_of(case, gt))
        if any(each.rule == "edge" for each in plain.refused):
            return ""
        refused = {(each.rule, each.at) for _, each in runs.refused}
        if refused:
            missing = refused - {(each.rule, each.place) for each in plain.refused}
            return f"in {gt}gt it refuses {missing}" if missing else ""
        chosen = chance.choice(found)
        now = runs.shot(chosen)
        if now not in expected:
            return f"in {gt}gt there is {now} and not {expected}"
        runs.simulators = [chosen]
        plain.worlds = [world for world in plain.worlds if shot(world) == now]
    return ""


def only_there(case: Case, settings: Settings, chance: Random) -> str:
    """What the stepper does that the program can't; nothing if there is nothing. Raises Unread and Open.

    Levels of water that no part feels don't count: nothing comes out otherwise for them (`space.unfelt`).
    """
    runs, plain = Runs(case.box, settings), Follower(case.box, settings)
    for gt in range(case.until + 1):
        plain.step(actions_of(case, gt))
        found = runs.step(actions_of(case, gt))
        if any(each.rule == "edge" for each in plain.refused):
            return ""
        refused = {(each.rule, each.at) for _, each in runs.refused}
        missing = {(each.rule, each.place) for each in plain.refused} - refused
        if missing or refused:
            return f"in {gt}gt it does not refuse {missing}" if missing and not refused else ""
        chosen = chance.choice(plain.worlds)
        expected = runs.felt(shot(chosen))
        fitting = [simulator for simulator in found if runs.felt(runs.shot(simulator)) == expected]
        if not fitting:
            return f"in {gt}gt there is no {shot(chosen)}"
        runs.simulators, plain.worlds = fitting, [chosen]
    return ""


@pytest.mark.parametrize("batch", range(BATCHES))
def test_what_water_does_here_it_can_do_there_and_the_other_way_round(batch: int) -> None:
    settings = Settings(water_looks="after_waits") if batch % 2 else Settings()
    chance = Random(900 + batch)
    compared = flowed = 0
    for number, case in enumerate(cases(300 + SEED + batch, BOXES // BATCHES, settings, water=1)):
        try:
            found = only_here(case, settings, chance) or only_there(case, settings, chance)
        except (Unread, Open, TooManyStates):
            continue
        assert not found, (batch, number, found)
        compared += 1
        flowed += bool(case.box.water)
    assert compared > BOXES // BATCHES * 0.5
    assert flowed > compared // 2
