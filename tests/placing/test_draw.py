"""`draw`: a circuit in text becomes a file with a legend and a drawing that verifies as it stands.

What is asked of each layout is asked of the true reading of drawings, not of the layouter.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from circuitcheck.cli import main
from circuitcheck.language.load import load_text
from circuitcheck.model.drawing import Drawing
from circuitcheck.placing.bounds import Bounds, places_of, smaller_sizes, takes_room
from circuitcheck.placing.compiled import PLAIN, Fast
from circuitcheck.placing.grid import MOST_PLACES
from circuitcheck.placing.problem import CantPlace, problem_of
from circuitcheck.placing.smallest_box import Ended, Found, Search
from circuitcheck.placing.task import Task, drawn_task_of, task_of
from circuitcheck.placing.written import with_drawing
from circuitcheck.verify import verify_text

INVERTER = """\
lever rope
torch shut from rope
lamp sign from shut
check "it shuts"
  at 1s rope on
  by 2s expect sign off
end
"""
NOR = "lever rope\nbutton bell long\ntorch shut from rope, bell\n"
NAND = "lever a\nlever b\ntorch no.1 from a\ntorch no.2 from b\njunction out joins no.*\noutput sign from out\n"
REPEATED = "lever rope\nrepeater winch from rope delay 3t\nlamp open from winch\n"
SUBTRACTED = "lever a\nlever b\nrepeater way from b\ncomparator spare from a side way subtract\nlamp left from spare\n"
HEARD = "lever pond\ndetector ripple watches pond pulse 2t\nlamp bell from ripple\n"


SPREAD_OUT = """\
legend
  .  air
  S  block
  y  dust   named out
  a  lever  on east  named a
  b  lever  on east  named b
  t  torch  named no.1
  u  torch  named no.2
end
drawing
  layer 1
    aS
    .S
    bS
  end
  layer 2
    .t
    .y
    .u
  end
end
"""


def called(*words: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main([*words, "--quiet"])
    return int(str(ended.value.code))


def found_for(
    text: str, moves: int = 20_000, seed: int = 1, bounds: Bounds | None = None, by_hand: bool = True
) -> Found:
    problem = problem_of(load_text(text).studies[0].circuit)
    return Search(problem, bounds or Bounds(), PLAIN, moves, seed, by_hand=by_hand).run()


def drawing_for(text: str, moves: int = 20_000) -> Drawing:
    found = found_for(text, moves)
    assert found.drawing is not None
    return found.drawing


@pytest.mark.parametrize(
    ("text", "most"),
    [(INVERTER, 6), (NOR, 8), (NAND, 18), (REPEATED, 12), (SUBTRACTED, 24), (HEARD, 6)],
    ids=["inverter", "nor", "nand", "repeater", "comparator", "detector"],
)
def test_a_file_with_its_drawing_verifies_as_it_stands(text: str, most: int) -> None:
    drawing = drawing_for(text)
    report = verify_text(with_drawing(text, "mill.circuit", drawing))
    titles = {outcome.title: outcome.verdict.value for outcome in report.outcomes}
    assert titles["the drawing is the circuit"] == "holds"
    assert set(titles.values()) == {"holds"}
    assert places_of(drawing.size) <= most


def test_two_searches_with_one_seed_come_to_the_same_and_another_seed_may_not() -> None:
    first, again, other = (found_for(NAND, 6000, seed) for seed in (3, 3, 4))
    assert first == again
    assert first.drawing != other.drawing


def test_levers_and_buttons_can_be_reached_from_outside() -> None:
    for seed in range(1, 6):
        drawing = found_for(NOR, 3000, seed).drawing
        assert drawing is not None
        layers, rows, columns = drawing.size
        inputs = [at for at, thing in drawing.things.items() if thing.word in ("lever", "button")]
        assert len(inputs) == 2
        assert all(at[0] == layers or at[1] in (1, rows) or at[2] in (1, columns) for at in inputs)


def test_no_box_is_larger_than_the_call_allows() -> None:
    drawing = found_for(NOR, 20_000, bounds=Bounds(1, 3, 3)).drawing
    assert drawing is not None
    assert drawing.size[0] == 1


@pytest.mark.parametrize(
    ("text", "bounds", "why"),
    [
        (NOR, Bounds(1, 1, 3), "4 at least"),
        (REPEATED, Bounds(1, 9, 9), "needs two"),
        ("analogue depth\nlamp wet from depth\n", Bounds(), "'depth' (analogue)"),
        ("".join(f"lever l.{number}\n" for number in range(63)), Bounds(), "63 parts"),
    ],
    ids=["too small", "too low", "a kind", "too many"],
)
def test_what_can_not_be_laid_out_is_refused_at_once(text: str, bounds: Bounds, why: str) -> None:
    with pytest.raises(CantPlace) as refused:
        found_for(text, 1, bounds=bounds)
    assert why in refused.value.args[0]


def test_what_is_left_is_told_where_no_layout_is_found() -> None:
    found = found_for(NAND, 2000, bounds=Bounds(2, 1, 3))
    assert found.drawing is None
    assert found.left
    assert found.moves <= 2000


def test_the_least_box_that_counting_allows_ends_the_search() -> None:
    found = found_for("lever rope\nlamp bell from rope\n")
    assert found.ended is Ended.LEAST
    assert found.drawing is not None
    assert places_of(found.drawing.size) == 2


def test_much_smaller_boxes_are_tried_where_none_that_is_a_bit_smaller_is_allowed() -> None:
    text = f"{NAND}\n{SPREAD_OUT}"
    task = drawn_task_of(text, "mill.circuit", "")
    assert isinstance(task, Task)
    assert task.drawn is not None
    search = Search(task.problem, Bounds(2, 3, 2), PLAIN, 2000)
    search.begin_with(task.drawn, task.where)
    assert search.best_places == 12
    assert search.run().ended is Ended.MOVES  # a box of 2 x 2 x 2 has room for its five parts


def test_more_inputs_than_there_is_room_for_are_refused() -> None:
    many = "".join(f"junction j{each} joins a, b\noutput o{each} from j{each}\n" for each in range(300))
    problem = problem_of(load_text(f"lever a\nlever b\n{many}").studies[0].circuit)
    with pytest.raises(CantPlace, match="300 inputs"):
        Search(problem, Bounds(), PLAIN, 1)


def test_no_box_is_tried_that_memory_has_no_room_for() -> None:
    problem = problem_of(load_text(NAND).studies[0].circuit)
    sizes = smaller_sizes(problem, Bounds(), 18**3, 18**3 // 2)
    assert sizes
    assert all(takes_room(size) <= MOST_PLACES for size in sizes)


def test_a_definition_is_laid_out_alone() -> None:
    text = "define inverter (a) gives out\n  torch out from a\nend\n"
    task = task_of(text, "mill.circuit", ".", of="inverter")
    assert isinstance(task, Task)
    drawing = Search(task.problem, Bounds(), PLAIN, 5000).run().drawing
    assert drawing is not None
    made = task.with_drawing(drawing)
    assert "drawing of inverter" in made
    assert [outcome.verdict.value for outcome in task.report(made, 1000).outcomes] == ["holds"]


def test_a_file_is_written_and_nothing_is_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill, drawn = tmp_path / "mill.circuit", tmp_path / "drawn.circuit"
    mill.write_text(INVERTER)
    call = ["draw", str(mill), "--moves", "3000", "--write", str(drawn)]
    assert called(*call) == 0
    assert drawn.read_text().startswith(INVERTER)
    capsys.readouterr()
    with pytest.raises(SystemExit, match="0"):
        main(["verify", str(drawn)])
    said = " ".join(capsys.readouterr().out.split())
    assert "no box of fewer than 3 can hold its parts" in said  # as the lamp may hold the lever and the torch
    assert called(*call) == 2
    assert called("draw", str(drawn)) == 2
    capsys.readouterr()
    assert called("draw", str(mill), "--moves", "3000", "--json") == 0
    data = json.loads(capsys.readouterr().out)["draw"]
    assert data["text"] == drawn.read_text()
    box = data["found"]
    assert f"drawn {box['columns']} wide, {box['rows']} deep, {box['layers']} high: {box['places']} places" in said
    assert called("draw", str(mill), "--box", "1x1x1") == 2
    capsys.readouterr()
    assert called("compact", str(mill)) == 2
    assert "can't be made smaller" in capsys.readouterr().err
    assert called("draw", str(tmp_path / "nowhere.circuit")) == 2
    assert "nowhere.circuit:1:1" in capsys.readouterr().out.replace("\n", "")
    assert called("draw", str(mill), "--box", "2x1x2", "--moves", "500") in (0, 1)


@pytest.mark.parametrize("name", ["x" * 300 + ".circuit", "\0.circuit"], ids=["too long", "with a NUL"])
def test_a_name_that_no_file_can_have_is_refused_before_the_search(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(INVERTER)
    assert called("draw", str(mill), "--moves", "300", "--write", f"{tmp_path}/{name}") == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "can't be written" in err
    assert [each.name for each in tmp_path.iterdir()] == ["mill.circuit"]


def test_what_uses_other_files_is_written_beside_them_only(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "sub").mkdir()
    (tmp_path / "shelf.circuit").write_text("define no (a) gives out\n  torch out from a\nend\n")
    mill = tmp_path / "mill.circuit"
    mill.write_text('use "shelf.circuit"\nlever rope\nno shut (a rope)\nlamp bell from shut.out\n')
    assert called("draw", str(mill), "--moves", "3000", "--write", str(tmp_path / "sub" / "drawn.circuit")) == 2
    assert "beside it" in capsys.readouterr().err
    assert called("draw", str(mill), "--moves", "3000", "--write", str(tmp_path / "drawn.circuit")) == 0
    assert called("verify", str(tmp_path / "drawn.circuit")) == 0


def test_of_few_parts_the_exact_search_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    many = "".join(f"repeater r{each} from {f'r{each - 1}' if each else 'rope'} delay 1t\n" for each in range(12))
    for number, (text, is_named) in enumerate(((INVERTER, True), (f"lever rope\n{many}", False))):
        path = tmp_path / f"{number}.circuit"
        path.write_text(text)
        called("draw", str(path), "--moves", "50")
        assert ("--least" in capsys.readouterr().out) is is_named


def test_ctrl_c_leaves_the_best_layout_so_far(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = problem_of(load_text(NAND).studies[0].circuit)
    told: list[str] = []

    def tells(what: str) -> None:
        told.append(what)
        if "best so far" in what:
            raise KeyboardInterrupt

    found = Search(problem, Bounds(), PLAIN, 100_000, tells=tells).run()
    assert found.ended is Ended.STOPPED
    assert found.drawing is not None


def test_nothing_is_compiled_where_there_is_no_time_for_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []

    def noted(moves: int) -> Fast:
        asked.append(moves)
        return PLAIN

    monkeypatch.setattr("circuitcheck.commands.laying.fast_for", noted)
    mill = tmp_path / "mill.circuit"
    mill.write_text("lever rope\nlamp open from rope\n")
    for seconds in ("5", "59", "60", "1000"):
        assert called("draw", str(mill), "--moves", "90", "--jobs", "1", "--seconds", seconds) == 0
    assert asked == [0, 0, 90, 90]


def test_a_search_that_was_stopped_asks_for_no_larger_box(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(search: Search) -> list[object]:
        raise KeyboardInterrupt

    mill = tmp_path / "mill.circuit"
    mill.write_text(INVERTER)
    assert called("draw", str(mill), "--box", "2x1x2", "--moves", "5") == 1
    assert "--moves N searches longer, and a larger --box, or more --layers, leaves more" in capsys.readouterr().out
    monkeypatch.setattr(Search, "_chosen", interrupted)
    assert called("draw", str(mill), "--moves", "300") == 130
    told = capsys.readouterr().out
    assert "no layout was found  it was stopped" in told
    assert "--box" not in told


def test_no_larger_box_is_proposed_where_the_call_bounds_none(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(INVERTER)
    assert called("draw", str(mill), "--moves", "1") == 1
    told = capsys.readouterr().out
    assert "--moves N searches longer\n" in told
    assert "--box" not in told


def test_a_page_and_the_drawing_are_not_written_to_one_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill, new = tmp_path / "mill.circuit", tmp_path / "new.circuit"
    mill.write_text(INVERTER)
    assert called("draw", str(mill), "--write", str(new), "--page", str(new)) == 2
    assert f"--page {new} would be written over: --write writes there as well" in capsys.readouterr().err
    assert not new.exists()


SPREAD = """\
legend
  .  air
  S  block
  -  dust
  a  lever     named rope
  >  repeater  facing east  delay 2t  named winch
  O  lamp      named open
end

drawing
  layer 1
    ........
    SSSSSSS.
    ........
  end
  layer 2
    ........
    a->---O.
    ........
  end
end

check "the rope opens it"
  at 1s    rope on
  by 1.5s  expect open
end
"""


@pytest.mark.parametrize(
    "text", [SPREAD, f"lever rope\nrepeater winch from rope delay 2t\nlamp open from winch\n{SPREAD}"]
)
def test_a_drawing_is_made_smaller_and_keeps_what_its_file_asks(text: str) -> None:
    task = drawn_task_of(text, "mill.circuit", ".")
    assert isinstance(task, Task)
    assert task.drawn is not None
    search = Search(task.problem, Bounds(), PLAIN, 12_000)
    search.begin_with(task.drawn, task.where)
    drawing = search.run().drawing
    assert drawing is not None
    assert places_of(drawing.size) <= 12
    made = task.with_drawing(drawing)
    assert made.count("drawing\n") == 1
    assert {outcome.verdict.value for outcome in task.report(made, 1000).outcomes} == {"holds"}


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (INVERTER, "not drawn"),
        (f"lever rope\ntorch open from rope\n{SPREAD}", "the drawing is not the circuit"),
    ],
    ids=["not drawn", "another"],
)
def test_what_can_not_be_made_smaller_is_named(text: str, why: str) -> None:
    with pytest.raises(CantPlace) as refused:
        drawn_task_of(text, "mill.circuit", ".")
    assert why in refused.value.args[0]


def test_a_definition_with_amounts_is_laid_out_with_its_usual_ones(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    mill, drawn, smaller = (tmp_path / f"{name}.circuit" for name in ("mill", "drawn", "smaller"))
    mill.write_text("define slow (a) given wait 2t from 1t to 3t gives out\n  repeater out from a delay wait\nend\n")
    assert called("draw", str(mill), "--define", "slow", "--moves", "2000", "--write", str(drawn)) == 0
    assert "delay 2t" in drawn.read_text()
    assert called("compact", str(drawn), "--define", "slow", "--moves", "500", "--keep", "--write", str(smaller)) == 0
    assert called("verify", str(drawn), str(smaller)) == 0
    capsys.readouterr()
    assert called("draw", str(mill), "--define", "slow, wait 1t") == 2
    assert "nothing called 'slow, wait 1t' is defined" in capsys.readouterr().err
