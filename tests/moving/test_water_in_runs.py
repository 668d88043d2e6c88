"""Water that pistons cut and let on again, verified end to end; what it costs where they don't touch it; refusals.

Common practice, from memory, no source: Z1 to Z8, and example 9 of flowing.
"""

from __future__ import annotations

import pytest

from circuitcheck.checks.outcome import Verdict
from circuitcheck.engine.program import Program
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.rules import RULE_SETS
from circuitcheck.space.water import MOST_PLACES
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
    """Example 9: dry by 41; the last place is wet in 116, so the detector pulses in 118 and the lamp is dark in 124.

    As it dries, places beside each other look in one gt, and what they take depends on which looks first: the rules are
    fairly sure of that (Z10). Newer is unsure as well of what a detector feels of water (Z8), older of how a stroke
    starts (M2, M5, M9), so that it holds if that is as taken (V6).
    """
    unsure = ["Z10", *{"newer": ["Z8"], "older": ["M2", "M5", "M9"]}.get(rules, [])]
    checks = check_of(
        *CUT_AND_LET_ON,
        "from 50gt to 117gt  expect pool off",
        "at 118gt expect pool on",
        "at 124gt expect pool off",
    )
    (outcome,) = report_on(file_of(*CHANNEL, checks=checks, head=f"rules {rules}")).outcomes
    assert outcome.verdict is (Verdict.HOLDS_IF if unsure else Verdict.HOLDS)
    assert sorted(each.rule for each in outcome.given) == sorted(unsure)


def test_a_check_that_expects_the_water_a_gt_early_fails() -> None:
    checks = check_of(*CUT_AND_LET_ON, "at 117gt expect pool on")
    assert verdicts(file_of(*CHANNEL, checks=checks, head="rules newest")) == [Verdict.FAILS_IF]


def test_water_takes_as_long_from_place_to_place_as_the_setting_says() -> None:
    """Home-start 81; eight looks of 7 gt bring the source's to 88 and the last place's to 130."""
    checks = check_of("at 10gt  rope on", "at 80gt  rope off", "at 131gt expect pool off", "at 132gt expect pool on")
    assert verdicts(file_of(*CHANNEL, checks=checks, head="rules newest\nsetting water_step 7gt")) == [Verdict.HOLDS_IF]


def of_water(text: str) -> list[str]:
    return [each.rule for each in report_on(text).findings if each.rule.startswith("Z")]


def test_a_detector_that_watches_water_watches_what_changes() -> None:
    found = report_on(file_of(*CHANNEL)).findings
    assert not [each for each in found if each.rule == "V2"]


def test_water_that_stands_walled_in_away_from_pistons_is_no_device() -> None:
    apart = (
        f"{WALL}/{WALL}/{WALL}",
        f"{WALL}/S~SSSSSSSSSS/{WALL}",
        f"{WALL}/SSSSSSSS..SS/{WALL}",
        f"{AIR}/.........pS./{AIR}",
        f"{AIR}/..........i./{AIR}",
    )
    assert not water_of_layers(*apart)
    assert water_of_layers(*CHANNEL) == {(2, 2, column) for column in range(2, 10)}


def water_of_layers(*layers: str) -> set[tuple[int, int, int]]:
    motion = Program(circuit_of(file_of(*layers))).motion
    assert motion is not None
    return set(motion.flow.place_of.values())


def test_water_that_washes_dust_away_before_the_start_is_reported_at_the_dust_and_left_as_drawn() -> None:
    washed = (CHANNEL[0], CHANNEL[1].replace(".......D", "..-....D"), *CHANNEL[2:])
    (found,) = [each for each in report_on(file_of(*washed)).findings if each.rule == "Z7"]
    assert found.span.column == 9
    assert not water_of_layers(*washed)


def test_water_that_reaches_dust_in_a_run_leaves_it_open_and_says_where_and_when() -> None:
    """Z7, W10: the rope's dust goes off in 20 and updates the source two steps away; so that looks in 25, when the head
    is gone (21), and the place that it makes wet looks in 30 and reaches the dust."""
    layers = ("SSSSSS/SSSSSS/SSSSSS/SSSSSS", "SSpSSS/S~S-SS/SS.SSS/SSSSSS", "...i../....../....../......")
    text = file_of(*layers, checks=check_of("at 10gt  rope on", "at 20gt  rope off", "at 35gt  expect paddle off"))
    text = text.replace("piston  facing below", "piston  facing south")
    (outcome,) = report_on(text).outcomes
    assert outcome.verdict is Verdict.UNDECIDED
    assert "Z7" in outcome.detail
    assert "layer 2, row 2, column 4" in outcome.detail
    assert "15t" in outcome.detail


def test_water_that_can_leave_the_drawing_is_reported() -> None:
    open_end = (CHANNEL[0], CHANNEL[1].replace("S~.......DvS", "S......~...."), *CHANNEL[2:])
    assert of_water(file_of(*open_end)) == ["Z1"]
    assert of_water(file_of(*CHANNEL)) == []


def test_more_water_than_is_followed_is_reported_and_left_as_drawn() -> None:
    wide = 40
    lake = "/".join(["S" * wide, *["S" + "~" * (wide - 2) + "S"] * 16, "S" * wide])
    ground = "/".join(["S" * wide] * 18)
    over = "/".join(["..pS" + "." * (wide - 4), *["." * wide] * 17])
    rope = "/".join(["...i" + "." * (wide - 4), *["." * wide] * 17])
    assert (wide - 2) * 16 > MOST_PLACES
    assert of_water(file_of(ground, lake, over, rope)) == ["Z1"]


def test_a_claim_of_a_drawing_with_water_gets_an_answer() -> None:
    claims = 'always "out in time"  from rope rises to paddle rises takes 3gt\nassume at most 1 changes within 100t'
    assert len(report_on(file_of(*CHANNEL, checks=claims)).outcomes) == 1


def test_water_between_two_sources_over_a_half_block_ends_a_run_and_it_says_where() -> None:
    """Z5, W10: the plain piston leaves its block behind, and its head is gone in 21. The lever updates the source that
    is beside its block in 20; so that looks in 25, and the place that it makes wet looks in 30."""
    layers = ("SSSSS/SSHSS/SSSSS/SSSSS", "SSpSS/S~S~S/SS.SS/SSSSS", "...i./...../...../.....")
    text = file_of(*layers, checks=check_of("at 10gt  rope on", "at 20gt  rope off", "at 40gt  expect paddle off"))
    (outcome,) = report_on(text.replace("piston  facing below", "piston  facing south")).outcomes
    assert outcome.verdict is Verdict.UNDECIDED
    assert "Z5" in outcome.detail
    assert "layer 2, row 2, column 3" in outcome.detail
    assert "15t" in outcome.detail
