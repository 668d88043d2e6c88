"""Claims about responses, as `verify`, `prove`, `rules`, the logs and pytest tell of them.

What a claim comes to is common practice, no source: X4 of `grammar/RULES.md`, calculated here by hand.
"""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from lxml import etree

from .calling import CLAIM, CYCLE, FAILS, HOLDS, NEVER, TURF, Caller, write_all


@pytest.fixture(autouse=True)
def _folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    write_all(tmp_path)


@pytest.fixture(name="call")
def _call(capsys: pytest.CaptureFixture[str]) -> Caller:
    return Caller(capsys)


VERDICTS = {
    "holds": (HOLDS, "holds    response of night to row", 0),
    "fails": (FAILS, "FAILS    response of night to row", 1),
    "as said": (CLAIM.replace(" of", " fails because X4 of").format("99% within 60s"), "as said  ", 0),
    "fails otherwise": (CLAIM.replace(" of", " fails because X3 of").format("99% within 60s"), "FAILS    ", 1),
    "holds against its word": (HOLDS.replace(" of", " fails because X4 of", 1), "HOLDS    ", 1),
    "open": ("lever bolt\nlatch gate set row reset bolt\n" + HOLDS.replace("to row", "to gate"), "open     ", 3),
    "set aside": (HOLDS.replace(" of", ' skipped because "no turf" of', 1), "skipped  ", 0),
}


@pytest.mark.parametrize("name", VERDICTS)
def test_verify_says_the_verdict_on_a_response(call: Caller, name: str) -> None:
    claim, says, code = VERDICTS[name]
    run = call.judged(claim)
    assert (run.code, run.err) == (code, "")
    assert says in run.out


def test_a_sensor_that_never_changes_is_reported_by_verify_and_may_be_forbidden(call: Caller) -> None:
    run = call("verify", "never.circuit")
    assert (run.code, "V4" in run.out, "the light at 'bed' is 10 or more" in run.out) == (0, True, True)
    Path("never.circuit").write_text(NEVER + "forbid V4\n")
    assert call("verify", "never.circuit").code == 1
    Path("never.circuit").write_text(NEVER + 'silence V4 because "it is winter"\n')
    assert "never changes" not in call.good("verify", "never.circuit")


@pytest.mark.parametrize(("claim", "word", "code"), [(HOLDS, "holds", 0), (FAILS, "FAILS", 1)])
def test_prove_and_rules_judge_a_response_as_well(call: Caller, claim: str, word: str, code: int) -> None:
    proved = call.judged(claim, "prove")
    assert (proved.code, f"{word}    response of night to row" in proved.out) == (code, True)
    compared = call.judged(claim, "rules")
    # Under older a median of 7.1 s (X4). Under newest turf fades by day too (X2), and half of all nights have none
    # left that could: 1 - (1 - 0.415 * 0.585)^2 = 43 % in which one fades. So newest fails.
    assert re.search(rf"holds +{word} +FAILS +response of night to row", compared.out)
    assert compared.code == 1


def test_the_logs_have_a_response_with_its_line_and_verdict(call: Caller) -> None:
    line = TURF.count("\n") + 1
    run = call.judged(FAILS, "verify", "--junit", "log.xml", "--sarif", "log.sarif")
    assert run.code == 1
    (case,) = etree.parse("log.xml").getroot().iter("testcase")
    assert (case.get("name"), case.get("line")) == ("response of night to row", str(line))
    (failure,) = case.iter("failure")
    assert "median" in (failure.get("message") or "") + (failure.text or "")
    (result,) = json.loads(Path("log.sarif").read_text(encoding="utf-8"))["runs"][0]["results"]
    assert result["level"] == "error"
    assert result["locations"][0]["physicalLocation"]["region"]["startLine"] == line
    assert "response of night to row" in result["message"]["text"]


def test_each_response_is_an_item_for_pytest(pytester: pytest.Pytester) -> None:
    said = VERDICTS["as said"][0].replace("response", 'response "said"')
    text = TURF + HOLDS.replace("response", 'response "soon"') + FAILS.replace("response", 'response "sooner"') + said
    (pytester.path / "judged.circuit").write_text(text)
    run = pytester.runpytest_subprocess("-p", "no:cacheprovider", "-v", "judged.circuit")
    assert run.parseoutcomes() == {"passed": 1, "failed": 1, "xfailed": 1}
    assert "judged.circuit::soon PASSED" in run.stdout.str()
    assert f"judged.circuit:{(TURF + HOLDS).count(chr(10)) + 1}:" in run.stdout.str()
    assert "Traceback" not in run.stdout.str()


STEPPED = TURF.replace(CYCLE, "cycle 180s day 60s, dusk 30s, night 60s, dawn 30s\n")
ABRUPT = TURF.replace(CYCLE, "cycle 180s day 90s, dusk 0s, night 90s, dawn 0s\n")
OF_DUSK = "response of dusk to row{}: median at most 1s\n"


def figures_of(call: Caller, text: str, says: str) -> str:
    """What the claim on the response in question is told to come to."""
    Path("asked.circuit").write_text(text)
    claims = json.loads(call("response", "asked.circuit", "--brief", "--json").out)["claims"]
    (found,) = [each["detail"] for each in claims if each["title"].endswith(says)]
    return str(found)


def test_a_response_of_abrupt_days_is_that_of_a_file_whose_days_are_abrupt(call: Caller) -> None:
    stepped = figures_of(call, STEPPED + OF_DUSK.format(""), "row")
    both = STEPPED + OF_DUSK.format("") + OF_DUSK.format(" when abrupt")
    assert figures_of(call, both, "abrupt") == figures_of(call, ABRUPT + OF_DUSK.format(""), "row") != stepped
    assert figures_of(call, both, "row") == stepped


def test_turf_fades_earlier_by_the_steps_of_dusk_that_rain_and_storm_take(call: Caller) -> None:
    # A step of dusk is 3 s, as it has ten; rain takes three levels of the sky and a storm five (rule G1, by hand).
    cases = ("", " when wet", " when stormy")
    said = [figures_of(call, STEPPED + OF_DUSK.format(days), days.strip() or "row") for days in cases]
    medians = [float(re.findall(r"median ([0-9.]+)s", each)[0]) for each in said]
    assert medians == [medians[0], pytest.approx(medians[0] - 9.0), pytest.approx(medians[0] - 15.0)]
