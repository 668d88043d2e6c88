"""Where no layout is found, the best one is shown: as sheets that say they are not the circuit, and what is left in it.

What is left is asked of the true reading of drawings as well, which knows nothing of how the layouter counts.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.language.load import load_text
from circuitcheck.placing.bounds import Bounds
from circuitcheck.placing.compiled import PLAIN
from circuitcheck.placing.problem import problem_of
from circuitcheck.placing.smallest_box import Ended, Found, Search
from circuitcheck.placing.task import Task, task_of
from circuitcheck.placing.true_reading import wrong_with
from circuitcheck.report.lines import plain
from circuitcheck.report.terminal.drawn_lines import drawn_lines
from circuitcheck.report.terminal.partial_layout import partial_data, partial_lines
from circuitcheck.space.circuit import read

from .test_draw import INVERTER, NAND, called

TOO_SMALL = Bounds(2, 1, 3)
"""A box in which the circuit has no layout, though counting its parts allows one."""


def partial_of(text: str, moves: int) -> Found:
    problem = problem_of(load_text(text).studies[0].circuit)
    found = Search(problem, TOO_SMALL, PLAIN, moves, 1).run()
    assert found.drawing is None
    assert found.partial is not None
    return found


def test_the_best_layout_is_not_the_circuit_and_every_part_of_it_is_shown() -> None:
    found = partial_of(NAND, 300)
    assert found.partial is not None
    circuit = load_text(NAND).studies[0].circuit
    assert wrong_with(circuit, found.partial)
    shown = plain(partial_lines(found, 100))
    assert "NOT the circuit" in shown
    assert all(f": {name}" in shown for name in found.partial.names.values())
    assert sum(row.startswith("layer ") for row in shown.splitlines()) == found.partial.size[0]


@pytest.mark.parametrize("moves", [100, 200, 300, 400])
def test_what_is_left_is_what_the_true_reading_lacks(moves: int) -> None:
    """By the sources of the torches as the drawing alone has them: those named as lacking are those that it has not."""
    found = partial_of(NAND, moves)
    assert found.partial is not None
    drawn = read(found.partial, load_text(NAND).studies[0].circuit.rules, "nand").circuit
    for torch, lever in (("no.1", "a"), ("no.2", "b")):
        if torch not in found.partial.names.values():
            assert f"'{torch}' has no place" in found.left
            continue
        powers = {source for _, source in wiring(drawn).inputs[torch]}
        assert (f"'{torch}' is still to be fed by '{lever}'" in found.left) is (lever not in powers)


def test_more_moves_are_not_offered_where_nothing_is_left_to_move(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mill, drawn = tmp_path / "mill.circuit", tmp_path / "drawn.circuit"
    mill.write_text(NAND)
    assert called("draw", str(mill), "--moves", "20000", "--write", str(drawn)) == 0
    capsys.readouterr()
    assert called("compact", str(drawn), "--box", "4x1x2", "--stays", "layer 1 to 9", "--moves", "300") == 1
    out = capsys.readouterr().out
    assert "no layout was found  nothing smaller" in out
    assert "--moves" not in out


@pytest.mark.parametrize(
    ("ended", "longer"), [(Ended.MOVES, "--moves N"), (Ended.SECONDS, "--seconds N"), (Ended.STOPPED, "")]
)
def test_what_searches_longer_is_what_ended_the_search(ended: Ended, longer: str) -> None:
    task = task_of(NAND, "mill.circuit", ".")
    assert isinstance(task, Task)
    shown = plain(drawn_lines(task, Found(ended=ended, boxes=1, moves=7, pieces=4), "", None, None, True, 60))
    assert {word for word in ("--moves N", "--seconds N") if word in shown} == ({longer} if longer else set())
    assert "pieces placed" not in shown
    assert all(len(row) <= 60 for row in shown.splitlines())


def test_it_is_told_and_never_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill, drawn = tmp_path / "mill.circuit", tmp_path / "drawn.circuit"
    mill.write_text(NAND)
    assert called("draw", str(mill), "--moves", "300", "--box", "3x1x2", "--write", str(drawn)) == 1
    assert not drawn.exists()
    out = capsys.readouterr().out
    assert "NOT the circuit" in out
    assert "layer 1  north is at the top" in out
    assert called("draw", str(mill), "--moves", "300", "--box", "3x1x2", "--json") == 1
    data = json.loads(capsys.readouterr().out)["draw"]
    assert data["found"] is None
    assert data["text"] == ""
    assert data["partial"]["is_the_circuit"] is False
    assert data["left"]
    names = data["partial"]["names"]
    (layer, row, column) = names["a" if "a" in names else "b"]
    assert data["partial"]["letters"][data["partial"]["sheets"][layer - 1][row - 1][column - 1]].startswith("lever")


def test_nothing_is_shown_where_nothing_stands_yet_or_all_is_found() -> None:
    assert partial_data(Found()) is None
    assert plain(partial_lines(Found(), 100)) == ""


def test_ctrl_c_before_anything_is_found_leaves_the_best_so_far() -> None:
    problem = problem_of(load_text(NAND).studies[0].circuit)
    told: list[str] = []

    def tells(what: str) -> None:
        told.append(what)
        if len(told) > 1:
            raise KeyboardInterrupt

    found = Search(problem, Bounds(2, 2, 2), PLAIN, 100_000, tells=tells).run()
    assert found.ended is Ended.STOPPED
    assert found.drawing is None
    assert found.left
    assert found.partial is not None
    assert partial_data(found) is not None


def test_ctrl_c_while_it_is_verified_loses_no_layout(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(Task, "report", stopped)
    mill, drawn = tmp_path / "mill.circuit", tmp_path / "drawn.circuit"
    mill.write_text(INVERTER)
    assert called("draw", str(mill), "--moves", "3000", "--write", str(drawn)) == 130
    assert "not verified, as it was stopped" in " ".join(capsys.readouterr().out.split())
    assert called("verify", str(drawn)) == 0
