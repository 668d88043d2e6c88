"""What can harm people (rule S1) is reported in every form of report, however quiet, covered, silenced or summed up."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from lxml import etree, html

from .calling import call, told, write
from .test_watch import Watching

CALM = 'lever rope\nlamp bell from rope\nalways "quiet" bell or bell off\n'
WHEEL = "torch wheel from cam\nrepeater cam from wheel delay 2t\nlamp one from wheel\nlamp two from cam\n"
CLAIM = 'always "lit or dark" one or one off\n'
FLASHING = WHEEL + CLAIM
SILENCED = FLASHING + 'silence S1 because "nobody looks there"\n'
FORBIDDEN = FLASHING + "forbid S1\n"
HARM = "photosensitive epilepsy"


def words(text: str) -> str:
    """A text without the breaks of its lines."""
    return " ".join(text.split())


@pytest.mark.parametrize("form", [[], ["--quiet"], ["--jobs", "2"], ["--quiet", "--jobs", "2"]], ids=" ".join)
@pytest.mark.parametrize("text", [FLASHING, SILENCED], ids=["told", "silenced"])
def test_it_is_reported_in_full_however_little_is_asked_for(tmp_path: Path, text: str, form: list[str]) -> None:
    run = call("verify", *form, *write(tmp_path, a=text, b=CALM))
    out = words(told(run))
    assert run.returncode == 0
    assert (HARM in out, "line 3 S1" in out) == (True, True)
    assert ("nobody looks there" in out) == (text == SILENCED)


def test_the_summary_counts_it_apart_and_also_where_it_is_silenced(tmp_path: Path) -> None:
    for text in (FLASHING, SILENCED):
        last = told(call("verify", *write(tmp_path, a=text))).splitlines()[-1]
        assert re.search(r"\b1 caution\b.*\bS1\b", last), last


def test_json_gives_the_figures_and_the_way(tmp_path: Path) -> None:
    (file,) = json.loads(told(call("verify", "--json", *write(tmp_path, a=SILENCED))))["files"]
    (found,) = (each for each in file["findings"] if each["rule"] == "S1")  # beside it, L5: its start is open
    assert (found["place"]["line"], found["silenced"]) == (3, "nobody looks there")
    second = found["flashing"]
    assert (second["count"], second["by_itself"], second["way"], sorted(second["lamps"])) == (
        4,
        True,
        [],
        ["one", "two"],
    )
    assert 0 < second["ends"] - second["begins"] < 20
    (circuit,) = file["circuits"]
    assert circuit["flashing"]["complete"] is True


def test_prove_tells_it_with_the_second_in_a_picture(tmp_path: Path) -> None:
    run = call("prove", *write(tmp_path, a=FLASHING))
    out = told(run)
    assert HARM in words(out)
    assert re.search(r"^ +one +[█·]*·█", out, re.MULTILINE)
    data = json.loads(told(call("prove", "--json", *write(tmp_path, a=FLASHING))))
    assert (data["flashing"]["finding"]["flashing"]["count"], data["flashing"]["complete"]) == (4, True)
    calm = json.loads(told(call("prove", "--json", *write(tmp_path, a=CALM))))
    assert (calm["flashing"]["finding"], calm["flashing"]["complete"]) == (None, True)


def test_prove_says_how_much_was_explored_where_the_budget_ends(tmp_path: Path) -> None:
    text = "lever rope.1 to rope.4\nlever ebb.1 to ebb.4\nlatch gate.* set rope.* reset ebb.* starts reset\n"
    text += 'lamp open.* from gate.*\nalways "so" open.1 or open.1 off\n'
    data = json.loads(told(call("prove", "--json", "--states", "300", *write(tmp_path, a=text))))
    assert (data["flashing"]["complete"], bool(data["flashing"]["limit"])) == (False, True)


@pytest.mark.parametrize(("text", "kind"), [(FLASHING, "skipped"), (SILENCED, "skipped"), (FORBIDDEN, "failure")])
def test_a_junit_log_has_a_case_for_it(tmp_path: Path, text: str, kind: str) -> None:
    log = tmp_path / "log.xml"
    call("verify", "--quiet", "--junit", str(log), *write(tmp_path, a=text))
    cases = [case for case in etree.parse(str(log)).iter("testcase") if "S1" in str(case.get("name"))]
    (shown,) = [child for case in cases for child in case if child.tag == kind]
    assert HARM in str(shown.get("message"))


def test_sarif_shows_it_where_other_silenced_findings_are_suppressed(tmp_path: Path) -> None:
    log = tmp_path / "log.sarif"
    call("verify", "--sarif", str(log), *write(tmp_path, a=SILENCED))
    (result,) = [each for each in json.loads(log.read_text())["runs"][0]["results"] if each["ruleId"] == "S1"]
    assert "suppressions" not in result
    assert "nobody looks there" in result["message"]["text"]


def test_a_file_with_it_is_verified_again_however_often_it_held(tmp_path: Path) -> None:
    mill, kept = tmp_path / "mill", tmp_path / "kept"
    mill.mkdir()
    kept.mkdir()
    paths = write(mill, a=SILENCED)
    for _ in range(2):
        run = call("verify", "--changed", "--record", str(kept / "passed.json"), *paths)
        assert HARM in words(told(run))


def test_the_page_does_not_cover_it(tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    call("report", *write(tmp_path, a=SILENCED), "--covered", "--output", str(page))
    root = html.fromstring(page.read_text(encoding="utf-8"))
    (said,) = [each for each in root.iter("p") if HARM in str(each.text_content())]
    assert [each for each in said.iterancestors() if "answer" in str(each.get("class")).split()] == []


def test_watching_shows_it_where_other_lines_are_cut_off(tmp_path: Path) -> None:
    failing = 'lever rope\nlamp bell from rope\ncheck "pull"\n  at 1s rope on\n  at 1s expect bell off\nend\n'
    many = {f"a{place}": failing for place in range(9)}
    write(tmp_path, **many, z=SILENCED)
    watching = Watching(tmp_path, True, (".",))
    try:
        _, text = watching.report()
    finally:
        watching.end()
    assert HARM in words(re.sub(r"\x1b\[[0-9;]*m", "", text))


def test_of_a_circuit_without_lamps_prove_says_nothing_of_flashing(tmp_path: Path) -> None:
    text = 'lever pond\ntorch dry from pond\nalways "lit or dark" dry or dry off\n'
    run = call("prove", *write(tmp_path, a=text))
    assert run.returncode == 0
    assert "S1" not in told(run)
