"""The commands that hold the program against an earlier commit: what they compare, and what they say without one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import earlier
import pytest
import verdicts

from circuitcheck.language.load import load_text


def of_one_claim(title: str, verdict: str) -> dict[str, Any]:
    outcome = {"title": title, "verdict": verdict, "proof": (False, 0, 0)}
    return {"result": "undecided", "mistakes": [], "outcomes": [outcome], "findings": []}


def differing(monkeypatch: pytest.MonkeyPatch, folder: Path, now: dict[str, Any], before: dict[str, Any]) -> int:
    """How many circuits differ, of one that the two programs say these things of."""
    monkeypatch.setattr(verdicts, "verified", lambda python, _: {"0": now if python == "now" else before})
    return verdicts.compared("now", "before", folder, range(1))


def test_a_commit_that_the_clone_does_not_have_is_reported(tmp_path: Path) -> None:
    with pytest.raises(earlier.NotThere):
        earlier.sources(tmp_path, "0" * 40)


def test_most_random_circuits_can_be_judged() -> None:
    valid = [load_text(verdicts.asked(seed)).valid for seed in range(30)]
    assert valid.count(True) >= 24


def test_another_verdict_differs(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    now, before = of_one_claim("as asked", "undecided"), of_one_claim("as asked", "not_met")
    assert differing(monkeypatch, tmp_path, now, before) == 1


def test_what_no_run_can_show_may_be_undecided_where_it_was_not_met(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    now, before = of_one_claim("burns out", "undecided"), of_one_claim("burns out", "not_met")
    assert differing(monkeypatch, tmp_path, now, before) == 0


def test_the_same_verdict_does_not_differ(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    assert differing(monkeypatch, tmp_path, of_one_claim("as asked", "fails"), of_one_claim("as asked", "fails")) == 0
