"""Orders and light of which the rules are only fairly sure, and which no setting has otherwise: 'holds, if' (V6).

Common practice, no source: rules M13, Z10, M4.
"""

from __future__ import annotations

import pytest

from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.model.unsure import collected
from circuitcheck.verify import verify_text

LEGEND = """legend
  .  air
  S  block
  B  block
  W  water
  *  torch     on west  named ember
  i  lever     named gear
  j  lever     named rope
  R  repeater  facing south  delay 1t  named lead
  r  repeater  facing west   delay 1t  named other_lead
  A  piston    facing below  named gate
  C  piston    facing west   named board
  P  piston    facing east   named left
  Q  piston    facing west   named right
  D  piston    facing south  named shut
  >  repeater  facing east   named heard
  d  detector  facing east   named float
  -  dust
  O  lamp      named bell
end
"""
CHANNEL = f"""{LEGEND}
drawing
  layer 1
    SSSSSSSSS, 4 times
  end
  layer 2
    SSSSSSSSS, 2 times
    SW......d
    SSSSSSSSS
  end
  layer 3
    .....j...
    ..i..{{lead}}...
    ..A..C...
    .........
  end
end
"""
"""The gate's head comes into a channel; the board's head above it, in the same gt, only updates the water below."""
TWO_SIDES = f"""{LEGEND}
drawing
  layer 1
    SSSSSSSSSS
    SSS*S*SSSS
  end
  layer 2
    ..........
    iPB.O.BQrj
  end
end
"""
"""Two blocks that come to the two sides of a lamp, each over a torch."""
CUT_AS_JOINED = f"""{LEGEND}
drawing
  layer 1
    SSSSSSSS, 2 times
    SSS*SSSS
  end
  layer 2
    SSSSSSSS, 2 times
    iPB.-SSS
  end
  layer 3
    ....Drj.
    ....B...
    .....->O
  end
end
"""
"""One block comes over a torch and lights a step of dust; another comes above the lower dust and cuts that step."""
TOGETHER = """
check "both start in one gt, one after the other"
  at 9gt   rope on
  at 10gt  gear on
  by 40gt  expect {holds}
  until 60gt
end
"""
APART = TOGETHER.replace("at 10gt", "at 20gt")


def outcome(text: str) -> Outcome:
    report = verify_text(text)
    assert not report.diagnostics
    (found,) = report.outcomes
    return found


def rules_of(found: Outcome) -> list[str]:
    return [each.rule for each in found.given if each.otherwise is None]


def test_looks_of_one_gt_that_the_rules_put_in_order_are_in_doubt_where_the_order_decides() -> None:
    """The gate is called in gt 10 and the board in 11: both start in 11, and what they update looks in 16. Beside each
    other stand water at 6 that was cut off and water at 5 behind it: which looks first decides what is left (Z10, Z6).
    """
    found = outcome("rules newest\n" + CHANNEL.format(lead="R") + TOGETHER.format(holds="gate and board"))
    assert found.verdict is Verdict.HOLDS_IF
    assert rules_of(found) == ["Z10"]


def test_looks_that_come_to_the_same_in_either_order_leave_no_doubt() -> None:
    """Behind the gate's head lies one place of water only: it dries, and there is nothing to be before or after."""
    short = CHANNEL.format(lead="R").replace("SW......d", "SW..SSSSd")
    found = outcome("rules newest\n" + short + TOGETHER.format(holds="gate and board"))
    assert found.verdict is Verdict.HOLDS


FACING = f"""{LEGEND.replace("  O  lamp      named bell", "  b  detector  facing west   named other_float")}
drawing
  layer 1
    SSSSSSSSSSSSS, 4 times
  end
  layer 2
    SSSSSSSSSSSSS, 2 times
    SW..dP.Qb..WS
    SSSSSSSSSSSSS
  end
  layer 3
    ..........j..
    ..i.......R..
    ..A.......V..
    .............
  end
end
"""
"""Two channels, cut by gate and board; what is left of each looks in gt 16 and updates a float, and the floats pulse in
18. Each float drives one of two pistons that face each other over one place, which is taken by the first (M7)."""


@pytest.mark.parametrize(("other", "verdict"), [("at 9gt", Verdict.HOLDS_IF), ("at 13gt", Verdict.HOLDS)])
def test_looks_are_in_doubt_where_the_order_of_whom_they_update_may_decide(other: str, verdict: Verdict) -> None:
    """No look reads what the other changes, but who waits first in gt 16 acts first in 18."""
    text = FACING.replace("  C  piston    facing west   named board", "  V  piston    facing below  named board")
    found = outcome("rules newest\n" + text + TOGETHER.replace("at 9gt", other).format(holds="gate and board"))
    assert found.verdict is verdict
    assert rules_of(found) == (["Z10"] if verdict is Verdict.HOLDS_IF else [])


def test_landings_in_one_gt_are_in_doubt_where_their_order_decides() -> None:
    """Both start in gt 11 and land in 13 (M13): if the light comes first, the repeater is called before it is cut."""
    found = outcome("rules newer\n" + CUT_AS_JOINED + TOGETHER.format(holds="left and shut"))
    assert found.verdict is Verdict.HOLDS_IF
    assert rules_of(found) == ["M13"]


def test_landings_in_other_gt_leave_no_doubt() -> None:
    found = outcome("rules newer\n" + CUT_AS_JOINED + APART.format(holds="left and shut"))
    assert found.verdict is Verdict.HOLDS


def test_landings_that_come_to_the_same_in_either_order_leave_no_doubt() -> None:
    """The lamp feels both, and is lit by whichever comes first."""
    found = outcome("rules newer\n" + TWO_SIDES + TOGETHER.format(holds="bell"))
    assert found.verdict is Verdict.HOLDS


def test_landings_that_nobody_feels_together_leave_no_doubt() -> None:
    alone = TWO_SIDES.replace("    SSSSSSSSSS", "    SSSSSSSSSSSSSSS").replace("SSS*S*SSSS", "SSS*SSSSSSS*SSS")
    alone = alone.replace("    ..........", "    ...............").replace("iPB.O.BQrj", "iPB.O......BQrj")
    found = outcome("rules newer\n" + alone + TOGETHER.format(holds="bell and right"))
    assert found.verdict is Verdict.HOLDS


SHADE = """rules older
cycle 1200s day 500s, dusk 100s, night 500s, dawn 100s
legend
  .  air
  S  block
  W  water
  B  block
  m  sensor    fades  named turf
  P  piston    facing east  named shutter
  i  lever     named gear
  d  detector  facing east  named eye
  o  lamp      named bell
end
drawing
  layer 1
    SSSSSSSS
    SSSSmdoS
    SSSSSSSS
  end
  layer 2
    SSSSSSSS
    SSSSWSSS
    SSSSSSSS
  end
  layer 3
    ........
    .iP{block}....
    ........
  end
end
response of dusk to bell: 1% within 1000s
"""


@pytest.mark.parametrize(("block", "doubt"), [("B", True), (".", False)])
def test_a_response_in_which_a_moved_block_has_a_say_in_the_light_is_in_doubt(block: str, doubt: bool) -> None:
    """While it moves, light passes it as air (M4, fairly); it is taken to stand where it was."""
    with collected() as found:
        outcome(SHADE.format(block=block))
    assert ("lit_in_motion" in found) is doubt
