"""Water that pistons cut and let on again, verified end to end; what it costs where they don't touch it; refusals.

Common practice, from memory, no source: Z1 to Z8, and example 9 of flowing.
"""

from __future__ import annotations

import pytest

from circuitcheck.checks.outcome import Verdict
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.rules import RULE_SETS
from circuitcheck.verify import FileReport, verify_text

LEGEND = {
    ".": "air",
    "S": "block",
    "H": "half  at bottom",
    "~": "water",
    "p": "piston  facing below  named paddle",
    "i": "lever  named rope",
    "D": "detector  facing east",
    "v": "lamp  named pool",
    "-": "dust",
}


def file_of(*layers: str, checks: str = "", head: str = "") -> str:
    """A file of a drawing, its layers from the bottom up, the rows of each with a `/` between them."""
    used = [letter for letter in LEGEND if letter == "." or letter in "".join(layers)]
    lines = ["language 1", "circuit race", head, "legend", *(f"  {each}  {LEGEND[each]}" for each in used), "end"]
    lines.append("drawing")
    for number, layer in enumerate(layers, 1):
        lines += [f"  layer {number}", *(f"    {row}" for row in layer.split("/")), "  end"]
    return "\n".join([*lines, "end", checks]) + "\n"


WALL, AIR = "S" * 12, "." * 12
CHANNEL = (
    f"{WALL}/{WALL}/{WALL}",
    f"{WALL}/S~.......DvS/{WALL}",
    f"{AIR}/..pS......../{AIR}",
    f"{AIR}/...i......../{AIR}",
)
"""A channel of seven places, a paddle over the first of them, and a detector that watches the last."""


def report_on(text: str) -> FileReport:
    report = verify_text(text)
    assert report.diagnostics == (), report.diagnostics
    return report


def circuit_of(text: str) -> Circuit:
    loaded = load_text(text)
    assert not loaded.diagnostics, loaded.diagnostics
    return loaded.studies[0].circuit


def verdicts(text: str) -> list[Verdict]:
    return [outcome.verdict for outcome in report_on(text).outcomes]


def check_of(*lines: str) -> str:
    return "\n".join(['check "it does"', *(f"  {line}" for line in lines), "end"])


CUT_AND_LET_ON = ("at 10gt  rope on", "at 80gt  rope off")


@pytest.mark.parametrize("rules", RULE_SETS)
def test_a_channel_that_a_paddle_cuts_is_dry_in_41_and_its_last_place_wet_again_in_116(rules: str) -> None:
    """Example 9: dry by 41; the last place is wet in 116, so the detector pulses in 118 and the lamp is dark in 124."""
    checks = check_of(
        *CUT_AND_LET_ON,
        "from 50gt to 117gt  expect pool off",
        "at 118gt expect pool on",
        "at 124gt expect pool off",
    )
    assert verdicts(file_of(*CHANNEL, checks=checks, head=f"rules {rules}")) == [Verdict.HOLDS]


def test_a_check_that_expects_the_water_a_gt_early_fails() -> None:
    checks = check_of(*CUT_AND_LET_ON, "at 117gt expect pool on")
    assert verdicts(file_of(*CHANNEL, checks=checks)) == [Verdict.FAILS]


def test_water_takes_as_long_from_place_to_place_as_the_setting_says() -> None:
    """Home-start 81; eight looks of 7 gt bring the source's to 88 and the last place's to 130."""
    checks = check_of("at 10gt  rope on", "at 80gt  rope off", "at 131gt expect pool off", "at 132gt expect pool on")
    assert verdicts(file_of(*CHANNEL, checks=checks, head="setting water_step 7gt")) == [Verdict.HOLDS]
