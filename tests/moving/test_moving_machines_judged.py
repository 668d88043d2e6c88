"""What is found of machines that move: what a stroke feeds is not idle; blocks that no light passes say nothing of it.

Common practice, no source: rules V1, V2, M9, G1, G2, W9.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from circuitcheck.checks.findings import static_findings
from circuitcheck.checks.outcome import Verdict
from circuitcheck.engine.program import Program
from circuitcheck.language.load import load_file, load_text
from circuitcheck.prove.meter import Limits
from circuitcheck.prove.prover import Prover

HOPPER = Path(__file__).resolve().parents[2] / "circuits" / "hopper.circuit"

CORRIDOR = """legend
  .  air
  S  block
  m  sensor  fades
  v  piston  facing south  sticky
  ^  piston  facing north  sticky
end
drawing
  layer 1
    SSSSSSSSSSSS, 4 times
    SmSSSSSSSSSS
    SSSSSSSSSSSS, 3 times
  end
  layer 2
    SSSSSSSSSSSS, 2 times
    SSvSvSvSvSSS
    SSSSSSSSSSSS
    S..........S
    SSSSSSSSSSSS
    SSS^S^S^SSSS
    SSSSSSSSSSSS
  end
  layer 3
    SSSSSSSSSSSS, 4 times
    SSSSSSSSSSSS
    SSSSSSSSSSSS, 3 times
  end
end
"""
"""Seven sticky pistons, whose blocks come into a corridor below a roof; a cell at the corridor's end."""
OPEN_AT_THE_FAR_END = CORRIDOR.replace(
    "    SSSSSSSSSSSS\n    SSSSSSSSSSSS, 3 times\n  end\nend", "    SSSSSSSSSS.S\n    SSSSSSSSSSSS, 3 times\n  end\nend"
)
OPEN_ABOVE_THE_CELL = OPEN_AT_THE_FAR_END.replace("SSSSSSSSSS.S", "S.SSSSSSSS.S")


def idle(text: str) -> set[tuple[str, str]]:
    """The rule and the part of what is found idle in a circuit."""
    loaded = load_text(text)
    assert not loaded.diagnostics
    study = loaded.studies[0]
    found = static_findings(study, Program(study.circuit))
    return {(each.rule, each.part) for each in found if each.rule in ("V1", "V2")}


def test_what_a_let_go_block_feeds_is_not_idle() -> None:
    assert not load_file(HOPPER).diagnostics
    assert idle(HOPPER.read_text(encoding="utf-8")) == {("V2", "ember")}


def test_what_no_stroke_feeds_is_idle() -> None:
    blocked = HOPPER.read_text(encoding="utf-8").replace("B  block", "B  block     fixed")
    assert {("V1", "feed"), ("V2", "lead")} <= idle(blocked)


def test_blocks_have_a_say_in_the_light_that_they_cut_off() -> None:
    assert [each.code for each in load_text(OPEN_AT_THE_FAR_END).diagnostics] == ["CKT602"]


def test_blocks_in_the_dark_have_no_say_in_the_light() -> None:
    assert [each.code for each in load_text(CORRIDOR).diagnostics] == []


def test_blocks_have_no_say_where_brighter_light_comes_anyway() -> None:
    assert [each.code for each in load_text(OPEN_ABOVE_THE_CELL).diagnostics] == []


FLOOD = """legend
  .  air
  S  block
  W  water
  P  piston  facing below  named paddle
  -  dust
  i  lever   named gear
end
drawing
  layer 1
    SSSSSS, 3 times
  end
  layer 2
    SSSSSS
    SW...S
    SSSSSS
  end
  layer 3
    ......
    SSP...
    ......
  end
  layer 4
    ......
    i-S...
    ......
  end
end
assume gear stable for 40t
always "the paddle follows" paddle follows gear, settled within 2t
"""


def test_what_is_claimed_of_a_piston_that_cuts_water_is_proved() -> None:
    study = load_text(FLOOD).studies[0]
    assert Prover(study, Limits(20_000)).prove(study.claims[0]).verdict is Verdict.PROVED


INTO_WATER = """legend
  .  air
  S  block
  B  block
  h  half    at bottom
  W  water
  m  sensor  fades
  P  piston  facing east
  i  lever
end
drawing
  layer 1
    SSSSSSSSSS, 3 times
  end
  layer 2
    SSSSSSSSSS
    .iPBW...mS
    SSSSSSSSSS
  end
  layer 3
    SSSSSSSSSS
    SSSS{above}SS..S
    SSSSSSSSSS
  end
  layer 4
    SSSSSSSSSS
    SSSS{above}SSS{sky}S
    SSSSSSSSSS
  end
end
"""
"""A block is pushed into water; light comes to the cell past that water, from the sky right above, both, or not."""


@pytest.mark.parametrize(
    ("above", "sky", "refused"), [("S", "S", False), ("S", ".", False), (".", ".", False), (".", "S", True)]
)
@pytest.mark.parametrize("pushed", ["B", "h"])
def test_a_block_that_is_pushed_into_water_is_refused_only_where_light_at_a_cell_depends_on_it(
    above: str, sky: str, refused: bool, pushed: str
) -> None:
    text = INTO_WATER.format(above=above, sky=sky).replace("iPB", f"iP{pushed}")
    codes = [each.code for each in load_text(text).diagnostics]
    assert codes == (["CKT602"] if refused else [])


def test_a_block_that_comes_right_above_a_cell_has_a_say_in_the_dark_as_well() -> None:
    """It holds light back there while it stands, so that the cell can fade (X2), though no light depends on it."""
    above = CORRIDOR.replace("SSvSvSvSvSSS", "SvSSvSvSvSSS")
    assert above != CORRIDOR
    for text, never in ((CORRIDOR, True), (above, False)):
        study = load_text(text).studies[0]
        found = static_findings(study, Program(study.circuit))
        assert ("V4" in {each.rule for each in found}) is never
