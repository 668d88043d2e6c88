"""Strokes that land in one gt, one after the other: whether another order would matter is asked of all of them at once.

Common practice, no source: M13, W8, R2. What is asked about is the row of `weirwatch.py`, whose blocks all land in one
gt and light one line, which a repeater reads.
"""

from __future__ import annotations

import pytest

from circuitcheck.engine import stroking
from circuitcheck.engine.memory import Memory
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start
from circuitcheck.engine.step import Action, run_game_tick
from circuitcheck.engine.stroke_effects import Bringing, Effects
from circuitcheck.engine.stroke_orders import StrokeOrders
from circuitcheck.language.load import load_text
from circuitcheck.model.unsure import collected

from .weirwatch import weirwatch

CELLS = 4
FADES, LAST = 12, 24


class Asked:
    """What is asked while a row goes out and home: by each that lands, and how often effects are worked out for it."""

    def __init__(self, patch: pytest.MonkeyPatch) -> None:
        self.answers: list[tuple[list[int], list[int]]] = []
        """What each got, and what it gets when it asks about each of the others alone and afresh."""
        self.worked_out = 0
        """How often effects were worked out for one that lands, and not for the slot in which all of them land."""
        self._counts = False
        beside, effects = stroking.landing_beside, Bringing.effects

        def landing_beside(simulator: Memory, piston: int) -> list[int]:
            self._counts = True
            found = beside(simulator, piston)
            self._counts = False
            self.answers.append((found, self._one_by_one(simulator, piston)))
            return found

        def counted(bringing: Bringing) -> Effects | None:
            self.worked_out += self._counts
            return effects(bringing)

        patch.setattr(stroking, "landing_beside", landing_beside)
        patch.setattr(Bringing, "effects", counted)

    @staticmethod
    def _one_by_one(simulator: Memory, piston: int) -> list[int]:
        motion, now = stroking.standing(simulator)
        later = [each for each in simulator.acting if simulator.program.devices[each].strokes]
        orders = StrokeOrders(motion)
        return [each for each in later if orders.colliding(simulator, now, (piston, each), simulator.order_class)]


def test_a_row_that_lands_in_one_gt_is_looked_at_once_and_the_answer_is_that_of_each_pair(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    program = Program(load_text(weirwatch(CELLS, "")).studies[0].circuit)
    asked = Asked(monkeypatch)
    simulators = Simulator(program, 0, the_start(program).levels).tell_everyone()
    fades = Action(program.number["dusk_bed.3"], "off")
    with collected():
        for gt in range(1, LAST):
            for simulator in simulators:
                simulator.now = gt
            simulators = run_game_tick(simulators, [fades] if gt == FADES else [])
    landed_out_and_home = 2
    assert len(asked.answers) >= landed_out_and_home * CELLS
    assert all(found == alone for found, alone in asked.answers)
    assert asked.worked_out == 0  # all that land in one slot were asked about together as it came up
