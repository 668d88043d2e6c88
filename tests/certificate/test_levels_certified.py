"""Levels in the rules of certificates: comparators, analogue inputs and pistons, against the engine and by arithmetic.

The circuits are drawn by lot: inputs of any level, dust of any length, comparators of both modes in chains and loops,
what they lock, and what feels or measures them. `CIRCUITCHECK_RANDOM=1000 python -m pytest
tests/certificate/test_levels_certified.py` compares so many circuits instead of a few.
"""

from __future__ import annotations

import json
import os
import random
from pathlib import Path

import pytest
from prove.random_circuits import study_of

from certificate.test_certificates import code_of, told
from certificate.test_second_encoding import TOO_LARGE, differs, runs
from circuitcheck.certificate import level_rules
from circuitcheck.certificate.cases import case_of
from circuitcheck.certificate.gates import Gates
from circuitcheck.certificate.level_rules import _if_no_less, _less, made
from circuitcheck.certificate.uncertified import Uncertified

CIRCUITS = int(os.environ.get("CIRCUITCHECK_RANDOM", "0")) or 25
KINDS = ("comparator",) * 5 + ("torch", "repeater", "lock", "lamp", "detector")


class Scales:
    """Writes a circuit, line by line."""

    def __init__(self, seed: int) -> None:
        self._random = random.Random(seed)
        inputs = [f"pond_{number}" for number in range(self._random.randint(2, 3))]
        self._lines = [f"{self._random.choice(('lever', 'lever', 'analogue'))} {name}" for name in inputs]
        self._names = [f"part_{number}" for number in range(self._random.randint(2, 5))]
        for place, name in enumerate(self._names):
            self._part(name, [*inputs, *self._names[:place]], self._names[place:])
        if self._chance(0.3):
            self._lines.append("piston flap from part_0")
        if self._chance(0.2):
            self._lines.append("setting outside_first yes")
        self.text = "\n".join(self._lines) + "\n"

    def _chance(self, share: float) -> bool:
        return self._random.random() < share

    def _some(self, pool: list[str], most: int) -> str:
        return ", ".join(dict.fromkeys(self._one(pool) for _ in range(self._random.randint(1, most))))

    def _one(self, pool: list[str]) -> str:
        source = self._random.choice(pool)
        if self._chance(0.45):
            return source
        line = f"line_{len(self._lines)}"
        self._lines.append(f"dust {line} from {source} length {self._random.randint(1, 13)}")
        return line

    def _part(self, name: str, pool: list[str], later: list[str]) -> None:
        kind, back = self._random.choice(KINDS), self._some(pool, 2)
        if self._chance(0.15):
            back += f", {self._random.choice(later)}"
        delay = f"delay {self._random.randint(1, 2)}t"
        if kind == "comparator":
            sides = [self._some(pool, 2)] if self._chance(0.8) else []
            sides += [name] if self._chance(0.1) else []
            side = f" side {', '.join(sides)}" if sides else ""
            start = f" starts {self._random.randint(0, 15)}" if self._chance(0.2) else ""
            line = f"comparator {name} from {back}{side} {self._random.choice(('subtract', 'compare'))}{start}"
        elif kind == "lock":
            self._lines.append(f"comparator key_{name} from {self._some(pool, 1)}")
            line = f"repeater {name} from {back} {delay} locked by key_{name}"
        elif kind == "repeater":
            line = f"repeater {name} from {back} {delay}"
        elif kind == "detector":
            line = f"detector {name} watches {self._random.choice(pool)}"
        else:
            line = f"{kind} {name} from {back}"
        self._lines.append(line)


@pytest.mark.parametrize("whole", [True, False], ids=["of all", "of some"])
def test_each_step_of_the_engine_with_levels_is_one_of_the_second_encoding(whole: bool) -> None:
    compared = 0
    wrong = []
    for seed in range(CIRCUITS):
        text = Scales(seed).text
        try:
            for at, words in runs(study_of(text), seed, whole):
                compared += at
                if words:
                    wrong.append(f"seed {seed}, gt {at}: {words}\n{text}")
        except (*TOO_LARGE, Uncertified):
            continue
    assert wrong == []
    assert compared > CIRCUITS * 30


@pytest.mark.parametrize(("name", "value"), [("COMPARATOR_WAITS", 4), ("_less", _if_no_less)])
def test_a_rule_of_levels_that_is_changed_in_one_place_alone_is_noticed(
    monkeypatch: pytest.MonkeyPatch, name: str, value: object
) -> None:
    text = "lever near\nlever far starts on\ndust line from far length 9\n"
    text += "comparator scale from near side line subtract\n"
    assert not differs(text)
    monkeypatch.setattr(level_rules, name, value)
    assert differs(text)


@pytest.mark.parametrize("subtracts", [True, False])
def test_gates_make_of_two_levels_what_arithmetic_makes_of_them(subtracts: bool) -> None:
    """Rule K1: all of the 256 pairs, of rows that hold every level and of rows that hold some."""
    gates = Gates()
    mode = "subtract" if subtracts else "compare"
    part = study_of(f"lever near\ncomparator scale from near {mode}\n").circuit.by_name["scale"]
    for steps in (range(1, 16), (3, 7, 12)):
        for back in (0, *steps):
            for side in (0, *steps):
                rows = [[(step, int(level >= step)) for step in steps] for level in (back, side)]
                makes = _less if subtracts else _if_no_less
                level = max(each for each in range(16) if each == 0 or makes(gates, rows[0], rows[1], each) == 1)
                expected = max(back - side, 0) if subtracts else back if back >= side else 0
                assert (level, made(part, back, side)) == (expected, expected)


LEVELS = """lever near
lever far
dust line from near length 9
dust beside from far length 12
comparator scale from line side beside subtract
comparator judge from line side beside compare
piston flap from scale
always "never above what is behind it"  scale at most 7
always "all or nothing"                 judge off or judge at least 7
always "out while powered"              when scale rises then flap on within 3t unless scale falls
always "too much is claimed"            scale at most 6
"""


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of a circuit that measures, and its certificate."""
    folder = tmp_path_factory.mktemp("scales")
    (folder / "scales.circuit").write_text(LEVELS)
    assert code_of("prove", "--only-claims", "--certificate", folder / "proofs", folder / "scales.circuit") == 1
    return folder


def test_claims_about_levels_are_certified(written: Path, capsys: pytest.CaptureFixture[str]) -> None:
    claims = json.loads((written / "proofs" / "certificate.json").read_text())["claims"]
    assert [each["kind"] for each in claims] == ["proved", "proved", "proved", "broken"]
    assert told(capsys, "certified", written / "proofs")[0] == 0


def test_a_comparator_that_works_in_another_way_is_found_out(
    written: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for old, new in (("length 9", "length 8"), ("beside subtract", "line subtract"), ("length 12", "length 5")):
        other = tmp_path / "other.circuit"
        other.write_text(LEVELS.replace(old, new))
        code, said = told(capsys, "certified", written / "proofs", "--file", other)
        assert (code, "system.aag" in said) == (1, True)


def test_a_level_that_is_asked_for_stands_in_the_system() -> None:
    study = study_of(LEVELS)
    case = case_of(study, study.claims[0], ["scale"])
    assert [latch.name for latch in case.model.latches if latch.name.startswith("scale gives")]
    assert case.left_free == ("near", "far")
