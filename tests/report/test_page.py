"""The page of `report`: its sections, text of users as text, nothing from outside, and its exit codes.

What a page needs is said by the HTML standard (a script ends at `</script`) and by Content Security Policy, level 3;
the rest is common practice, no source.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from pathlib import Path
from typing import Any

import pytest
from lxml import html

from circuitcheck.language.load import load_file, load_text
from circuitcheck.pages import contents
from circuitcheck.report.lines import safe
from circuitcheck.report.page.document import Told, page
from circuitcheck.verify import report_on

from .calling import BROKEN, FAILING, GOOD, OPEN, call, told, write

ROOT = Path(__file__).resolve().parents[2]
DRAWN = """language 1
circuit drawn_gate "A lever holds the sluice shut."

legend
  .  air
  S  block
  -  dust
  a  lever     named pond
  >  repeater  facing east  delay 2t  named winch
  /  torch     on west      named gate
  O  lamp      named open
end

drawing
  layer 1
    SSSSSSS
  end
  layer 2
    a->-S/O
  end
end

check "a lever shuts the sluice"
  at 1t   pond on
  by 10t  expect open off
end
"""
LATCH = """
legend
  .  air
  S  block
  -  dust
  <  torch   on east   named gate.inverse
  >  torch   on west   named gate
  s  button  on north  short  named pull
  r  button  on south  short  named drop
end

drawing
  layer 1
    SSS, 5 times
  end
  layer 2
    r..
    S>-
    -.-
    -<S
    ..s
  end
end
"""
HELD = """language 1
circuit held
button  pull  short
button  drop  short
latch   gate  set pull  reset drop  starts {start}

check "it is dropped"
  at 5t   press drop
  by 12t  expect gate off
end
"""
HOSTILE = "</script></title><img src=x onerror=alert(1)> ' ` & &amp; \u202eturned\u2066 \x07"


def shown(text: str, covered: bool = False, states: int = 0) -> str:
    """The page on a circuit given as text."""
    loaded = load_text(text, "mill.circuit", ".")
    assert loaded.diagnostics == ()
    return page(Told(loaded, report_on(loaded, states=states), states, contents(loaded.studies)), covered)


def tree(text: str) -> Any:
    """A page, read as a browser would."""
    return html.document_fromstring(text)


def headings(read: Any) -> list[str]:
    """The headings of the sections."""
    return list(read.xpath("//main/section/h2/text()"))


def texts(read: Any, way: str) -> list[str]:
    """The whole text of some elements."""
    return [each.text_content() for each in read.xpath(way)]


def level_at(read: Any, place: str) -> str:
    """What the page says of the level at a place, in words."""
    (title,) = read.xpath(f"//*[@data-at='{place}']/title")
    found = re.search(r": level (\d+)$", title.text_content())
    return found[1] if found else ""


# Sections


def test_a_drawn_circuit_has_its_sections_in_order_and_the_contents_lead_to_each() -> None:
    read = tree(shown(DRAWN))
    said = ["Verdicts", "The machine at work", "For teaching", "The file"]
    assert headings(read) == said
    assert read.xpath("//nav//a/text()") == said
    ids = [link.removeprefix("#") for link in read.xpath("//nav//a/@href")]
    assert ids == read.xpath("//main/section/@id")


def test_light_and_responses_have_sections_where_there_are_places_and_claims_of_responses() -> None:
    reading = (ROOT / "grammar" / "README.md").read_text(encoding="utf-8")
    (quick,) = [
        each for each in re.findall(r"^```circuit\n(.*?)^```$", reading, re.M | re.S) if "circuit quick " in each
    ]
    read = tree(shown(quick))
    told_of = headings(read)
    assert told_of[told_of.index("Light") - 1 :][:3] == ["Runs over time", "Light", "Responses"]
    assert len(read.xpath("//section[@id='responses']//polyline")) == 2  # the third claim asks what the first asked
    assert "'turf' can fade" in read.xpath("//section[@id='light']")[0].text_content()


def test_without_a_drawing_there_are_no_sheets_and_without_answers_nothing_to_cover() -> None:
    read = tree(shown(GOOD))
    assert headings(read) == ["Verdicts", "Runs over time", "For teaching", "The file"]
    assert texts(read, "//p[@class='reveal']/button") == [
        "What happens at this moment",
        "Run 1 over time",
        "Levels of the signal graph",
    ]
    bare = tree(shown("lever rope\nlamp bell from rope\n"))
    assert headings(bare) == ["The signal graph", "The file"]  # nothing is asked, so there is neither verdict nor run
    assert not bare.xpath("//button")


def test_definitions_alone_make_a_page_too() -> None:
    check = '  check "c"\n    at 1t a on\n    by 3t expect out off\n  end\n'
    text = f"define gate (a) gives out\n  torch out from a\n{check}end\n"
    read = tree(shown(text))
    assert texts(read, "//section[@id='timing']//figure[@class='run']/figcaption") == ["holds gate: c"]
    assert len(read.xpath("//section[@id='timing']//figure[@class='graph']//*[local-name()='svg']")) == 1


def test_the_head_says_what_the_page_is_about(tmp_path: Path) -> None:
    write(tmp_path, sluice=FAILING)
    assert call("report", "sluice.circuit", "-o", "page.html", folder=tmp_path).returncode == 1
    read = tree((tmp_path / "page.html").read_text(encoding="utf-8"))
    said = dict(zip(texts(read, "//dt"), texts(read, "//dd"), strict=True))
    assert said["title"] == "The sluice."
    assert said["file"] == "sluice.circuit"
    assert said["rules"] == "newer"
    assert said["totals"] == "0 of 1 checks and claims hold, 1 fail (1 file)"
    assert texts(read, "//h1") == ["The sluice."]


def test_what_fails_is_explained_and_what_holds_is_not() -> None:
    read = tree(shown(FAILING.replace("end\n", 'end\ncheck "calm"\n  at 1s expect bell off\nend\n')))
    failing, calm = read.xpath("//section[@id='verdicts']//li")
    assert failing.xpath(".//strong/text()") == ["FAILS"]
    explanation = failing.xpath(".//*[@class='answer']")[0].text_content()
    assert "expected" in explanation
    assert "'bell' was on at 10t" in explanation
    assert calm.xpath(".//strong/text()") == ["holds"]
    assert not calm.xpath(".//*[@class='answer']")


def test_findings_say_what_to_do_and_silenced_ones_why() -> None:
    text = GOOD + 'torch idle from rope\ntorch lost from rope\nsilence V1 for idle because "the next mill"\n'
    rows = texts(tree(shown(text)), "//section[@id='verdicts']//li")
    assert any("V1" in row and "'lost'" in row and "hint: " in row for row in rows)
    assert any("silenced because: the next mill" in row for row in rows)


def test_a_graph_that_is_too_large_is_said_to_be() -> None:
    text = "".join(f"lever rope_{number}\n" for number in range(500))  # a row of them would stand once
    (said,) = texts(tree(shown(text)), "//section[@id='graph']/p[@class='note']")
    assert "too large to be drawn" in said


def test_a_run_too_long_for_paper_keeps_its_names_in_sight_too() -> None:
    busy = "".join(f"  at {at}t rope {'on' if at % 2 else 'off'}\n" for at in range(17, 80, 7))
    long = GOOD.replace("\nend\n", f"\n{busy}end\n")
    assert long != GOOD
    kinds = tree(shown(long)).xpath("//figure[@class='run']//*[@role='group']/@class")
    assert kinds == ["picture over-time screen-only"]


# Sheets


def test_without_scripts_the_sheets_show_the_start_and_nothing_that_only_a_script_could_work() -> None:
    read = tree(shown(DRAWN))
    # T1: the torch is lit while its block has no power, and so is the lamp beside it.
    assert {at: level_at(read, at) for at in ("2,1,1", "2,1,3", "2,1,5", "2,1,6", "2,1,7")} == {
        "2,1,1": "0",
        "2,1,3": "0",
        "2,1,5": "0",
        "2,1,6": "15",
        "2,1,7": "15",
    }
    assert texts(read, "//figcaption")[2:] == [
        "Layer 1 at the start",
        "Layer 2 at the start",
        "The signal graph at the start",
    ]
    for element in read.xpath("//button | //select"):
        assert any(each.get("hidden") is not None for each in element.iterancestors())
    assert not read.xpath("//*[contains(@class, 'answer')][@hidden]")


def test_the_moments_are_those_at_which_something_changes() -> None:
    read = tree(shown(DRAWN))
    told_of = read.xpath("//div[@class='moments']//option/text()")
    # R2: 2t after the lever; T2: 1t after its block; O2: 2t after its power.
    assert told_of == ["the start", "1t: pond on", "3t: winch on", "4t: gate off", "6t: open off"]
    asked = read.xpath("//div[@class='moments']//option/@data-asked")
    assert asked == ["the start", "1t: pond on", "3t", "4t", "6t"]


@pytest.mark.parametrize(("start", "level"), [("set", "15"), ("reset", "0")])
def test_a_drawing_of_a_circuit_in_text_starts_as_the_text_says(start: str, level: str) -> None:
    read = tree(shown(HELD.format(start=start) + LATCH))
    assert level_at(read, "2,2,2") == level
    assert "it is dropped" in texts(read, "//section[@id='sheets']//option")


def test_a_check_that_names_what_is_not_drawn_is_not_run_on_the_drawing() -> None:
    text = HELD.format(start="set").replace("end\n", "  at 13t expect spare off\nend\n") + "torch spare from drop\n"
    read = tree(shown(text + LATCH))
    assert read.xpath("//section[@id='sheets']//div[@class='choosing']//option/text()") == ["as it starts"]
    assert read.xpath("//section[@id='sheets']//div[@class='moments']//option/text()") == ["the start"]
    assert any("called 'spare'" in each for each in texts(read, "//section[@id='sheets']//p"))
    assert level_at(read, "2,2,2") == "15"


def test_checks_under_other_values_run_on_the_same_drawing() -> None:
    text = DRAWN.replace("language 1\n", "language 1\ngiven wait 2t\n") + (
        'check "again" given wait 3t\n  at 1t pond on\n  by 10t expect open off\nend\n'
    )
    read = tree(shown(text))
    assert len(read.xpath("//section[@data-scene]")) == 1
    assert texts(read, "//select[@id='scene-0-run']/option")[0] == "a lever shuts the sluice"
    assert len(read.xpath("//select[@id='scene-0-run']/option")) == 2


# Text of users


def test_hostile_text_is_shown_as_it_is_and_escaped_once(tmp_path: Path) -> None:
    title = HOSTILE.replace("\x07", "")  # no text in a circuit file may hold a control character
    text = DRAWN.replace("A lever holds the sluice shut.", title).replace("a lever shuts the sluice", title)
    text = text.replace("by 10t  expect open off", "by 2t  expect open off")
    written = shown(text)
    read = tree(written)
    assert texts(read, "//h1") == [safe(title)]
    assert "\u202e" not in written
    assert read.xpath("//title/text()")[0].startswith(safe(title))
    assert any(safe(title) in each for each in texts(read, "//section[@id='verdicts']//bdi"))
    assert texts(read, "//select[@id='scene-0-run']/option") == [safe(title)]
    assert not read.xpath("//img")
    assert len(read.xpath("//script")) == 2


def test_the_name_of_a_file_is_text_as_well(tmp_path: Path) -> None:
    name = "a <b>&amp;'\"\x07\u202e.circuit"
    (tmp_path / name).write_text(GOOD, encoding="utf-8")
    run = call("report", name, "-o", "page.html", folder=tmp_path)
    assert run.returncode == 0, run.stderr
    told(run)
    read = tree((tmp_path / "page.html").read_text(encoding="utf-8"))
    assert safe(name) in texts(read, "//dd")


def test_data_for_scripts_is_json_that_no_letter_can_end() -> None:
    read = tree(shown(DRAWN))
    (known,) = read.xpath("//script[@type='application/json']/text()")
    assert not re.search("[<>&\u2028\u2029]", known)
    assert set(json.loads(known)) == {"building", "lit", "places", "parts", "runs"}


# Nothing from outside


def test_a_page_refers_to_nothing_outside_itself() -> None:
    read = tree(shown(DRAWN))
    for element in read.iter():
        for name, value in element.attrib.items():
            if name.rpartition(":")[2].rpartition("}")[2] in ("src", "href", "action", "data", "poster", "srcset"):
                assert value.startswith("#"), (element.tag, name, value)
            assert "url(" not in value
    for style in read.xpath("//style/text()"):
        assert "url(" not in style
        assert "@import" not in style
    assert not read.xpath("//link | //iframe | //object | //embed | //base | //img")


def test_the_policy_lets_only_the_page_s_own_script_run() -> None:
    read = tree(shown(DRAWN))
    (policy,) = read.xpath("//meta[@http-equiv='Content-Security-Policy']/@content")
    (script,) = read.xpath("//script[not(@type)]/text()")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert "default-src 'none'" in policy
    assert f"script-src 'sha256-{digest}'" in policy


def test_the_lamp_keeper_makes_a_page_well_under_a_megabyte() -> None:
    loaded = load_file(ROOT / "circuits" / "lampkeeper.circuit")
    made = page(Told(loaded, report_on(loaded, states=0), 0, contents(loaded.studies)))
    assert len(made.encode("utf-8")) < 1_000_000


def test_the_same_file_makes_the_same_page() -> None:
    assert shown(DRAWN) == shown(DRAWN)


# The command


@pytest.mark.parametrize(("text", "code"), [(GOOD, 0), (FAILING, 1), (OPEN, 3)])
def test_exit_codes_are_those_of_verify(tmp_path: Path, text: str, code: int) -> None:
    write(tmp_path, mill=text)
    run = call("report", "mill.circuit", "-o", "page.html", folder=tmp_path)
    assert run.returncode == code == call("verify", "mill.circuit", folder=tmp_path).returncode
    assert "page.html" in told(run)
    assert (tmp_path / "page.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_a_file_with_mistakes_is_reported_and_nothing_is_written(tmp_path: Path) -> None:
    write(tmp_path, mill=BROKEN)
    run = call("report", "mill.circuit", "-o", "page.html", folder=tmp_path)
    assert run.returncode == 2
    assert "CKT201" in told(run)
    assert not (tmp_path / "page.html").exists()


@pytest.mark.parametrize("output", ["mill.circuit", "other.circuit", "./mill.circuit", "missing/page.html"])
def test_it_writes_over_no_circuit_and_says_what_it_cannot_write(tmp_path: Path, output: str) -> None:
    write(tmp_path, mill=GOOD, other=GOOD)
    run = call("report", "mill.circuit", "-o", output, folder=tmp_path)
    assert run.returncode == 2
    assert run.stderr.startswith("circuitcheck: ")
    told(run)
    assert (tmp_path / "mill.circuit").read_text(encoding="utf-8") == GOOD
    assert (tmp_path / "other.circuit").read_text(encoding="utf-8") == GOOD


def test_an_output_must_be_named(tmp_path: Path) -> None:
    write(tmp_path, mill=GOOD)
    run = call("report", "mill.circuit", folder=tmp_path)
    assert run.returncode == 2
    assert "--output" in run.stderr


@pytest.mark.parametrize(("options", "said"), [((), "no"), (("--covered",), "yes")])
def test_it_can_begin_covered(tmp_path: Path, options: tuple[str, ...], said: str) -> None:
    write(tmp_path, mill=FAILING)
    call("report", "mill.circuit", "-o", "page.html", *options, folder=tmp_path)
    read = tree((tmp_path / "page.html").read_text(encoding="utf-8"))
    assert read.get("data-covered") == said


def test_states_are_as_many_as_asked_for(tmp_path: Path) -> None:
    claim = 'always "lit while pulled" bell or rope off\n'
    write(tmp_path, mill=GOOD + claim)
    verdicts = {}
    for states in ("0", "1000"):
        call("report", "mill.circuit", "-o", "page.html", "--states", states, folder=tmp_path)
        read = tree((tmp_path / "page.html").read_text(encoding="utf-8"))
        verdicts[states] = read.xpath("//section[@id='verdicts']//strong/text()")
    assert verdicts == {"0": ["holds", "unbroken"], "1000": ["holds", "proved"]}
