"""Items of circuit files are chosen, run again, spread out and reported like any other test of pytest."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from junitparser import JUnitXml

from .test_plugin import BROKEN, FAILING, GOOD, SAID, outcomes, outcomes_apart, write

REPEATED = (
    "given wait 2t from 1t to 4t\nlever rope\nrepeater winch from rope delay wait\nlamp bell from winch\n"
    'for d in 1t, 2t\n  check "late" given wait d\n    at 10gt rope on\n    by 20gt expect bell\n  end\nend\n'
)


def test_each_repeated_value_is_an_item_that_its_node_id_selects(pytester: pytest.Pytester) -> None:
    write(pytester, winch=REPEATED)
    _, text = outcomes(pytester, "--collect-only", "-q")
    ids = [line for line in text.splitlines() if "::" in line]
    assert ids == ["winch.circuit::late, d 2t", "winch.circuit::wait 1t: late, d 1t"]
    for each in ids:
        assert outcomes(pytester, each)[0] == {"passed": 1}


def test_what_failed_last_is_run_alone(pytester: pytest.Pytester) -> None:
    write(pytester, good=GOOD, failing=FAILING)
    assert pytester.runpytest_inprocess().parseoutcomes() == {"passed": 2, "failed": 1}
    again = pytester.runpytest_inprocess("--lf")
    assert again.parseoutcomes() == {"failed": 1}


def test_the_first_failure_ends_the_run_if_asked(pytester: pytest.Pytester) -> None:
    write(pytester, a_failing=FAILING, b_failing=FAILING)
    assert outcomes(pytester, "-x")[0] == {"failed": 1}


def test_nothing_is_judged_while_only_collecting(pytester: pytest.Pytester) -> None:
    write(pytester, good=GOOD, broken=BROKEN)
    pytester.makeconftest("import circuitcheck.verify\n\n\ncircuitcheck.verify.judged = None\n")
    _, text = outcomes_apart(pytester, "--collect-only", "-q")
    assert "3 tests collected" in text
    assert outcomes_apart(pytester)[0] == {"failed": 2, "errors": 1}


def test_markers_choose_kinds_and_are_registered(pytester: pytest.Pytester) -> None:
    write(pytester, good=GOOD + "forbid T4\n")
    strict = ("--strict-markers", "-W", "error::pytest.PytestUnknownMarkWarning")
    assert outcomes(pytester, "-m", "circuit", *strict)[0] == {"passed": 3}
    assert outcomes(pytester, "-m", "circuit_check", *strict)[0] == {"passed": 1, "deselected": 2}
    assert outcomes(pytester, "-m", "circuit_claim", *strict)[0] == {"passed": 1, "deselected": 2}
    assert outcomes(pytester, "-m", "circuit_forbid", *strict)[0] == {"passed": 1, "deselected": 2}
    listed = pytester.runpytest_inprocess("--markers").stdout.str()
    assert "@pytest.mark.circuit_claim" in listed


@pytest.mark.parametrize("spread", ["load", "loadfile", "worksteal"])
def test_items_are_spread_over_processes(pytester: pytest.Pytester, spread: str) -> None:
    write(pytester, good=GOOD, failing=FAILING, said=SAID, broken=BROKEN, winch=REPEATED)
    found, _ = outcomes_apart(pytester, "-n", "2", "--dist", spread)
    assert found == {"passed": 4, "failed": 1, "xfailed": 1, "errors": 1}


def test_the_log_for_other_programs_is_read_by_an_independent_reader(pytester: pytest.Pytester) -> None:
    """junitparser (https://pypi.org/project/junitparser) reads what pytest writes of circuit files."""
    write(pytester, good=GOOD, failing=FAILING, broken=BROKEN)
    outcomes(pytester, "--junitxml", "log.xml")
    log = JUnitXml.fromfile(str(pytester.path / "log.xml"))
    assert (log.tests, log.failures, log.errors) == (4, 1, 1)
    texts = [str(result.text) for suite in log for case in suite for result in case.result]
    assert any("failing.circuit:4:" in text and "because" in text for text in texts)
    assert any("CKT201" in text for text in texts)


def test_twins_after_cleaning_and_titles_without_end_have_names_of_their_own(pytester: pytest.Pytester) -> None:
    long = "x" * 10_000
    text = GOOD.replace('"pull"', '"a::b"') + GOOD.split("\n", 3)[3].replace('"pull"', '"a:b"').split("always")[0]
    text += f'always "{long}" slack off or calm\nalways "" slack off or calm or slack\n'
    write(pytester, many=text)
    _, shown = outcomes(pytester, "--collect-only", "-q")
    ids = [line.split("::", 1)[1] for line in shown.splitlines() if line.startswith("many.circuit::")]
    assert ids[:2] == ["a:b", "a:b (2)"]
    assert len(ids) == len(set(ids)) == 5
    assert max(map(len, ids)) < 140
    assert outcomes(pytester, f"many.circuit::{ids[3]}")[0] == {"passed": 1}


def test_a_name_that_was_made_is_not_made_again(pytester: pytest.Pytester) -> None:
    check = 'check "{}"\n  at 10gt rope on\n  by 20gt expect calm off\nend\n'
    parts = GOOD.split("check")[0]
    write(pytester, many=parts + "".join(map(check.format, ["a (2)", "a::", "a:", "a: (2)"])))
    _, shown = outcomes(pytester, "--collect-only", "-q")
    ids = [line for line in shown.splitlines() if line.startswith("many.circuit::")]
    assert len(ids) == len(set(ids)) == 4


@pytest.mark.parametrize("version", ["7.4.*", "8.0.*", "8.*", "9.*"])
def test_the_plugin_works_under_each_pytest_that_is_allowed(version: str, tmp_path: Path) -> None:
    place = tmp_path / "pytest"
    install = [sys.executable, "-m", "pip", "install", "-q", "--disable-pip-version-check", "--target", str(place)]
    subprocess.run([*install, f"pytest=={version}"], check=True, capture_output=True)
    for name, text in {"good": GOOD, "failing": FAILING, "said": SAID, "broken": BROKEN}.items():
        (tmp_path / f"{name}.circuit").write_text(text, encoding="utf-8")
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "circuitcheck.pytest_plugin", "-v", "--strict-markers"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(place), "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"},
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert f"pytest-{version.split('.')[0]}." in ran.stdout
    assert "2 passed" in ran.stdout
    assert "1 failed" in ran.stdout
    assert "1 xfailed" in ran.stdout
    assert "1 error" in ran.stdout
    assert "Traceback" not in ran.stdout
