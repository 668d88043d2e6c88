"""The benchmark of ordinary logic counts the verdicts that `verify` prints, and goes on where it prints none."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import logic
import pytest


def test_each_claim_counts(tmp_path: Path) -> None:
    case = tmp_path / "case.circuit"
    text = logic._lines(
        "lever rope",
        "lamp lit from rope",
        'always "seen" when rope then lit within 1t unless rope off',
        'never "dark" rope and lit',
    )
    case.write_text(text, encoding="utf-8")
    command = [sys.executable, "-m", "circuitcheck", "verify", "--json", str(case)]
    run = subprocess.run(command, capture_output=True, text=True, check=False, cwd=tmp_path)
    assert logic.verdicts_in(run.stdout) == ("proved", "fails")


def test_where_verify_prints_nothing_no_verdict_counts() -> None:
    assert logic.verdicts_in("") == ()
    assert logic.verdicts_in(json.dumps({"error": "no such file"})) == ()
    assert logic.last_line("one\ntwo\n") == "two"


def test_a_case_that_verify_refuses_is_measured_with_no_verdict() -> None:
    found = logic.measured(logic.Case(lambda: "language 1\nno such line\n", ("proved",), 1))
    assert found.verdicts == ()


def test_a_case_is_given_up_by_the_processor_time_that_it_takes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(logic, "LONGEST", 1)
    found = logic.measured(logic.cases()["comparator of 3 bits"])
    assert found.verdicts == ()
    assert "1 s" in found.said
