"""What a drawing is made smaller around: beds, pistons and other things that stay as they are, and what is asked to."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest

from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.checks.outcome import GOOD
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.directions import Direction
from circuitcheck.model.drawing import MATTERS, NORTH, At, Drawing, Thing
from circuitcheck.model.rules import USUAL
from circuitcheck.placing.asked_places import Asked, Spot
from circuitcheck.placing.bounds import Bounds, places_of
from circuitcheck.placing.box import box_of, fill
from circuitcheck.placing.compiled import PLAIN
from circuitcheck.placing.fast_reading import read
from circuitcheck.placing.grid import COST
from circuitcheck.placing.holding import Holding
from circuitcheck.placing.problem import CantPlace, problem_of
from circuitcheck.placing.rerouting import trim
from circuitcheck.placing.smallest_box import Search
from circuitcheck.placing.staying import staying_in
from circuitcheck.placing.task import Task, drawn_task_of
from circuitcheck.space.circuit import read as truly_read
from circuitcheck.verify import FileReport

from .random_drawings import changed, random_drawing
from .test_draw import SPREAD, called

MANY = 150
LAMPKEEPER = Path(__file__).parents[2] / "circuits" / "lampkeeper.circuit"
BED = """\
legend
  .  air
  S  block
  G  glass
  -  dust
  t  sensor    fades  named turf
  >  detector  facing east  pulse 2t  named ripple
  R  repeater  facing east  delay 2t  named winch
  O  lamp      named bell
end

drawing
  layer 1
    SSSSSSSSS
    SSSSSSSSS
    GSSSSSSSS
  end
  layer 2
    .........
    .t>--R--O
    .........
  end
end

check "what the detector sees rings the bell"
  at 1s    turf off
  by 1.5s  expect bell
end
"""


SLABS = """\
legend
  .  air
  S  block
  G  glass
  h  half      at top
  -  dust
  +  dust      dot
  a  lever     named rope
  O  lamp      named open
end

drawing
  layer 1
    ShSSS.
    ....G.
    S...G.
  end
  layer 2
    a----O
    ......
    +.....
  end
end
"""


def task_for(text: str, *stays: Spot | str, at: dict[str, Spot] | None = None) -> Task:
    task = drawn_task_of(text, "mill.circuit", ".", asked=Asked(at or {}, stays=stays))
    assert isinstance(task, Task)
    return task


def smaller(task: Task, moves: int) -> Drawing:
    assert task.drawn is not None
    search = Search(task.problem, Bounds(), PLAIN, moves, allows=Holding(task).allows)
    search.begin_with(task.drawn, task.where)
    drawing = search.run().drawing
    assert drawing is not None
    return drawing


def all_holds(task: Task, drawing: Drawing) -> bool:
    """Whether all that a file asks holds of it with another drawing: of the demos all of it holds with their own."""
    return all(outcome.verdict in GOOD for outcome in task.report(task.with_drawing(drawing)).outcomes)


def place_of(drawing: Drawing, word: str) -> At:
    return next(at for at, thing in drawing.things.items() if thing.word == word)


def test_a_bed_stays_and_what_it_feeds_is_laid_out_around_it() -> None:
    task = task_for(BED)
    assert {"turf", "ripple"} <= task.problem.staying.parts.keys()
    assert "winch" not in task.problem.staying.parts
    assert task.drawn is not None
    drawing = smaller(task, 15_000)
    assert places_of(drawing.size) < places_of(task.drawn.size)
    turf, ripple = place_of(drawing, "sensor"), place_of(drawing, "detector")
    assert ripple == (turf[0], turf[1], turf[2] + 1)
    assert sum(thing.word == "glass" for thing in drawing.things.values()) == 1
    assert {outcome.verdict.value for outcome in task.report(task.with_drawing(drawing)).outcomes} == {"holds"}


def test_a_drawing_with_clear_and_half_blocks_is_begun_with_and_keeps_them() -> None:
    task = task_for(SLABS)
    assert task.drawn is not None
    drawing = smaller(task, 6000)
    kinds = sorted(thing.word + thing.shape for thing in drawing.things.values())
    assert places_of(drawing.size) < places_of(task.drawn.size)
    assert (kinds.count("glass"), kinds.count("half"), kinds.count("dustdot")) == (2, 1, 1)


def test_what_is_asked_to_stay_does() -> None:
    assert task_for(SPREAD).problem.staying.parts == {}
    task = task_for(SPREAD, "winch", Spot(low=(2, 2, 7), high=(2, 2, 7)))
    assert set(task.problem.staying.parts) == {"winch", "open"}
    drawing = smaller(task, 8000)
    at = {name: at for at, name in drawing.names.items()}
    assert task.drawn is not None
    assert at["open"][:2] == at["winch"][:2]
    assert 1 <= at["open"][2] - at["winch"][2] <= 4  # slices between may go: a repeater lights the lamp before it
    assert places_of(drawing.size) < places_of(task.drawn.size)


@pytest.mark.parametrize(
    ("stays", "at", "why"),
    [
        (("winsh",), {}, "nothing called 'winsh' is drawn"),
        ((Spot(low=(9, 1, 1), high=(9, 1, 1)),), {}, "layer 9 row 1 column 1 is outside of the drawing"),
        (("winch",), {"winch": Spot(frozenset({NORTH}))}, "'winch' is to stand north, and stays as it is drawn"),
    ],
)
def test_what_can_not_stay_is_refused_at_once(stays: tuple[Spot | str, ...], at: dict[str, Spot], why: str) -> None:
    with pytest.raises(CantPlace) as refused:
        Search(task_for(SPREAD, *stays, at=at).problem, Bounds(), PLAIN, 1)
    assert why in refused.value.args[0]


def test_the_machine_under_the_beds_of_a_demo_is_begun_with_and_verifies_as_written() -> None:
    task = drawn_task_of(LAMPKEEPER.read_text(), str(LAMPKEEPER), str(LAMPKEEPER.parent))
    assert isinstance(task, Task)
    assert {"flap", "stir.1", "turf.1", "bank_a.1"} <= task.problem.staying.parts.keys()
    assert not {"gate", "falling", "rising", "kept_set", "stirred"} & task.problem.staying.parts.keys()
    assert task.drawn is not None
    search = Search(task.problem, Bounds(), PLAIN, 1)
    search.begin_with(task.drawn, task.where)
    assert search.found.drawing is not None
    assert len(search.found.drawing.things) < len(task.drawn.things)
    assert all_holds(task, search.found.drawing)


def with_a_piston(rng: Random) -> tuple[Drawing, At] | None:
    drawing = random_drawing(rng)
    free = [
        (layer, row, column)
        for layer in range(1, drawing.size[0] + 1)
        for row in range(1, drawing.size[1] + 1)
        for column in range(1, drawing.size[2] + 1)
        if (layer, row, column) not in drawing.things
    ]
    if not free:
        return None
    at = rng.choice(free)
    dots = {
        place: replace(thing, shape="dot") if thing.is_dust and rng.random() < 0.3 else thing
        for place, thing in drawing.things.items()
    }
    piston = Thing(MATTERS["piston"], facing=rng.choice(list(Direction)))
    return replace(drawing, things=dict(sorted({**dots, at: piston}.items()))), at


def circuit_of(drawing: Drawing, rules: str) -> Circuit:
    made = truly_read(drawing, replace(USUAL, power_above_piston=rules == "above"))
    assert not made.mistakes
    return made.circuit


@pytest.mark.parametrize("rules", ["above", "beside"])
def test_the_fast_reading_of_pistons_and_dots_and_the_true_one_agree(rules: str) -> None:
    """Rules W3, W4 to W9 (common practice, no source) twice; what is heard is compared by the true reading alone."""
    rng, same, different = Random(41), 0, 0
    while same + different < MANY:
        made = with_a_piston(rng)
        if made is None:
            continue
        drawing, at = made
        circuit = circuit_of(drawing, rules)
        if any(part.stuck for part in circuit.parts) or "detector" in {part.word for part in circuit.parts}:
            continue  # a detector may watch what the piston moves
        staying = replace(staying_in(replace(drawing, things={}), USUAL, {}, ()), places=((at, drawing.things[at]),))
        piston = next(name for name, where in circuit.where.items() if where == at)
        problem = problem_of(circuit, staying=replace(staying, parts={piston: at}))
        for tried in (drawing, changed(rng, drawing), changed(rng, drawing)):
            if tried is None or tried.things.get(at) != drawing.things[at]:
                continue
            other = circuit_of(tried, rules)
            if any(part.stuck for part in other.parts):
                continue
            box = box_of(problem, tried.size)
            fill(box, tried.things, {number: other.where[name] for number, name in enumerate(problem.names)})
            read(box.memory)
            fast = sum(box.memory[COST : COST + 5]) == 0
            assert fast is (powered(circuit) == powered(other)), (drawing, tried)
            same, different = same + fast, different + (not fast)
    assert different > MANY / 20


def powered(circuit: Circuit) -> dict[str, object]:
    """What powers each part of a circuit."""
    read = wiring(circuit)
    return {
        name: (read.labels[name][2], {key: lost for key, lost in inputs.items() if key[0] != "heard"})
        for name, inputs in read.inputs.items()
        if " hears " not in name
    }


def test_what_stays_is_said_and_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(BED)
    call = ["compact", str(mill), "--moves", "3000", "--stays", "bell", "--stays", "layer 1 row 1 column 9"]
    assert called(*call) == 0
    assert "with 2 of these parts" in capsys.readouterr().out
    assert called(*call, "--json") == 0
    assert json.loads(capsys.readouterr().out)["draw"]["stays"]["parts"] == ["bell", "ripple"]
    assert called("compact", str(mill), "--least") == 2
    assert "least boxes are not searched for where something stays" in capsys.readouterr().err
    assert called(*call, "--free", "layer 1") == 2
    assert "stays as it is drawn, where it is kept free" in capsys.readouterr().err
    for words in (["--stays", ""], ["--stays", "layer"], ["--stays", "two words"]):
        assert called("compact", str(mill), *words) == 2
        assert "Traceback" not in capsys.readouterr().err


def texts_reported_on(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    reports: list[str] = []
    report = Task.report

    def noted(task: Task, text: str, *others: Any, **named: Any) -> FileReport:
        reports.append(text)
        return report(task, text, *others, **named)

    monkeypatch.setattr(Task, "report", noted)
    return reports


@pytest.mark.parametrize("judged", [0, 1])
def test_a_layout_that_no_time_is_left_to_judge_does_not_count(
    judged: int, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The clock jumps past the end while the file is judged as it stands, or with the first other layout after it."""
    mill, made = tmp_path / "mill.circuit", tmp_path / "made.circuit"
    mill.write_text(BED)
    reports = texts_reported_on(monkeypatch)
    monkeypatch.setattr("circuitcheck.placing.holding.monotonic", lambda: 0.0 if len(reports) <= judged else 1e12)
    call = ["compact", str(mill), "--moves", "50", "--seconds", "1000", "--write", str(made)]
    assert called(*call) == 3
    told = capsys.readouterr().out
    assert "nothing smaller was found" in told
    assert "1 layout not judged in time" in told
    assert "not verified, as the time ran out" in told
    written = load_text(made.read_text()).studies[0].circuit.drawing
    was = load_text(BED).studies[0].circuit.drawing
    assert written is not None
    assert was is not None
    assert written.cropped.things.keys() == was.cropped.things.keys()


def test_what_was_judged_while_searching_is_not_judged_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(BED)
    reports = texts_reported_on(monkeypatch)
    assert called("compact", str(mill), "--moves", "50") == 0
    assert "verified: 1 of 1" in capsys.readouterr().out
    assert len(reports) == len(set(reports)) > 1


def test_what_moves_is_wired_to_the_same_by_the_dust_that_it_comes_to() -> None:
    """A row that nothing powers until a block is moved still has to lead to what reads it."""
    path = LAMPKEEPER.with_name("watchpair.circuit")
    task = drawn_task_of(path.read_text(), str(path), str(path.parent))
    assert isinstance(task, Task)
    assert task.drawn is not None
    problem, drawing = task.problem, task.drawn
    assert sorted(problem.staying.marks.values()) == [(2, 6, 6), (2, 8, 6)]
    numbered = {number: task.where[name] for number, name in enumerate(problem.names)}
    for gone, right in (((2, 6, 12), False), ((2, 6, 1), False), ((1, 1, 1), True)):
        box = box_of(problem, drawing.size)
        fill(box, {at: thing for at, thing in drawing.things.items() if at != gone}, numbered)
        read(box.memory)
        assert (sum(box.memory[COST : COST + 5]) == 0) is right, gone
    search = Search(problem, Bounds(), PLAIN, 1)
    search.begin_with(drawing, task.where)
    assert search.found.refused == 0
    assert search.found.drawing is not None
    assert all_holds(task, search.found.drawing)


def test_dust_that_a_lever_lights_and_that_powers_a_piston_by_a_block_is_no_loose_end() -> None:
    """Neither end of the way serves a reader beside it: one is where power comes in, the other is beside a block."""
    text = SPREAD[: SPREAD.index("legend")] + (
        "legend\n  .  air\n  S  block\n  -  dust\n  a  lever  named rope\n  P  piston  facing above  named flap\nend\n"
        "drawing\n  layer 1\n    SSSSS\n  end\n  layer 2\n    a--SP\n  end\n  layer 3\n    .....\n  end\nend\n"
    )
    task = task_for(text)
    assert task.drawn is not None
    box = box_of(task.problem, task.drawn.size)
    fill(box, task.drawn.things, {number: task.where[name] for number, name in enumerate(task.problem.names)})
    read(box.memory)
    trim(box.memory)
    read(box.memory)
    assert sum(box.memory[COST : COST + 5]) == 0


def test_water_that_flows_stays_with_what_holds_it_back() -> None:
    path = LAMPKEEPER.with_name("paddles.circuit")
    task = drawn_task_of(path.read_text(), str(path), str(path.parent))
    assert isinstance(task, Task)
    around_the_foot_of_a_shaft = {(1, 2, 4), (2, 1, 4), (2, 2, 3), (2, 2, 4), (2, 2, 5), (2, 3, 4), (3, 2, 4)}
    assert around_the_foot_of_a_shaft <= {at for at, _ in task.problem.staying.places}
