"""Sweeps of what has more variants than can be judged: as many as the work allows, the same ones each time."""

from __future__ import annotations

import json
from concurrent.futures import Executor
from pathlib import Path
from typing import Any

import pytest

from bounds.large import gate_circuit, register_circuit
from circuitcheck.cli import main
from circuitcheck.engine import work
from circuitcheck.language.load import load_file
from circuitcheck.model.claims import Study
from circuitcheck.prove.meter import USUAL_STATES
from circuitcheck.sweeps import tasks as sweep
from circuitcheck.sweeps.executors import executor_of
from circuitcheck.sweeps.faults import Faults
from circuitcheck.sweeps.tolerance import Tolerances
from circuitcheck.sweeps.variants import first_failing

LITTLE = 1_000_000
GATES_ASKED = ('check "a lamp"', "  at 5t n1 on", "  by 60t expect out1 off", "end")
TURNS = ('check "a turn"', "  at 5t wheel on", "  at 45t wheel off", "  by 90t expect q2 on", "end")
SMALL = """language 1
circuit small
lever rope
repeater slow from rope delay 2t
repeater late from slow
lamp bell from late
check "it rings"
  at 1s rope on
  by 2s expect bell
end
"""


def study(folder: Path, text: str) -> Study:
    path = folder / "swept.circuit"
    path.write_text(text, encoding="utf-8")
    (found,) = load_file(path).studies
    return found


@pytest.fixture
def hasty(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sweeping with little work."""
    monkeypatch.setattr("circuitcheck.sweeps.variants.MOST_WORK", LITTLE)


def test_the_usual_bound_is_about_half_a_minute_of_one_core() -> None:
    assert sweep.MOST_WORK <= 30_000_000


@pytest.mark.usefixtures("hasty")
def test_faults_of_160_gates_are_judged_as_far_as_the_work_goes(tmp_path: Path) -> None:
    asked = study(tmp_path, gate_circuit(*GATES_ASKED))
    ends = []
    for _ in range(2):
        begun = work.done()
        faults = Faults(asked, USUAL_STATES)
        faults.carry_out(None, lambda done, of: None)
        assert work.done() - begun < 1.5 * LITTLE
        found = faults.found()
        ends.append([(each.verdicts, each.shown_by) for each in found])
        tried = [place for place, each in enumerate(found) if each.verdicts.tried]
        assert 0 < len(tried) < faults.size == len(found)
        assert min(tried) < faults.size / 4
        assert max(tried) > faults.size * 3 / 4
        assert all(each.verdicts.reason == sweep.NOT_JUDGED for each in found if not each.verdicts.tried)
    assert ends[0] == ends[1]


def test_where_a_share_of_the_work_decides_nothing_each_fault_may_take_as_much_as_the_circuit_without_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = study(tmp_path, SMALL)
    as_it_stands, spent = first_failing((asked, USUAL_STATES, LITTLE))
    assert as_it_stands.holds
    monkeypatch.setattr("circuitcheck.sweeps.variants.MOST_WORK", spent)
    decided = []
    for sound in (0, spent):
        faults = Faults(asked, USUAL_STATES, holds=True, sound=sound)
        faults.carry_out(None, lambda done, of: None)
        decided.append([each.detected or each.missed or each.alike for each in faults.found()])
    assert not any(decided[0])
    assert all(decided[1])


@pytest.mark.usefixtures("hasty")
def test_settings_of_fourteen_flip_flops_are_tried_from_what_stands_outwards(tmp_path: Path) -> None:
    tolerances = Tolerances(study(tmp_path, register_circuit(*TURNS)), USUAL_STATES)
    begun = work.done()
    tolerances.carry_out(None, lambda done, of: None)
    assert work.done() - begun < 1.5 * LITTLE
    found = tolerances.found()
    assert 0 < len(tolerances.results) < tolerances.size
    for each in found:
        chosen = each.setting.values.index(each.setting.chosen)
        assert each.verdicts[chosen].tried, "what stands is judged first, once for all"
    farthest = max(len(each.setting.values) for each in found) - 1
    assert any(not each.verdicts[farthest].tried for each in found if len(each.verdicts) > farthest)


def test_a_sweep_that_ends_has_judged_everything(tmp_path: Path) -> None:
    tolerances = Tolerances(study(tmp_path, SMALL), USUAL_STATES)
    told: list[tuple[int, int]] = []
    tolerances.carry_out(None, lambda done, of: told.append((done, of)))
    assert told == [(place, 7) for place in range(1, 8)], "what stands once, and three other delays of two repeaters"
    assert all(verdict.tried for each in tolerances.found() for verdict in each.verdicts)


@pytest.mark.usefixtures("hasty")
def test_faults_that_were_not_judged_are_reported_and_undecided(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("circuitcheck.sweeps.variants.MOST_WORK", 1)
    study(tmp_path, SMALL)
    with pytest.raises(SystemExit) as ended:
        main(["sweep", str(tmp_path / "swept.circuit"), "--faults", "--json", "--workers", "1"])
    assert ended.value.code in (1, 3)
    faults = json.loads(capsys.readouterr().out)["faults"]
    assert [each["tried"] for each in faults].count(True) == 1
    assert not any(each["noticed"] for each in faults if not each["tried"])


@pytest.mark.parametrize("extra", [(), ("--faults",)])
def test_ctrl_c_shows_what_is_known_so_far(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, extra: tuple[str, ...]
) -> None:
    def stopped(self: sweep.Sweep[Any, Any], executor: Executor | None, done: object) -> None:
        for place, (made, _) in enumerate(self._outcomes(executor)):
            if place == 2:
                raise KeyboardInterrupt
            self.results[place] = made

    study(tmp_path, SMALL)
    monkeypatch.setattr(sweep.Sweep, "carry_out", stopped)
    with pytest.raises(SystemExit) as ended:
        main(["sweep", str(tmp_path / "swept.circuit"), "--json", "--workers", "1", *extra])
    assert ended.value.code == 130
    out, err = capsys.readouterr()
    assert "2 of" in err
    data = json.loads(out)
    if extra:
        assert [each["tried"] for each in data["faults"]].count(True) == 2
    else:
        values = [value for each in data["settings"] for value in each["values"]]
        assert sum(value["holds"] is not None for value in values) == 3, "what stands, for two settings, and one other"


def test_the_same_is_left_over_however_many_processes_share_the_work(tmp_path: Path) -> None:
    asked = study(tmp_path, gate_circuit(*GATES_ASKED))
    ends = []
    for count in (1, 2):
        faults = Faults(asked, USUAL_STATES // 50)
        with executor_of(count) as executor:
            faults.carry_out(executor, lambda done, of: None)
        ends.append((faults.spent, faults.found()))
    assert ends[0] == ends[1]
    assert 0 < sum(each.verdicts.tried for each in ends[0][1]) < faults.size
