"""Explaining what is too large to be calculated whole: an answer within a bound of work, or what was left out and why.

The work that is counted (`engine.work`) is held here, not seconds: about a microsecond each.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from bounds.large import FLIP_FLOPS, INPUTS, gate_circuit, register_circuit
from circuitcheck import loads
from circuitcheck.cli import main
from circuitcheck.engine import work
from circuitcheck.explain import compare as comparing
from circuitcheck.explain import mistakes
from circuitcheck.explain.compare import STIMULI, compare
from circuitcheck.explain.mistakes import diagnose
from circuitcheck.language.load import load_with
from circuitcheck.model.parts.torch import Torch

LITTLE = 1_000_000
"""A bound that is reached soon; the usual ones are no wider than ten seconds' worth."""
BOTH = pytest.mark.parametrize("text", [gate_circuit(), register_circuit()], ids=["gates", "register"])


def test_the_circuits_have_the_size_they_are_said_to_have() -> None:
    gates, register = loads(gate_circuit()).circuit, loads(register_circuit()).circuit
    assert len(list(gates.inputs)) == INPUTS == 36
    assert sum(isinstance(part, Torch) for part in gates.parts) == 160
    assert len(register.latches) == 0
    assert sum(name.startswith("q") and name.endswith(".lock") for name in register.by_name) == 2 * FLIP_FLOPS


@pytest.fixture
def hasty(monkeypatch: pytest.MonkeyPatch) -> None:
    """Comparing and diagnosing with little work."""
    monkeypatch.setattr(comparing, "MOST_WORK", LITTLE)
    monkeypatch.setattr(mistakes, "MOST_WORK", LITTLE)


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    """What a call comes to, and what it writes."""
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert isinstance(ended.value.code, int)
    return ended.value.code, capsys.readouterr().out


def test_the_usual_bounds_are_at_most_about_ten_seconds_each() -> None:
    assert max(comparing.MOST_WORK, mistakes.MOST_WORK) <= 12_000_000


@BOTH
@pytest.mark.usefixtures("hasty")
def test_a_comparison_ends_within_its_bound_and_says_what_it_did_not_follow(text: str) -> None:
    circuit = loads(text).circuit
    other = replace(circuit, parts=circuit.parts[::-1])  # one circuit beside itself is not run at all
    begun = work.done()
    found = compare(circuit, other)
    assert work.done() - begun < 2.5 * LITTLE
    assert found.alike
    assert found.series == STIMULI
    assert (found.unfollowed > 0) is bool(found.why_unfollowed)
    assert found.unfollowed < STIMULI


@pytest.mark.usefixtures("hasty")
def test_what_a_comparison_could_not_follow_makes_it_undecided(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, other = tmp_path / "gates.circuit", tmp_path / "spare.circuit"
    path.write_text(gate_circuit(), encoding="utf-8")
    other.write_text(gate_circuit().replace("lamp out1", "dust spare from g154\nlamp out1"), encoding="utf-8")
    code, out = asked(capsys, "compare", str(path), str(other))
    assert code == 3
    assert f"of {STIMULI} series" in out


@pytest.mark.usefixtures("hasty")
def test_a_difference_is_found_in_what_was_followed() -> None:
    """A torch more before the first output makes it the inverse: seen at the start already."""
    text = gate_circuit()
    other = text.replace("lamp out1 from g154", "torch more from g154\nlamp out1 from more")
    assert other != text
    found = compare(loads(text).circuit, loads(other).circuit)
    assert found.reaction is not None
    assert (found.reaction.output, found.reaction.at) == ("out1", 0)


@pytest.mark.parametrize(
    ("text", "lines"),
    [
        (gate_circuit(), ("at 5t n1 on", "at 5t n2 on", "at 60t expect out1 on")),
        (register_circuit(), ("at 5t wheel on", "at 45t wheel off", "at 90t expect last on")),
    ],
    ids=["gates", "register"],
)
@pytest.mark.usefixtures("hasty")
def test_a_diagnosis_ends_within_its_bound(tmp_path: Path, text: str, lines: tuple[str, ...]) -> None:
    path = tmp_path / "seen.circuit"
    path.write_text(text, encoding="utf-8")
    (study,) = load_with(path, lines).studies
    told: list[int] = []
    begun = work.done()
    found = diagnose(study.circuit, study.checks[0], told.append)
    assert work.done() - begun < 1.2 * LITTLE
    assert found.tried > 10
    assert told == list(range(1, found.tried + 1))


def test_a_mistake_that_can_not_be_followed_fits_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "seen.circuit"
    path.write_text(gate_circuit(), encoding="utf-8")
    (study,) = load_with(path, ("at 5t n1 on", "at 60t expect out1 on")).studies
    monkeypatch.setattr(mistakes, "MOST_TRIED", 5)
    monkeypatch.setattr(mistakes, "TRIAL_SHARE", mistakes.MOST_WORK // 5_000)  # not enough to wire it up
    found = diagnose(study.circuit, study.checks[0])
    assert (found.tried, found.unfollowed, found.complete) == (5, 5, False)
    assert (found.sound, found.fitting) == (False, ())


@BOTH
@pytest.mark.parametrize("command", [("explain",), ("explain", "out"), ("graph",)], ids=" ".join)
def test_reading_and_drawing_end_within_a_bound(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, command: tuple[str, ...]
) -> None:
    path = tmp_path / "large.circuit"
    path.write_text(text, encoding="utf-8")
    output = [] if len(command) == 1 else ["out1" if "out1" in text else "last"]
    begun = work.done()
    code, out = asked(capsys, command[0], str(path), *output)
    assert code == 0
    assert out
    assert work.done() - begun < 10_000_000
