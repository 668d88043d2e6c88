"""Seconds as a second bound of proofs: none unless asked for, and what they ended says so.

The clock is another one here, which runs as the test sets it; nothing waits.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from circuitcheck.checks.outcome import OPEN
from circuitcheck.cli import main
from circuitcheck.prove import meter
from circuitcheck.prove.meter import LOOKS_EVERY, OUT_OF_TIME, Limits, Meter, OverBudget
from circuitcheck.verify import verify_file

TEXT = """language 1
circuit many
lever d.1 to d.6
torch none from d.*
repeater late from none delay 3t
lamp calm from late
always "off in time" when d.1 rises then calm off within 6t unless d.1 off
always "another" when d.2 rises then calm off within 6t unless d.2 off
"""


class Clock:
    """A clock of which each reading is so much later than the one before."""

    def __init__(self, step: float) -> None:
        self.now, self.step = 100.0, step

    def monotonic(self) -> float:
        self.now += self.step
        return self.now

    perf_counter = monotonic


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "many.circuit"
    path.write_text(TEXT, encoding="utf-8")
    return path


def test_a_budget_ends_at_its_time_and_a_part_of_it_too(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = Clock(0.0)
    monkeypatch.setattr(meter, "time", clock)
    whole = Limits(10**6, 0, meter.seconds_from_now(5)).meter()
    part = whole.part(10**6)
    part.count(LOOKS_EVERY)
    clock.now += 6
    with pytest.raises(OverBudget, match=OUT_OF_TIME):
        part.count(LOOKS_EVERY)
    assert whole.full


def test_without_seconds_the_clock_is_never_looked_at(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(meter, "time", None)
    Limits().meter().count(10 * LOOKS_EVERY)
    Meter(10**6).count(10 * LOOKS_EVERY)


def test_what_the_seconds_ended_is_open_and_says_so(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(meter, "time", Clock(2.0))
    report = verify_file(file, seconds=1)
    assert {each.verdict for each in report.outcomes} <= OPEN
    assert len(report.outcomes) == 2
    assert report.exit == 3
    for each in report.outcomes:
        assert each.proof is not None
        assert each.proof.limit == OUT_OF_TIME
        assert "more seconds: --seconds" in each.proof.hints
        assert not any("--states" in hint for hint in each.proof.hints)


@pytest.mark.parametrize("command", ["verify", "prove"])
def test_seconds_can_be_asked_for(
    file: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    monkeypatch.setattr(meter, "time", Clock(2.0))
    with pytest.raises(SystemExit) as ended:
        main([command, "--seconds", "1", "--json", str(file)])
    assert ended.value.code == 3
    assert json.dumps(json.loads(capsys.readouterr().out)).count(OUT_OF_TIME) >= 2


@pytest.mark.parametrize("seconds", ["0", "-1", "1.5", "x"])
def test_seconds_are_a_whole_number(file: Path, capsys: pytest.CaptureFixture[str], seconds: str) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["verify", f"--seconds={seconds}", str(file)])
    assert ended.value.code == 2
    assert "--seconds" in capsys.readouterr().err
