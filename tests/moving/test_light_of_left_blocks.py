"""A block that a stuck piston leaves out, and the light on cells that it lets through.

Common practice, no source: rules M1, M4, M6, G3. A block is the roof of a shaft above a cell; while the piston is out,
its head is the roof. Once the piston is home without its block, the sun comes in. Where the block is pushed on, or more
blocks come and go than light can follow, it is said that light does not follow it; runs go on, as they don't go by it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import groupby

import pytest

from circuitcheck.chance.machine.joint import TooLarge
from circuitcheck.chance.machine.moving_chain import MovingChain
from circuitcheck.checks.outcome import Verdict
from circuitcheck.diagnostics import NOWHERE, error
from circuitcheck.engine.program import Program
from circuitcheck.language.load import load_text
from circuitcheck.model.drawing import At
from circuitcheck.model.light import FULL_SUN
from circuitcheck.model.parts.cells import Cell
from circuitcheck.space.daylight import Lit, lit_places
from circuitcheck.space.light import Flowing, Head, Moved
from circuitcheck.space.room import Room
from circuitcheck.verify import verify_text

from .building import checked, shaft

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


AWAY = "what 'bolt' has moved is at layer 3, row {row}, column 5, and the light on cells does not follow it (M4)"


def not_followed(text: str) -> list[str]:
    """What is said of a check's run, which comes to its end: what the light on cells does not follow."""
    study = load_text(text).studies[0]
    result, program = verify_text(text), Program(study.circuit)
    assert result.outcomes[0].verdict in (Verdict.HOLDS, Verdict.HOLDS_IF), result.outcomes[0]
    assert program.motion is not None
    now = [simulator.configuration for (simulator,) in checked(program, study.checks[0])]
    said = [program.motion.strays.seen(each) for each in now if each is not None]
    return [each for each, _ in groupby(said)]


def test_what_a_piston_leaves_out_or_pulls_home_is_followed() -> None:
    assert not_followed(ROOF + LONG) == [""]
    assert not_followed((ROOF + LONG).replace(*STICKY)) == [""]
    assert not_followed((ROOF + SHORT).replace(*STICKY)) == [""]


def test_where_more_blocks_come_and_go_than_light_can_follow_what_is_left_out_is_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """One part is followed at most here: then the block is taken to be where the piston is."""
    monkeypatch.setattr("circuitcheck.space.daylight.MOST_COMING", 1)
    assert not_followed(ROOF + LONG) == ["", AWAY.format(row=2)]
    assert not_followed((ROOF + LONG).replace(*STICKY)) == [""]
    assert not_followed((ROOF + SHORT).replace(*STICKY)) == ["", AWAY.format(row=2)]


ASIDE = (
    (ROOF + LONG)
    .replace("    .......\n    ..PS...", "    ....Qb.\n    ..PS...")
    .replace("  P  piston", "  Q  piston    facing south  named bar\n  b  lever     named pull\n  P  piston")
    .replace("  at 40gt           tap off", "  at 40gt           tap off\n  at 50gt           pull on")
)
"""Another piston pushes the block on, once it has been left out."""


def test_a_block_that_is_pushed_on_is_not_followed() -> None:
    assert not_followed(ASIDE) == ["", AWAY.format(row=3)]


@pytest.mark.parametrize(
    "change", [("    SSS.SSS", "    SSSSSSS"), ("t  sensor    fades  grows  named turf", "t  block")]
)
def test_where_no_cell_sees_the_block_it_does_not_matter(
    change: tuple[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The shaft is shut below the roof; or there is no cell."""
    assert not_followed(ASIDE.replace(*change)) == [""]
    monkeypatch.setattr("circuitcheck.space.daylight.MOST_COMING", 1)
    assert not_followed((ROOF + LONG).replace(*change)) == [""]


FETCHED = (
    (ROOF + LONG)
    .replace(*STICKY)
    .replace("..PS...", "..P.S..")
    .replace("SSStdoS", "SSSStdo")
    .replace("SSS.SSS", "SSSS.SS")
)
"""The roof lies one place farther off: no stroke out moves it, and the first one home fetches it."""
CAP = (
    (ROOF + LONG)
    .replace("..PS...", "..PC...")
    .replace("  P  piston", "  C  piston    facing above  named cap\n  P  piston")
)
"""The roof is a piston, which no one calls."""


@pytest.mark.parametrize(
    ("text", "shut", "what"),
    [
        (FETCHED, "SSSS.SS", "layer 3, row 2, column 5 is at layer 3, row 2, column 4"),
        (CAP, "SSS.SSS", "layer 3, row 2, column 4 is at layer 3, row 2, column 5"),
    ],
    ids=["fetched", "a piston"],
)
def test_what_no_first_stroke_moves_is_not_followed(text: str, shut: str, what: str) -> None:
    """Common practice, no source: M1. It lets the sun in, and no finding says that it is read at home."""
    assert not_followed(text)[-1] == f"what stood at {what}, and the light on cells does not follow it (M4)"
    assert not_followed(text.replace(shut, "SSSSSSS")) == [""]


ELSEWHERE = (
    ROOF.partition("drawing")[0].replace("  r  repeater  facing east  delay 1t  named tick\n", "")
    + """drawing
  layer 1
    SSSSSSS, 2 times
    SSStdoS
    SSSSSSS
  end
  layer 2
    SSSSSSS, 2 times
    SSS.SSS
    SSSSSSS
  end
  layer 3
    .aQ....
    ..P....
    .k.....
    .......
  end
end
check "moved aside, then out"
  at 10gt expect bolt off
  at 10gt arm on
  at 20gt tap on
  at 30gt expect bolt
end
"""
).replace("  P  piston", "  Q  piston    facing south  named bar\n  P  piston")
"""A piston is moved aside, and its head comes out over the cell there."""


def test_a_head_that_comes_out_elsewhere_is_not_followed() -> None:
    """Nor is the piston that was moved aside; shut off, or with nothing moved, all is as light takes it to be."""
    assert not_followed(ELSEWHERE)[-1] != ""
    assert not_followed(ELSEWHERE.replace("SSS.SSS", "SSSSSSS")) == [""]
    aside = ELSEWHERE.replace("    ..P....\n    .k.....", "    .kP....\n    .......").replace("  at 10gt arm on\n", "")
    assert not_followed(aside) == [""]


def test_a_piston_that_is_not_stuck_has_a_part_that_says_where_its_block_is() -> None:
    """A lever right beside it: its block stays out as well, and light follows that."""
    beside = (ROOF + LONG).replace("    ..PS...\n    kr.....", "    .kPS...\n    .......")
    beside = beside.replace("  r  repeater  facing east  delay 1t  named tick\n", "")
    assert "tick" not in beside
    assert not_followed(beside.replace("from 25gt to 40gt", "from 25gt to 39gt")) == [""]


TWO = (
    (ROOF + LONG)
    .replace("SSS.SSS\n    SSSSSSS", "SSS.SSS\n    SSSQbSS", 1)
    .replace("  P  piston", "  Q  piston    facing north\n  b  lever     named bar\n  P  piston", 1)
    .replace("  at 10gt", "  at 2gt            bar on\n  at 6gt            bar off\n  at 10gt", 1)
)
"""A second roof right above the cell is pushed aside, and left there, before the first one is left out."""


def test_a_block_is_seen_though_with_all_else_at_home_another_would_shut_it_off(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    assert not_followed(TWO) == [""]
    monkeypatch.setattr("circuitcheck.space.light_on_cells.lit_places", too_much_apart)
    assert not_followed(TWO) == ["", AWAY.format(row=2)]


def too_much_apart(
    room: Room, cells: Sequence[tuple[At, Cell]], moved: Sequence[Moved | Head], water: Flowing, every: bool = False
) -> Lit:
    """The light on cells, as if blocks of stuck pistons were too much to follow."""
    if any(each.part == "bolt.block" for each in moved):
        return Lit((), {}, (error("CKT602", NOWHERE, "too much", ""),))
    return lit_places(room, cells, moved, water, every)


CHANCE = (
    """language 1
circuit roof
rules older
legend
  .  air
  S  block
  *  torch     on west       named ember
  x  torch     on east       named coal
  P  piston    facing east   named bolt
  Q  piston    facing south  named bar
  t  sensor    becomes off chance 1/400 above 8 named turf
  s  sensor    becomes off chance 1/40          named bank
end
drawing"""
    + shaft("SSStSSS")
    + """
  layer 3
    ....Qs.
    .sPS...
    .......
  end
  layer 4
    .....xS
    S*.....
    .......
  end
end
"""
)


def test_chance_is_not_followed_past_where_light_does_not_follow_a_block() -> None:
    """A cell beside each stuck piston sends it out; the second one then pushes the block of the first one on."""
    chain = MovingChain(load_text(CHANCE).studies[0].circuit, ["turf"])
    with pytest.raises(TooLarge, match=re.escape(AWAY.format(row=3))):
        followed_everywhere(chain)


def followed_everywhere(chain: MovingChain) -> None:
    """Goes on to every state that any draw by day leads to."""
    found = [chain.start()]
    for number in found:
        waited = chain.waited(number)
        behind = (chain.drawn(waited, changed) for _, changed in chain.chances(waited, FULL_SUN))
        found += [each for each in dict.fromkeys(behind) if each not in found]


WORDS = """language 1
circuit roof
lever     arm
lever     tap
repeater  tick from tap delay 1t
detector  bolt arming arm hears tick
place     shade gets sky through solid
sensor    turf at shade becomes on chance 1/400 above 8
detector  ear watches turf
lamp      bell from ear
"""


def test_a_text_says_of_the_light_what_the_drawing_lets_through_while_each_stroke_pulls_the_block_home() -> None:
    """A text has no name for the block of its stuck piston (D2): it is where the piston is."""
    drawn = ROOF.partition("check")[0].partition("circuit roof\n")[2]
    drawn = drawn.replace("fades  grows  named turf", "becomes on chance 1/400 above 8  named turf")

    def verdict(text: str) -> Verdict:
        (outcome,) = verify_text(text + drawn).outcomes
        return outcome.verdict

    assert verdict(WORDS) is Verdict.HOLDS
    assert verdict(WORDS.replace("through solid", "through air")) is Verdict.FAILS
