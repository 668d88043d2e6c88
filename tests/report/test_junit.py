"""The JUnit log, read back by junitparser and by lxml (which refuses all that XML 1.0 does not allow)."""

from __future__ import annotations

from pathlib import Path

import pytest
from junitparser import Error, Failure, JUnitXml, Skipped, TestCase, TestSuite
from lxml import etree

from circuitcheck.report.exchange.junit import junit
from circuitcheck.verify import FileReport

from .calling import BROKEN, FAILING, GOOD, OPEN, call, write
from .logs import FORBIDDEN, KINDS, NOTED, SILENCED, SKIPPED, WARNED, verified


@pytest.fixture(autouse=True)
def _in_the_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def suites(*reports: FileReport, unchanged: tuple[str, ...] = ()) -> list[TestSuite]:
    """The suites as junitparser reads them; their counts and those of the whole are what is really there."""
    text = junit(reports, unchanged)
    root = etree.fromstring(text.encode())
    assert root.tag == "testsuites"
    for element in (root, *root.iter("testsuite")):
        found = {kind: len(element.findall(f".//{kind}")) for kind in ("testcase", "failure", "error", "skipped")}
        said = [int(element.get(name)) for name in ("tests", "failures", "errors", "skipped")]
        assert said == list(found.values())
    read = JUnitXml.fromstring(text.encode())
    return [suite for suite in read if isinstance(suite, TestSuite)]


def cases(suite: TestSuite) -> list[TestCase]:
    return [case for case in suite if isinstance(case, TestCase)]


@pytest.mark.parametrize("kind", KINDS)
def test_the_counts_of_every_kind_of_file_are_those_of_its_cases(tmp_path: Path, kind: str) -> None:
    report = verified(tmp_path, f"{kind}.circuit", KINDS[kind])
    (suite,) = suites(report)
    assert suite.name == f"{kind}.circuit"
    assert (suite.failures > 0, suite.errors > 0) == (int(report.exit) == 1, int(report.exit) == 2)


def test_a_case_a_check_or_claim_with_its_file_and_line(tmp_path: Path) -> None:
    (suite,) = suites(verified(tmp_path, "a.circuit", OPEN))
    pull, calm = cases(suite)
    assert (pull.name, pull.classname, pull.result) == ("pull", "a.circuit", [])
    assert (calm.name, [type(each) for each in calm.result]) == ("calm", [Skipped])
    (root,) = etree.fromstring(junit([verified(tmp_path, "a.circuit", OPEN)], []).encode())
    assert [(case.get("file"), case.get("line")) for case in root] == [("a.circuit", "4"), ("a.circuit", "8")]


def test_a_failure_tells_what_was_expected_and_what_happened(tmp_path: Path) -> None:
    (suite,) = suites(verified(tmp_path, "a.circuit", FAILING))
    (case,) = cases(suite)
    (failure,) = case.result
    assert isinstance(failure, Failure)
    assert "a.circuit:4" in failure.message
    assert all(word in failure.text for word in ("expected", "happened", "because", "a.circuit:6:3", "█"))


def test_mistakes_in_a_file_are_one_error_with_all_of_them(tmp_path: Path) -> None:
    (suite,) = suites(verified(tmp_path, "a.circuit", BROKEN + "lamp horn from ropy.3\n"))
    (case,) = cases(suite)
    (error,) = case.result
    assert isinstance(error, Error)
    assert "CKT201 a.circuit:2:16" in error.message
    assert error.text.count("CKT201") == 2
    assert "did you mean 'rope'?" in error.text


def test_a_forbidden_finding_is_a_failed_case_and_others_are_none(tmp_path: Path) -> None:
    (suite,) = suites(verified(tmp_path, "a.circuit", FORBIDDEN))
    _, forbidden = cases(suite)
    assert (forbidden.name, [type(each) for each in forbidden.result]) == ("forbid V1 idle", [Failure])
    for text in (WARNED, NOTED, SILENCED):
        (suite,) = suites(verified(tmp_path, "a.circuit", text))
        assert (len(cases(suite)), suite.failures) == (1, 0)


def test_what_is_skipped_has_its_reason(tmp_path: Path) -> None:
    (suite,) = suites(verified(tmp_path, "a.circuit", SKIPPED))
    ((skipped,),) = [case.result for case in cases(suite)]
    assert isinstance(skipped, Skipped)
    assert "no rope is laid yet" in skipped.message


def test_unchanged_files_are_skipped(tmp_path: Path) -> None:
    report = verified(tmp_path, "a.circuit", FAILING)
    failing, unchanged = suites(report, unchanged=("deep & <low>/b.circuit",))
    assert (failing.failures, unchanged.name, unchanged.skipped) == (1, "deep & <low>/b.circuit", 1)
    ((skipped,),) = [case.result for case in cases(unchanged)]
    assert skipped.message == "unchanged since it passed"


HOSTILE = [
    ("\x1b[31m \x07 \x01", "\ufffd[31m \ufffd \ufffd"),
    ("\ufffe \uffff \U0001ffff \ufdd0", "\ufffd \ufffd \ufffd \ufffd"),
    ("]]> <![CDATA[ <!-- -->", "]]> <![CDATA[ <!-- -->"),
    ("&<>'&amp;&#0;&#x1b;", "&<>'&amp;&#0;&#x1b;"),
    ("\u202eback\u200f \u2066", "\ufffdback\ufffd \ufffd"),
    ("a\tb", "a\ufffdb"),
    ("%s %(x)s {0} ${x}", "%s %(x)s {0} ${x}"),
    ("e\u0301\u0301\u0301 水 \U0001d553", "e\u0301\u0301\u0301 水 \U0001d553"),
    ("x" * 10_000, "x" * 10_000),
    ("\u2028 \u2029 \x85", "\ufffd \ufffd \ufffd"),
]
"""Titles, and how they may be shown."""


@pytest.mark.parametrize(("title", "shown"), HOSTILE, ids=[str(place) for place in range(len(HOSTILE))])
def test_hostile_titles_are_shown_and_obeyed_by_nothing(tmp_path: Path, title: str, shown: str) -> None:
    (suite,) = suites(verified(tmp_path, "a.circuit", FAILING.replace("pull", title)))
    (case,) = cases(suite)
    assert (case.name, [type(each) for each in case.result]) == (shown, [Failure])
    (suite,) = suites(verified(tmp_path, "a.circuit", SKIPPED.replace("no rope", title)))
    ((skipped,),) = [case.result for case in cases(suite)]
    assert shown in skipped.message
    suites(verified(tmp_path, "a.circuit", f'check "{title}" 7\nend\n'))


def test_the_command_writes_the_log_with_what_was_left_out(tmp_path: Path) -> None:
    write(tmp_path, good=GOOD, bad=FAILING)
    for left_out in (0, 1):
        run = call("verify", "--changed", "--junit", "log.xml", "good.circuit", "bad.circuit", folder=tmp_path)
        assert (run.returncode, run.stderr) == (1, "")
        read = JUnitXml.fromstring((tmp_path / "log.xml").read_bytes())
        assert (read.tests, read.failures, read.skipped) == (2, 1, left_out)
    call("verify", "--changed", "--junit", "log.xml", "good.circuit", folder=tmp_path)
    read = JUnitXml.fromstring((tmp_path / "log.xml").read_bytes())
    assert (read.tests, read.failures, read.skipped) == (1, 0, 1)
