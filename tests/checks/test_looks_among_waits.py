"""Water that looks among the waits of class 4 or after them: in doubt where that decides (V6). Common practice, no
source: rule Z2, and example 9 of flowing for the moments.
"""

from __future__ import annotations

import pytest

from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.verify import verify_text

BUILD = """rules {rules}
legend
  .  air
  S  block
  ~  water
  p  piston    facing below  named paddle
  i  lever     named rope
  j  lever     named catch
  k  lever     starts on named wick
  P  piston    facing south  sticky named bell
  <  detector  facing west   named eye
  O  lamp      named lantern
end
drawing
  layer 1
    SSSSSSSSSSSSS, 4 times
  end
  layer 2
    SSSSSSSSSSSSS
    S~.......PSSS
    SSSSSSSSS.SSS
    SSSSSSSSSSSSS
  end
  layer 3
    .............
    ..pS.......SS
    kO...........
    .............
  end
  layer 4
    .............
    ...i.....S<j.
    .............
    .............
  end
end
check "the bell is armed as the water comes"
  at 10gt         rope on
  at 80gt         rope off
  at {armed}gt    catch on
  at {darkens}gt  wick off
  at {gone}gt     expect bell
end
"""
"""The last place beside the bell is wet in gt 116 (example 9), which updates the bell; its look began in 111. The eye
arms the bell for 2 gt by a block that it does not hear, 2 gt after its lever; its wait is of class 4."""


def outcome(rules: str, armed: int, darkens: int = 60, gone: int = 119) -> Outcome:
    report = verify_text(BUILD.format(rules=rules, armed=armed, darkens=darkens, gone=gone))
    assert not report.diagnostics
    (found,) = report.outcomes
    return found


@pytest.mark.parametrize(("rules", "verdict"), [("newer", Verdict.FAILS_IF), ("newest", Verdict.HOLDS_IF)])
def test_a_look_that_began_before_what_acts_in_its_gt_comes_first_only_among_waits(
    rules: str, verdict: Verdict
) -> None:
    """Under newer the update comes before the bell is armed in the same gt, which is not certain; newest is."""
    found = outcome(rules, armed=114)
    assert found.verdict is verdict
    tried = {(each.rule, each.otherwise) for each in found.given if each.tried}
    assert tried == ({("Z2", Verdict.HOLDS)} if rules == "newer" else set())


@pytest.mark.parametrize(("armed", "good"), [(113, True), (115, False)])
def test_a_look_a_gt_before_or_after_leaves_no_doubt(armed: int, good: bool) -> None:
    found = outcome("newer", armed)
    assert (found.verdict is Verdict.HOLDS_IF) is good
    assert "class_4" not in found.relied


def test_what_acts_in_the_gt_of_a_look_and_comes_to_the_same_after_it_leaves_no_doubt() -> None:
    """The lantern goes dark in gt 116 as well, 4 gt after its lever, and nobody feels that."""
    assert "class_4" not in outcome("newer", armed=113, darkens=112).relied
