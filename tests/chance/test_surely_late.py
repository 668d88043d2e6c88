"""What is called late after following it coarsely is late when it is followed closely, and nothing that holds is."""

from __future__ import annotations

from pathlib import Path

import pytest

from circuitcheck.checks.outcome import Verdict
from circuitcheck.judging.responses import in_time, surely_late
from circuitcheck.language.load import load_text

KEEPER = (Path(__file__).parents[2] / "circuits" / "lampkeeper.circuit").read_text(encoding="utf-8")
BOUNDS = ("median at most 60s", "median at most 71s", "99% within 90s", "99% within 110s", "missed at most 0.01%")
"""What is so: a median of 70.4 s, 99.14 % within 110 s, and as good as none missed."""


@pytest.mark.parametrize("bound", BOUNDS)
def test_what_is_surely_late_fails(bound: str) -> None:
    study = load_text(KEEPER[: KEEPER.index("response of")] + f"response of dusk to dark: {bound}\n").studies[0]
    (claim,) = study.claims
    assert surely_late(claim, study.circuit) is (in_time(claim, study.circuit).verdict is Verdict.FAILS)
