"""A block that a stuck piston leaves out, and the light on cells that it would let through.

Common practice, no source: rules M1, M4, M6, G3. A block is the roof of a shaft above a cell; while the piston is out,
its head is the roof. Once the piston is home without its block, the sun comes in.
"""

from __future__ import annotations

import pytest

from circuitcheck.checks.outcome import Verdict
from circuitcheck.verify import verify_text

from .building import shaft

ROOF = (
    """language 1
circuit roof
legend
  .  air
  S  block
  a  lever     named arm
  k  lever     named tap
  r  repeater  facing east  delay 1t  named tick
  P  piston    facing east  named bolt
  t  sensor    fades  grows  named turf
  d  detector  facing east  named ear
  o  lamp      named bell
end
drawing"""
    + shaft("SSStdoS")
    + """
  layer 3
    .......
    ..PS...
    kr.....
  end
  layer 4
    .......
    .S.....
    .......
  end
  layer 5
    .......
    .a.....
    .......
  end
end
check "out and home"
"""
)
LONG = """  at 10gt           arm on
  at 20gt           tap on
  at 30gt           arm off
  at 40gt           tap off
  from 25gt to 40gt expect bolt
  from 46gt to 60gt expect bolt off
end
"""
SHORT = """  at 10gt           arm on
  at 20gt           tap on
  at 22gt           tap off
  at 23gt           arm off
  from 27gt to 60gt expect bolt off
end
"""
STICKY = ("named bolt", "sticky  named bolt")


def judged(text: str) -> tuple[Verdict, list[tuple[str, str]]]:
    """What the check comes to, and the rules and parts of what is found of its run."""
    result = verify_text(text)
    assert not result.diagnostics, result.diagnostics
    found = [(each.rule, each.part) for each in result.findings if each.rule == "M4"]
    return result.outcomes[0].verdict, found


def test_a_plain_piston_leaves_its_block_and_the_run_ends_there() -> None:
    assert judged(ROOF + LONG) == (Verdict.UNDECIDED, [("M4", "bolt")])


def test_a_sticky_piston_that_pulls_its_block_home_leaves_the_light_as_it_was() -> None:
    verdict, found = judged((ROOF + LONG).replace(*STICKY))
    assert verdict in (Verdict.HOLDS, Verdict.HOLDS_IF)
    assert found == []


def test_a_short_stroke_of_a_sticky_piston_leaves_it_too() -> None:
    assert judged((ROOF + SHORT).replace(*STICKY)) == (Verdict.UNDECIDED, [("M4", "bolt")])


@pytest.mark.parametrize(
    "change", [("    SSS.SSS", "    SSSSSSS"), ("t  sensor    fades  grows  named turf", "t  block")]
)
def test_where_no_cell_sees_the_block_the_run_goes_on(change: tuple[str, str]) -> None:
    """The shaft is shut below the roof; or there is no cell."""
    verdict, found = judged((ROOF + LONG).replace(*change))
    assert verdict is not Verdict.UNDECIDED
    assert found == []


def test_a_piston_that_is_not_stuck_has_a_part_that_says_where_its_block_is() -> None:
    """A lever right beside it: its block stays out as well, and light follows that."""
    beside = (ROOF + LONG).replace("    ..PS...\n    kr.....", "    .kPS...\n    .......")
    beside = beside.replace("  r  repeater  facing east  delay 1t  named tick\n", "")
    assert "tick" not in beside
    verdict, found = judged(beside.replace("from 25gt to 40gt", "from 25gt to 39gt"))
    assert verdict is not Verdict.UNDECIDED
    assert found == []


def test_a_block_is_seen_though_with_all_else_at_home_another_would_shut_it_off() -> None:
    """A second roof right above the cell is pushed aside, and left there, before the first one is left out."""
    two = (ROOF + LONG).replace("SSS.SSS\n    SSSSSSS", "SSS.SSS\n    SSSQbSS", 1)
    two = two.replace("  P  piston", "  Q  piston    facing north\n  b  lever     named bar\n  P  piston", 1)
    two = two.replace("  at 10gt", "  at 2gt            bar on\n  at 6gt            bar off\n  at 10gt", 1)
    assert judged(two) == (Verdict.UNDECIDED, [("M4", "bolt")])
