"""What is seen is what the design does: then `diagnose` says so, whose judgement its order is, and what to ask next.

The circuit is the water mill's, with its design itself wrong: a torch too many, so that the wheel stands while it
should turn. What it does follows by hand from T1.
"""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest

from circuitcheck.examine import opened_with
from circuitcheck.explain.mistakes import Diagnosis, diagnose

from .trying import SLUICE, called, text_of

DESIGN = text_of(
    "lever pond", "torch dry from pond", "torch wet from dry", "torch wheel from wet", "lamp mill from wheel"
)
"""The mill is to turn once the pond is full, and by its design it stands: three torches, and two were meant."""
SEEN = ("pond on", "mill off")


@pytest.fixture(name="path")
def _path(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.chdir(tmp_path)
    Path("mill.circuit").write_text(DESIGN, encoding="utf-8")
    return "mill.circuit"


def found(path: str, *lines: str) -> Diagnosis:
    study = opened_with(path, lines).study
    assert study is not None
    return diagnose(study.circuit, study.checks[0])


def test_each_signal_that_looks_as_designed_is_to_be_asked_about_next(path: str) -> None:
    sound = found(path, "at 1t pond on", "at 30t expect mill off", "from 40t to 50t expect wheel off and wet")
    assert sound.sound
    assert sound.as_designed == (("mill", 60), ("wheel", 99), ("wet", 99))
    wrong = found(path, "at 1t pond on", "at 30t expect mill on")
    assert not wrong.sound
    assert wrong.as_designed == ()


def test_a_design_that_is_itself_wrong_is_said_to_be_where_the_mistake_may_be(path: str) -> None:
    said = " ".join(called("diagnose", path, *SEEN).stdout.split())
    assert "in the design" in said
    assert "no mistake" not in said


def test_the_calls_that_are_offered_next_run_and_tell_of_that_signal(path: str) -> None:
    calls = [line.strip() for line in called("diagnose", path, *SEEN).stdout.splitlines() if "circuitcheck " in line]
    assert calls
    for call in calls:
        program, *words = shlex.split(call)
        run = called(*words)
        assert (program, run.returncode, run.stderr) == ("circuitcheck", 0, "")
        assert "'mill' is off at 100t" in run.stdout


def test_a_build_that_does_not_look_as_designed_gets_no_such_thing(path: str) -> None:
    said = " ".join(called("diagnose", path, "pond on", "mill on").stdout.split())
    assert "in the design" not in said
    assert "circuitcheck explain" not in said


def test_the_order_of_what_fits_is_said_to_be_a_judgement_without_a_source() -> None:
    """The weights are the author's: common practice, no source."""
    said = " ".join(called("diagnose", str(SLUICE), "pond.1 on", "open off").stdout.split())
    assert "common practice, no source" in said
