"""A finding is reported under the name of the file that its line stands in, whichever form the report takes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from junitparser import JUnitXml
from lxml import html

from circuitcheck.language.load import load_file
from circuitcheck.pages import contents
from circuitcheck.report.exchange.junit import junit
from circuitcheck.report.lines import plain
from circuitcheck.report.page.document import Told, page
from circuitcheck.report.terminal.verdict_lines import report_lines
from circuitcheck.verify import FileReport, report_on, verify_file

LIBRARY = "define gauge (pull) gives sign\n  torch spare from pull\n  repeater sign from pull\nend\n"
MILL = (
    'use "library.circuit"\nlever rope\n\n\ntorch idle from rope\ngauge house (pull rope)\nlamp bell from house.sign\n'
)
FORBID = "forbid V1\n"


@pytest.fixture(autouse=True)
def _in_the_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "library.circuit").write_text(LIBRARY)


def report_of(text: str) -> FileReport:
    Path("mill.circuit").write_text(text)
    return verify_file("mill.circuit")


def lines_told(report: FileReport) -> list[str]:
    """What stands before the rule in the line that begins each finding."""
    rows = plain(report_lines(report, 200)).split("\n")
    return [match[1] for row in rows if (match := re.fullmatch(r" +(?:warning|FORBID) +(.+?)  V1", row))]


@pytest.mark.parametrize("more", ["", FORBID], ids=["warned", "forbidden"])
def test_in_the_report_a_line_of_a_used_file_is_reported_with_that_file(more: str) -> None:
    assert sorted(lines_told(report_of(MILL + more))) == ["library.circuit, line 2", "line 5"]


def test_in_a_junit_log_the_case_of_a_forbidden_finding_names_the_file_of_its_line() -> None:
    found = JUnitXml.fromstring(junit([report_of(MILL + FORBID)], ()).encode())
    cases = [case for suite in found for case in suite if case.name.startswith("forbid")]
    places = {case.name: (case._elem.get("file"), case._elem.get("line")) for case in cases}
    assert places == {
        "forbid V1 idle": ("mill.circuit", "5"),
        "forbid V1 house.spare": ("library.circuit", "2"),
    }
    told = {case.name: "library.circuit, line 2" in case.result[0].text for case in cases}
    assert told == {"forbid V1 idle": False, "forbid V1 house.spare": True}


def test_on_a_page_a_line_of_a_used_file_is_reported_with_that_file() -> None:
    Path("mill.circuit").write_text(MILL)
    loaded = load_file("mill.circuit")
    text = page(Told(loaded, report_on(loaded, states=0), 0, contents(loaded.studies)))
    rows = {row.text_content().strip() for row in html.fromstring(text).xpath("//p[@class='verdict']/span")}
    assert rows == {"line 5", "library.circuit, line 2"}
