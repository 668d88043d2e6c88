"""What a bench is asked for and what it tells: waiting for a condition, causes, checks written out, a changed file."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from circuitcheck import verify_text
from circuitcheck.bench import workbench as told
from circuitcheck.bench.calls import answered
from circuitcheck.bench.workbench import Known, Workbench
from circuitcheck.bench.worked import Stopped

from .test_worked import BOTH, LINE, session

OPEN = "lever pond\nlever rope\nlatch gate set pond reset rope\nlamp open from gate\n"
DRAWN = """language 1
circuit drawn_gate
legend
  .  air
  S  block
  a  lever     named pond
  >  repeater  facing east  delay 2t  named winch
  O  lamp      named open
end
drawing
  layer 1
    SSS
  end
  layer 2
    a>O
  end
end
"""


def test_time_passes_until_a_condition_of_the_language_holds(tmp_path: Path) -> None:
    """Rule R2, common practice, no source: a repeater of 2t answers 4gt later."""
    bench = session(tmp_path, LINE)
    answered(bench, {"do": "act", "name": "rope", "verb": "on"})
    answered(bench, {"do": "until", "words": "open on"})
    assert bench.waits
    assert not bench.pass_time(100)
    assert (bench.waits, bench.worked.now) == (False, 5)


def test_a_condition_that_does_not_come_is_given_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(told, "MOST_UNTIL", 50)
    bench = session(tmp_path, LINE)
    answered(bench, {"do": "until", "words": "open on"})
    with pytest.raises(Stopped, match="50gt"):
        bench.pass_time(1_000)
    assert (bench.waits, bench.worked.now) == (False, 50)


@pytest.mark.parametrize("words", ["", "opens on", "open on\nuntil 5t", "open", 'open on" x'])
def test_what_is_no_condition_is_refused(tmp_path: Path, words: str) -> None:
    bench = session(tmp_path, LINE)
    if words == "open":
        answered(bench, {"do": "until", "words": words})
        return
    with pytest.raises(Stopped):
        answered(bench, {"do": "until", "words": words})
    assert not bench.waits


@pytest.mark.parametrize(
    "asked",
    [
        {},
        {"do": 3},
        {"do": "dance"},
        {"do": "step", "number": "1"},
        {"do": "step", "number": -1},
        {"do": "back", "number": 99},
        {"do": "act", "name": ["rope"]},
        {"do": "why", "name": "x" * 2_000},
        {"do": "choose", "number": 0},
        {"do": "branch", "number": 0},
        {"do": "restart", "number": 7},
    ],
)
def test_what_can_not_be_asked_is_refused_and_time_stands_still(tmp_path: Path, asked: dict[str, object]) -> None:
    bench = session(tmp_path, LINE)
    with pytest.raises(Stopped):
        answered(bench, asked)
    assert bench.worked.now == 0


def test_a_run_written_out_as_a_check_holds_and_one_edge_later_does_not(tmp_path: Path) -> None:
    """Rules R2 and O2, common practice, no source: a repeater of 2t answers 2t later, a lamp goes dark 2t after."""
    bench = session(tmp_path, LINE)
    for act in ("on", "off"):
        answered(bench, {"do": "act", "name": "rope", "verb": act})
        answered(bench, {"do": "step", "number": 15})
    lines = answered(bench, {"do": "check", "words": "the lamp follows the rope"})["lines"]
    assert {"  at 5gt  expect open on", "  at 12t  expect open off"} <= set(lines)
    report = verify_text(LINE + "\n".join(lines) + "\n")
    assert report.exit.name == "HOLDS", lines
    late = LINE.replace("delay 2t", "delay 3t") + "\n".join(lines) + "\n"
    assert verify_text(late).exit.name == "FAILS"


def test_a_level_between_off_and_on_is_written_out_as_the_language_says_it(tmp_path: Path) -> None:
    """Rule P3, common practice, no source: dust loses a level a block."""
    faint = "lever rope\ndust row from rope length 6\noutput sill from row\n"
    bench = session(tmp_path, faint)
    answered(bench, {"do": "act", "name": "rope", "verb": "on"})
    answered(bench, {"do": "step", "number": 4})
    lines = answered(bench, {"do": "check", "words": ""})["lines"]
    assert not any("sill on" in line for line in lines)
    assert verify_text(faint + "\n".join(lines) + "\n").exit.name == "HOLDS", lines


def test_a_start_that_was_chosen_is_kept_with_what_was_done_at_once(tmp_path: Path) -> None:
    bench = session(tmp_path, OPEN)
    answered(bench, {"do": "restart", "number": 1})
    answered(bench, {"do": "act", "name": "pond", "verb": "on"})
    answered(bench, {"do": "step", "number": 9})
    before = bench.seen.levels(bench.worked.state)
    bench.read_again()
    assert (bench.worked.script.start, bench.worked.now) == (1, 9)
    assert bench.seen.levels(bench.worked.state) == before


def test_a_circuit_that_can_not_be_put_on_the_bench_leaves_the_last_one_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench = session(tmp_path, LINE)
    answered(bench, {"do": "step", "number": 3})

    def refuses(*_: object) -> None:
        raise Stopped("the run ends as it starts")

    (tmp_path / "mill.circuit").write_text(LINE.replace("lamp open", "lamp wide"), encoding="utf-8")
    monkeypatch.setattr(told, "Worked", refuses)
    bench.read_again()
    found, _ = bench.since(Known())
    assert ("open" in found["parts"], "wide" in found["parts"], found["at"]) == (True, False, 3)
    assert bench.mistakes == ["the run ends as it starts"]


def test_only_what_differs_is_told(tmp_path: Path) -> None:
    bench = session(tmp_path, DRAWN)
    first, known = bench.since(Known())
    assert set(first["places"]) >= {"2,1,1", "2,1,2", "2,1,3"}
    answered(bench, {"do": "act", "name": "pond", "verb": "on"})
    answered(bench, {"do": "step", "number": 1})
    second, known = bench.since(known)
    assert (second["levels"], second["places"]) == ({"2,1,1": 15, "1,1,1": 15}, {})
    assert (second["parts"], second["told"][0]) == ({}, "pond on")
    assert second["edges"] == {"pond": [(1, 15)]}
    assert not bench.differs(known)


def test_causes_are_told_back_to_the_hand(tmp_path: Path) -> None:
    bench = session(tmp_path, LINE)
    answered(bench, {"do": "act", "name": "rope", "verb": "on"})
    answered(bench, {"do": "step", "number": 10})
    lines = answered(bench, {"do": "why", "name": "open"})["lines"]
    assert any(line.split()[:3] == ["1gt", "rope", "on:"] for line in lines)
    assert answered(bench, {"do": "why", "name": "winch"})["lines"][-1] == "read by: open"


def test_a_changed_file_is_read_again_and_what_was_done_is_kept(tmp_path: Path) -> None:
    bench = session(tmp_path, LINE)
    for name in ("rope", "brake"):
        answered(bench, {"do": "act", "name": name, "verb": "on"})
        answered(bench, {"do": "step", "number": 9})
    without = "lever rope\nrepeater winch from rope delay 3t\nlamp open from winch\n"
    (tmp_path / "mill.circuit").write_text(without, encoding="utf-8")
    bench.read_again()
    assert (bench.worked.now, bench.edges.of["open"]) == (18, [(0, 0), (7, 15)])
    assert any(each.startswith("gone: brake") for each in bench.news)
    assert any("brake on" in each for each in bench.news)


def test_mistakes_of_the_file_are_told_with_their_lines_and_the_run_stands(tmp_path: Path) -> None:
    bench = session(tmp_path, LINE)
    answered(bench, {"do": "act", "name": "rope", "verb": "on"})
    answered(bench, {"do": "step", "number": 9})
    before = bench.revision
    (tmp_path / "mill.circuit").write_text("lever rope\nlamp open from rop\n", encoding="utf-8")
    bench.read_again()
    assert bench.revision > before
    assert any(":2:16" in line for line in bench.plan()["mistakes"])
    assert bench.seen.levels(bench.worked.state)["open"] == 15
    (tmp_path / "mill.circuit").unlink()
    bench.read_again()
    assert bench.mistakes
    (tmp_path / "mill.circuit").write_text(LINE, encoding="utf-8")
    bench.read_again()
    assert (bench.mistakes, bench.worked.now) == ([], 9)


def spoilt(path: Path, how: str) -> None:
    """Spoils a file that stands on a bench."""
    path.unlink()
    if how == "a folder":
        path.mkdir()
    elif how == "a pipe":
        os.mkfifo(path)
    elif how == "a link to itself":
        path.symlink_to(path)
    elif how == "bytes":
        path.write_bytes(bytes(range(256)) * 40)
    elif how == "deep":
        path.write_text("lamp open from " + "(" * 50_000 + "\n", encoding="utf-8")
    elif how == "nothing":
        path.write_text("", encoding="utf-8")
    elif how == "many mistakes":
        path.write_text("lamp x from nobody\n" * 500, encoding="utf-8")
    elif how == "too large":
        path.write_text(DRAWN.replace("    a>O", "    a>O, 90000 times"), encoding="utf-8")


@pytest.mark.skipif(sys.platform == "win32", reason="there are no pipes by name")
@pytest.mark.parametrize(
    "how", ["gone", "a folder", "a pipe", "a link to itself", "bytes", "deep", "many mistakes", "too large", "nothing"]
)
def test_whatever_becomes_of_the_file_the_run_stands_and_a_good_one_is_read_again(tmp_path: Path, how: str) -> None:
    bench = session(tmp_path, LINE)
    answered(bench, {"do": "act", "name": "rope", "verb": "on"})
    answered(bench, {"do": "step", "number": 9})
    path = tmp_path / "mill.circuit"
    spoilt(path, how)
    bench.read_again()
    if how != "nothing":
        assert bench.mistakes
        assert len(bench.mistakes) < 400
    assert bench.worked.now == 9
    answered(bench, {"do": "step", "number": 1})
    if path.is_dir():
        path.rmdir()
    else:
        path.unlink(missing_ok=True)
    path.write_text(LINE, encoding="utf-8")
    bench.read_again()
    assert (bench.mistakes, bench.worked.now) == ([], 10)


def test_an_open_order_stops_time_and_is_told_with_its_parts(tmp_path: Path) -> None:
    bench = session(tmp_path, BOTH)
    for verb in ("on", "off"):
        answered(bench, {"do": "act", "name": "pond", "verb": verb})
        answered(bench, {"do": "step", "number": 20})
    answered(bench, {"do": "speed", "number": 20})
    bench.pass_time(1)
    assert bench.speed == 0
    found, _ = bench.since(Known())
    assert {each.split(" before ")[0] for each in found["open"]} == {"gate", "gate.inverse"}


def test_of_a_drawing_held_against_a_text_the_drawing_is_worked() -> None:
    bench = Workbench("circuits/sluice.circuit")
    answered(bench, {"do": "act", "name": "pond.3", "verb": "on"})
    answered(bench, {"do": "until", "words": "gate set"})
    assert not bench.pass_time(200)
    found, _ = bench.since(Known())
    assert found["places"]["2,4,7"][0] == 15
    assert bench.plan()["layers"] == 2
    assert found["places"]["2,4,7"][2] in bench.layer(2)["svg"]
    with pytest.raises(Stopped):
        bench.layer(3)
