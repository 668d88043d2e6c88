"""Ctrl-C during `verify`: the verdicts by then stand and are told, and what was left is open."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

import circuitcheck
from circuitcheck.checks import judge
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.checks.run import Run, run_check
from circuitcheck.judging import door
from circuitcheck.model.claims import Claim
from circuitcheck.prove.prover import Prover

from .calling import GOOD, write
from .logs import called

# R1, R2 and L1 give the verdicts: a lamp follows a lever, and only one side of a latch is on.
ASKED = (
    "lever rope\nlever ebb\nlamp bell from rope\nlatch gate set rope reset ebb starts reset\n"
    'check "pull"\n  at 1s rope on\n  at 2s expect bell\nend\n'
    'check "let go"\n  at 1s rope on\n  at 2s rope off\n  at 3s expect bell off\nend\n'
    'always "rings" when rope rises then bell within 1t\n'
    'never "both" gate and gate.inverse\n'
    'never "quiet" bell and not rope and gate.inverse and gate\n'
)


def stop_claim(monkeypatch: pytest.MonkeyPatch, title: str) -> None:
    """Ctrl-C as the claim of that title begins to be proved."""
    prove = Prover.prove

    def stopped(self: Prover, claim: Claim) -> Outcome:
        if claim.title == title:
            raise KeyboardInterrupt
        return prove(self, claim)

    monkeypatch.setattr(Prover, "prove", stopped)


def stop_check(monkeypatch: pytest.MonkeyPatch, number: int) -> None:
    """Ctrl-C as the check of that number, from 0, is run."""
    begun: list[object] = []

    def stopped(*given: object, **named: object) -> Run:
        begun.append(given)
        if len(begun) > number:
            raise KeyboardInterrupt
        return run_check(*given, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(judge, "run_check", stopped)


def verdicts(report: circuitcheck.FileReport) -> dict[str, Verdict]:
    return {each.title: each.verdict for each in report.outcomes}


OPEN, HOLDS, PROVED = Verdict.UNDECIDED, Verdict.HOLDS, Verdict.PROVED


def test_what_is_proved_before_stays_proved_and_what_was_left_is_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    stop_claim(monkeypatch, "both")
    files = write(tmp_path, a=GOOD, b=ASKED, c=GOOD)
    assert called("verify", *files) == 130
    out, err = capsys.readouterr()
    assert re.findall(r"^  (\w+) +(pull|let go|rings|both|quiet)", out, re.MULTILINE) == [
        ("holds", "pull"),
        *[("holds", "pull"), ("holds", "let go"), ("proved", "rings"), ("open", "both"), ("open", "quiet")],
    ]
    assert out.count("not judged: stopped before") == 2
    assert err == f"circuitcheck: stopped; left: 2 checks and claims of {files[1]} and 1 file\n"


def test_json_has_the_verdicts_by_then_and_the_code(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    stop_check(monkeypatch, 1)
    logs = ["--sarif", str(tmp_path / "log.sarif"), "--junit", str(tmp_path / "log.xml")]
    assert called("verify", "--json", *logs, *write(tmp_path, b=ASKED, c=GOOD)) == 130
    out, err = capsys.readouterr()
    found = json.loads(out)
    assert found["exit"] == {"code": 130, "meaning": "interrupted"}
    ((circuit,),) = (file["circuits"] for file in found["files"])
    told = {each["title"]: each["verdict"] for each in circuit["outcomes"]}
    assert told["pull"] == HOLDS.value
    assert {told[title] for title in ("let go", "rings", "both", "quiet")} == {OPEN.value}
    assert "--sarif" in err
    assert not [log for log in ("log.sarif", "log.xml") if (tmp_path / log).exists()]


def test_what_a_run_has_broken_before_is_broken(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    stop_check(monkeypatch, 1)
    text = ASKED.replace('never "both" gate and gate.inverse', 'never "both" bell')
    assert called("verify", *write(tmp_path, b=text)) == 130
    assert "FAILS    both" in capsys.readouterr().out


def test_while_flashing_is_looked_for_all_that_was_asked_is_decided(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(*given: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(door, "flashing", stopped)
    record, circuits = tmp_path / "record.json", tmp_path / "circuits"
    circuits.mkdir()
    arguments = ("verify", "--changed", "--record", str(record), *write(circuits, b=ASKED))
    assert called(*arguments) == 130
    out, err = capsys.readouterr()
    assert "5 of 5 checks and claims hold" in out
    assert "nothing that was asked for" in err
    # Its findings are not all told: it is verified again the next time.
    assert called(*arguments) == 130


def test_in_python_it_is_an_interrupt_like_any_other(monkeypatch: pytest.MonkeyPatch) -> None:
    stop_claim(monkeypatch, "both")
    with pytest.raises(KeyboardInterrupt) as stopped:
        circuitcheck.verify_text(ASKED)
    report = stopped.value.report  # type: ignore[attr-defined]
    assert report.stopped
    assert report.exit is circuitcheck.Exit.UNDECIDED
    assert verdicts(report) == {"pull": HOLDS, "let go": HOLDS, "rings": PROVED, "both": OPEN, "quiet": OPEN}
