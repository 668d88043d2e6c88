"""What is left out of a proof about a machine in which things move has no say in the rest, on random boxes and a demo.

`CIRCUITCHECK_BOXES=10000 python -m pytest tests/moving/test_what_has_a_say.py` compares so many boxes instead of a few.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from pathlib import Path

import pytest

from circuitcheck.engine.program import Program
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.engine.work import Undecided
from circuitcheck.prove.influence import Influence, until_wide_enough

from .engine_runs import Unread, circuit_of
from .plain.boxes import Case, cases
from .plain.things import Settings

CIRCUITS = Path(__file__).resolve().parents[2] / "circuits"
BOXES = int(os.environ.get("CIRCUITCHECK_BOXES", "48"))
BATCHES = 4

Seen = list[set[tuple[int, ...]]]
"""In each gt, the levels of some parts in all that can be."""


def seen(
    program: Program, levels: bytes, names: Sequence[str], acts: Sequence[tuple[int, str, str]], until: int
) -> Seen:
    simulators, shown = Simulator(program, 0, levels).tell_everyone(), Seen()
    for gt in range(1, until + 1):
        for simulator in simulators:
            simulator.now = gt
        worked = [Action(program.number[name], verb) for at, name, verb in acts if at == gt and name in program.number]
        simulators = merge(run_game_tick(simulators, worked))
        shown.append({tuple(each.levels[program.number[name]] for name in names) for each in simulators})
    return shown


def left_out(case: Case) -> int:
    """How many devices were left out in all, of a box of which each device was run with all that has a say in it."""
    circuit = circuit_of(case.box, Settings())
    program, drawing = Program(circuit), circuit.drawing
    if program.motion is None:
        return 0
    assert drawing is not None
    called = {thing.name: drawing.name(place) for place, thing in case.box.things.items()}
    acts = [(action.gt, called[action.name], "on" if action.level else "off") for action in case.actions]
    levels, influence, count = the_start(program).levels, Influence(program), 0
    whole = seen(program, levels, program.names, acts, case.until)
    for device in range(len(program.devices)):

        def alone(device: int = device) -> tuple[tuple[int, ...], Seen]:
            inside = influence.cone((device,))
            names = [program.names[each] for each in inside]
            part = influence.alone(inside)
            return inside, seen(part, bytes(levels[each] for each in inside), names, acts, case.until)

        inside, shown = until_wide_enough(alone)
        count += len(program.devices) - len(inside)
        assert shown == [{tuple(each[number] for number in inside) for each in all_} for all_ in whole], device
    return count


@pytest.mark.parametrize("batch", range(BATCHES))
def test_a_part_runs_alone_as_it_does_among_all_that_has_no_say_in_it(batch: int) -> None:
    compared = left = 0
    for case in cases(700 + batch, BOXES // BATCHES):
        try:
            left += left_out(case)
        except (Unread, RunRefused, Undecided):
            continue
        compared += 1
    assert compared > BOXES // BATCHES // 3
    assert left > 0
