"""Where runs of things that move end early, and what is only felt because a stroke changes the wiring.

Common practice, from memory, no source: M7, M9, D1.
"""

from __future__ import annotations

import pytest

import circuitcheck
from circuitcheck.engine.program import Program
from circuitcheck.engine.refused import RunRefused
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import the_start

LEGEND = """language 1
circuit edges
legend
  .  air
  S  block
  F  block     fixed
  B  block     named stone
  i  lever     named rope
  I  lever     starts on
  P  piston    facing east  sticky  named flap
  Q  piston    facing east  starts on  named wedged
  v  repeater  facing south  starts on  named feed
  -  dust      named line
  w  detector  facing south  delay 1t  pulse 1t  named felt
  O  lamp      named bell
end
drawing
  layer 1
    SSSSS, 6 times
  end
  layer 2
"""


def drawn(*rows: str, checks: str = "") -> str:
    return LEGEND + "".join(f"    {row}\n" for row in rows) + "  end\nend\n" + checks


def test_a_piston_that_starts_out_where_nothing_can_move_is_refused_with_its_place() -> None:
    program = Program(circuitcheck.loads(drawn("IQF..", ".....", ".....", ".....", ".....", ".....")).circuit)
    with pytest.raises(RunRefused) as refused:
        Simulator(program, 0, the_start(program).levels)
    assert (refused.value.rule, refused.value.name, refused.value.at) == ("M7", "wedged", (2, 1, 2))


def test_a_detector_feels_that_dust_goes_dark_because_a_stroke_has_cut_its_line() -> None:
    """The stroke starts in gt 11 and cuts the line; the pulse comes 1t later, for 1t (M3, M9, D1)."""
    check = 'check "felt"\n  at 10gt  rope on\n  from 0gt to 12gt  expect felt off\n  from 13gt to 14gt  expect felt\n'
    check += "  from 15gt to 30gt  expect felt off\nend\n"
    text = drawn("..I..", "..v..", "iPB..", "..-..", "..w..", "..O..", checks=check)
    report = circuitcheck.verify_text(text)
    assert report.diagnostics == ()
    assert [each.verdict.value for each in report.outcomes] == ["holds"]


TWO_LEVERS = """language 1
circuit waiting
legend
  .  air
  S  block
  a  lever   named first
  b  lever   named second
  q  lever   named other
  P  piston  facing east  named beam
  Q  piston  facing west  named bar
end
drawing
  layer 1
    SSSSS, 3 times
  end
  layer 2
    a....
    PSS.Q
    b...q
  end
end
check "it looks again at whatever updates it"
  at 10gt  other on
  at 20gt  first on
  at 40gt  other off
  at 60gt  second on
  from 13gt to 40gt  expect bar
  from 43gt to 62gt  expect bar off and beam off
  at 63gt  expect beam
end
"""


def test_a_blocked_piston_that_has_power_looks_again_when_a_second_lever_beside_it_is_thrown() -> None:
    """M7, W10: the bar's head went in 41, which updates nobody near the beam; the lever does, though it has power."""
    report = circuitcheck.verify_text(TWO_LEVERS)
    assert report.diagnostics == ()
    assert [each.verdict.value for each in report.outcomes] == ["holds"]
