"""Cells are drawn after the waits of a gt and before its strokes: the response of a machine in which things move.

The law is scipy's geometric one. Common practice, no source: C2 (the moments of a gt), M3 (a stroke lands 2 gt after
its start), W10 (a cell that changes updates the piston beside it, which starts in the same gt).
"""

from __future__ import annotations

import pytest
from scipy import stats

from circuitcheck.chance.days.replay import ENGINE_LATER, replay
from circuitcheck.chance.days.together import Plan
from circuitcheck.chance.days.walk import Watching
from circuitcheck.chance.first_edge.response import respond
from circuitcheck.model.claims import Atom, Test

from .laws import BY_NIGHT, circuit_of

CHANCE = 1 / 64
BED = (
    BY_NIGHT.format(length=600).replace("language 1\n", "language 1\ncircuit bed\n")
    + """rules newer
legend
  .  air
  S  block
  X  block
  a  sensor  becomes off chance 1/64         named first
  b  sensor  becomes off chance 1/1 below 4  named second
  p  piston  facing east  starts off  named push
  q  piston  facing east  starts off  named answer
  *  torch
end

drawing
  layer 1
    SSSSSSSSS
    SSSSbq.SS
    SSSSSSSSS
  end
  layer 2
    ..S..*...
    SapX.....
    .........
  end
  layer 3
    ..*......
    .........
    .........
  end
end
"""
)
"""The first cell makes its piston push a block over the second, which is then sure to change when it is drawn."""


@pytest.mark.parametrize(("part", "later"), [("push", 2), ("answer", 5)])
def test_a_piston_starts_in_the_gt_of_the_draw_and_a_draw_sees_what_landed_in_an_earlier_gt(
    part: str, later: int
) -> None:
    """Drawn in g, landed in g + 2; the second cell is in the dark when drawn in g + 3; its piston lands in g + 5."""
    found = respond(circuit_of(BED), "night", Atom(part, Test.RISES))
    assert found.exact
    for time in (1, later, later + 1, later + 2, 20, 200):
        expected = stats.geom.cdf(time - later, CHANCE)
        assert found.distribution.within(time) == pytest.approx(expected, abs=1e-9)


def test_days_have_their_edges_in_the_gt_in_which_the_engine_has_them() -> None:
    watching = Watching((Atom("push", Test.RISES), Atom("answer", Test.RISES)), ("night", "night"))
    plan = Plan(circuit_of(BED), watching, 6, 1)
    for run in range(plan.runs):
        found = replay(plan, run, 0)
        for edge, times in zip(watching.edges, found.lived.edges, strict=True):
            simulated = [at - ENGINE_LATER for at, level in found.recording.edges_of(edge.name) if level]
            assert list(times) == simulated
            assert times
