"""What is advised for a drawn piston that nothing powers agrees with how pistons take power.

Common practice, no source; rules W9 and D2.
"""

from __future__ import annotations

from circuitcheck.verify import verify_text

BUILD = """legend
  .  air
  S  block
  P  piston  facing north  named gate
  O  lamp    named bell
end
drawing
  layer 1
    SSS, 2 times
  end
  layer 2
    ...
    P.O
  end
end
"""


def test_a_piston_is_not_told_to_take_power_from_behind_and_learns_how_it_can_be_stuck() -> None:
    """W9: any side but the one it faces; D2: the place above moves it at an update."""
    hints = {each.part: each.hint for each in verify_text(BUILD).findings if each.rule == "V2"}
    assert "behind" not in hints["gate"]
    assert "D2" in hints["gate"]
    assert "above" in hints["gate"]
    assert "behind" in hints["bell"]
