"""Where things are to stand, and what stays free: asked of a layout, and asked of what was found without the layouter.

The least box with places asked for is held against every drawing of tiny boxes.
"""

from __future__ import annotations

import json
from itertools import product
from pathlib import Path
from random import Random

import pytest

from circuitcheck.cli import main
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import ABOVE, BELOW, EAST, NORTH, SOUTH, WEST, At, Direction, Drawing
from circuitcheck.placing.asked_places import Asked, Spot
from circuitcheck.placing.bounds import Bounds, places_of
from circuitcheck.placing.box import box_of, fill
from circuitcheck.placing.compiled import PLAIN
from circuitcheck.placing.contradictions import refuse_contradictions
from circuitcheck.placing.exact import least_box
from circuitcheck.placing.exact_places import Box
from circuitcheck.placing.exact_wanted import wanted
from circuitcheck.placing.fast_reading import read
from circuitcheck.placing.grid import COST
from circuitcheck.placing.problem import CantPlace, Problem, problem_of
from circuitcheck.placing.smallest_box import Found, Search
from circuitcheck.placing.task import Task, drawn_task_of
from circuitcheck.placing.true_reading import wrong_with, wrong_with_piece

from .drawn_boxes import every
from .random_drawings import changed
from .test_draw import INVERTER, NAND, REPEATED, SPREAD, called

LIT = "lever rope\nlamp sign from rope\n"
GATE = NAND.replace("output", "torch shut from out\nlamp bell from shut\noutput")

MANY = "lever a\ntorch t0 from a\n" + "".join(f"torch t{each + 1} from t{each}\n" for each in range(499))


def circuit_of(text: str) -> Circuit:
    return load_text(text).studies[0].circuit


def found_for(text: str, asked: Asked, moves: int = 12_000, seed: int = 1, bounds: Bounds | None = None) -> Found:
    problem = problem_of(circuit_of(text), asked=asked)
    return Search(problem, bounds or Bounds(), PLAIN, moves, seed).run()


def side(*sides: Direction) -> Spot:
    return Spot(frozenset(sides))


def place(layer: int, row: int, column: int) -> Spot:
    return Spot(low=(layer, row, column), high=(layer, row, column))


def where(drawing: Drawing) -> dict[str, At]:
    return {name: at for at, name in drawing.names.items()}


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_things_stand_on_the_sides_that_are_asked_for(seed: int) -> None:
    sides = {"a": side(NORTH), "b": side(SOUTH), "bell": side(ABOVE, EAST), "sign": side(WEST)}
    drawing = found_for(GATE, Asked(sides), seed=seed, moves=40_000).drawing
    assert drawing is not None
    layers, rows, columns = drawing.size
    at = where(drawing)
    assert (at["a"][1], at["b"][1]) == (1, rows)
    assert (at["bell"][0], at["bell"][2]) == (layers, columns)
    assert at["out"][2] == 1  # the output 'sign' is the dust 'out'
    assert not wrong_with(circuit_of(GATE), drawing)


def test_things_stand_at_the_places_that_are_asked_for_and_free_ones_stay_free() -> None:
    free = (Spot(low=(1, 2, 1), high=(3, 2, 2)),)
    asked = Asked({"a": place(2, 1, 3), "out": Spot(low=(2, 3, 1), high=(3, 3, 999))}, free)
    drawing = found_for(NAND, asked, moves=60_000).drawing
    assert drawing is not None
    assert where(drawing)["a"] == (2, 1, 3)
    assert where(drawing)["out"][1] == 3
    assert not [at for at in drawing.things if at[1] == 2 and at[2] <= 2]
    assert not wrong_with(circuit_of(NAND), drawing)


def test_a_drawing_that_is_not_as_asked_is_begun_with_and_laid_out_as_asked() -> None:
    asked = Asked({"rope": side(EAST), "open": side(WEST)})
    task = drawn_task_of(SPREAD, "mill.circuit", ".", asked=asked)
    assert isinstance(task, Task)
    assert task.drawn is not None
    search = Search(task.problem, Bounds(), PLAIN, 20_000)
    search.begin_with(task.drawn, task.where)
    drawing = search.run().drawing
    assert drawing is not None
    assert (where(drawing)["rope"][2], where(drawing)["open"][2]) == (drawing.size[2], 1)
    assert places_of(drawing.size) < places_of(task.drawn.size)


def row(first: int, last: int) -> Spot:
    return Spot(low=(2, 1, first), high=(2, 1, last))


def test_things_that_are_more_than_their_places_are_refused_by_counting() -> None:
    """Held against trying all ways to give each thing a place of its own."""
    rng, refused = Random(5), 0
    names = ("a", "b", "no.1", "no.2", "bell", "shut")
    for _ in range(60):
        asked = {name: row(first := rng.randint(1, 4), first + rng.choice((0, 0, 1, 2))) for name in names}
        free = (place(2, 1, rng.randint(1, 5)),) if rng.random() < 0.3 else ()
        choices = [
            [at for at in spot.places((2, 1, 6)) if not any(each.low == at for each in free)] for spot in asked.values()
        ]
        stands = any(len({*each}) == len(names) for each in product(*choices))
        problem = problem_of(circuit_of(GATE), asked=Asked(asked, free))
        try:
            refuse_contradictions(problem, Bounds(3, 3, 6), by_hand=False)
        except CantPlace:
            assert not stands, asked
            refused += 1
        else:
            assert stands, asked
    assert 10 < refused < 60


@pytest.mark.parametrize(
    ("text", "asked", "bounds", "why"),
    [
        (LIT, Asked({"rop": side(NORTH)}), Bounds(), "no part and no output called 'rop'"),
        (
            LIT,
            Asked({"rope": side(NORTH, SOUTH)}),
            Bounds(),
            "'rope' is to stand north south: on opposite sides at once",
        ),
        (LIT, Asked({"rope": place(1, 1, 1), "sign": place(1, 1, 1)}), Bounds(), "room for 1 only"),
        (
            GATE,
            Asked({"a": row(1, 2), "b": row(2, 2), "bell": row(1, 1), "shut": row(4, 6)}),
            Bounds(),
            "2 places only are where 'a', 'b', 'bell' may stand as asked: layer 2 row 1 column 1; layer 2 row 1 column",
        ),
        (LIT, Asked({"rope": row(1, 2)}, (row(1, 1), row(2, 2))), Bounds(), "no place is where 'rope' may stand"),
        (LIT, Asked({"rope": place(1, 1, 4)}), Bounds(3, 3, 3), "outside of a box of 3x3x3"),
        (LIT, Asked({"rope": place(1, 2, 2), "sign": place(3, 3, 3)}), Bounds(), "no hand comes to it"),
        (LIT, Asked({"rope": place(1, 2, 2)}, (Spot(low=(1, 2, 1), high=(9, 2, 9)),)), Bounds(), "which is kept free"),
        (LIT, Asked({"rope": side(BELOW)}, (Spot(high=(1, 999, 999)),)), Bounds(), "which is kept free"),
        (LIT, Asked({"rope": Spot(frozenset({WEST}), low=(1, 1, 3))}), Bounds(), "which is nowhere"),
        (LIT, Asked({}, (Spot(low=(1, 1, 1), high=(1, 2, 2)),)), Bounds(1, 2, 2), "leaves 0 places, and 2 are needed"),
        (NAND, Asked({"sign": side(BELOW)}), Bounds(), "nothing is below it to lie on"),
        (REPEATED, Asked({"winch": Spot(high=(1, 9, 9))}), Bounds(), "nothing is below it to lie on"),
        (MANY, Asked({"a": side(NORTH)}), Bounds(), "it has 501 parts, and 62 at most"),
        (LIT, Asked(enters={"sign": NORTH}), Bounds(), "'sign' is no lever or button"),
        (LIT, Asked(enters={"rope": ABOVE}), Bounds(), "can't lead up or down"),
    ],
)
def test_what_contradicts_itself_is_refused_at_once(text: str, asked: Asked, bounds: Bounds, why: str) -> None:
    with pytest.raises(CantPlace) as refused:
        found_for(text, asked, 1, bounds=bounds)
    assert why in refused.value.args[0]


def least_of_every(words: list[str], circuit: Circuit, asked: Asked, boxes: list[Box]) -> int:
    """The places of the first of some boxes that has a drawing of a circuit in which each part is as asked."""
    for box in boxes:
        for drawing in every(box, words):
            kept = all(spot.has(where(drawing)[name], drawing.size) for name, spot in asked.at.items())
            free = not any(spot.has(at, drawing.size) for spot in asked.free for at in drawing.things)
            if kept and free and not wrong_with(circuit, drawing):
                return box.volume
    return 0


@pytest.mark.parametrize(
    "asked",
    [
        Asked(),
        Asked({"p0": side(NORTH), "p2": side(SOUTH)}),
        Asked({"p0": side(ABOVE), "p2": side(BELOW)}),
        Asked({"p2": place(1, 1, 2)}, (Spot(high=(1, 1, 1)),)),
        Asked({"p0": place(2, 1, 1)}, (Spot(low=(2, 1, 2), high=(2, 1, 3)),)),
    ],
)
def test_the_least_box_as_asked_is_that_of_every_drawing(asked: Asked) -> None:
    """The enumeration knows nothing of the search; both are judged by the true reading."""
    circuit = circuit_of("lever p0\ntorch p1 from p0\nlamp p2 from p1\n")
    sizes = [(3, 1, 1), (1, 3, 1), (1, 1, 3), (4, 1, 1), (1, 4, 1), (2, 2, 1), (2, 1, 2), (1, 2, 2), (1, 1, 4)]
    boxes = [Box(*size) for size in sizes]
    least = least_of_every(["lever", "torch", "lamp"], circuit, asked, boxes)
    result = least_box(wanted(circuit, (), asked), 4, in_reach=False)
    assert (result.found.box.volume if result.found else 0) == least
    if result.found is not None and result.found.drawing is not None:
        assert not asked.not_kept(result.found.drawing)


PIECE = Asked(enters={"a": WEST, "b": WEST}, leaves={"sign": EAST})
"""A piece between two others."""


def piece_in_a_box(problem: Problem, drawing: Drawing) -> list[int]:
    box = box_of(problem, drawing.size)
    at = where(drawing)
    fill(box, drawing.things, {number: at[name] for number, name in enumerate(problem.names)})
    read(box.memory)
    return list(box.memory[COST : COST + 5])


@pytest.mark.parametrize("seed", [1, 2])
def test_power_enters_a_piece_and_leaves_it_at_the_faces_that_are_asked_for(seed: int) -> None:
    found = found_for(NAND, PIECE, 30_000, seed)
    drawing = found.drawing
    assert drawing is not None
    assert found.refused == 0
    at = where(drawing)
    assert (at["a"][2], at["b"][2], at["out"][2]) == (1, 1, drawing.size[2])
    assert {drawing.things[at[name]].word for name in ("a", "b", "out")} == {"dust"}


def test_the_fast_reading_of_pieces_and_the_true_one_agree() -> None:
    """On a piece and small changes of it: rules W1 to W8 (common practice, no source) twice."""
    rng, same, different = Random(7), 0, 0
    problem = problem_of(circuit_of(NAND), asked=PIECE)
    for seed in (1, 2, 3, 4):
        drawing = Search(problem, Bounds(), PLAIN, 2_000, seed).run().drawing
        assert drawing is not None
        for _ in range(60):
            mutant = changed(rng, drawing)
            if mutant is None or mutant.names != drawing.names:
                continue
            right = piece_in_a_box(problem, mutant) == [0] * 5
            assert right is (not wrong_with_piece(problem, mutant)), mutant
            same, different = same + right, different + (not right)
    assert same
    assert different


def test_a_torch_that_is_given_out_leaves_by_dust() -> None:
    text = "lever a\ntorch shut from a\noutput sign from shut\n"
    found = found_for(text, Asked(enters={"a": NORTH}, leaves={"sign": SOUTH}))
    assert found.drawing is not None
    assert where(found.drawing)["shut leaves"][1] == found.drawing.size[1]
    assert found.refused == 0


def test_what_is_asked_is_said_and_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(INVERTER)
    call = ["draw", str(mill), "--moves", "3000", "--at", "rope=north", "--at", "rope=layer 2", "--free", "layer 3"]
    assert called(*call) == 0
    assert "as asked: 'rope' north layer 2; layer 3 kept free" in capsys.readouterr().out
    assert called(*call, "--json") == 0
    data = json.loads(capsys.readouterr().out)["draw"]
    assert data["asked"] == {"at": {"rope": "north layer 2"}, "free": ["layer 3"], "tiles": [], "fewest_things": False}
    drawn = load_text(data["text"]).studies[0].drawn
    assert drawn is not None
    assert drawn.where["rope"][:2] == (2, 1)
    assert called("draw", str(mill), "--least", "--at", "rope=west", "--at", "sign=east") == 0
    assert "every smaller box within the places that are asked for is excluded" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--at", "rope=layer 3 to 1"], "'layer 3 to 1' ends before it begins: write 'layer 1 to 3'"),
        (["--free", "row 2 column 12 to 9"], "'column 12 to 9' ends before it begins: write 'column 9 to 12'"),
        (["--at", "rope=row 1 row 2"], "'row 2' says row a second time"),
        (["--at", "rope=layer 0"], "'layer 0' is no place: a layer is a number from 1 to 99"),
        (["--free", f"column 1 to {'9' * 5000}"], "is no place: a column is a number from 1 to 99"),
    ],
)
def test_numbers_that_are_no_place_are_told_with_what_to_write(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str], why: str
) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(INVERTER)
    assert called("draw", str(mill), *words) == 2
    assert why in " ".join(capsys.readouterr().err.split())


@pytest.mark.parametrize(
    "words",
    [
        ["--at", "rope"],
        ["--at", "=north"],
        ["--at", "rope="],
        ["--at", "rope=up"],
        ["--at", "rope=layer"],
        ["--at", "rope=layer 0"],
        ["--at", "rope=layer 3 to 2"],
        ["--at", "rope=row 1 row 2"],
        ["--free", ""],
        ["--free", "north"],
        ["--free", "layer 100"],
        ["--at", "rope=layer 50"],
    ],
)
def test_words_that_say_no_place_are_refused_in_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(INVERTER)
    assert called("draw", str(mill), *words) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert "Traceback" not in err


def test_what_is_left_names_dust_for_which_a_place_is_sought() -> None:
    asked = Asked({"out": side(NORTH), "a": side(SOUTH)})
    found = found_for(f"{NAND}output more from no.1\n", asked, 2000, bounds=Bounds(2, 1, 3))
    assert found.drawing is None
    assert found.left


def test_copies_of_what_is_laid_out_to_be_tiled_stand_side_by_side(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Judged by `tile`, of the file as it is written; some of what is laid out without that can't stand so."""
    gate = tmp_path / "gate.circuit"
    gate.write_text(f"{NAND}lamp bell from out\n".replace("output sign from out\n", ""))
    call = ["draw", str(gate), "--moves", "6000"]
    judged: dict[str, list[tuple[int, int]]] = {"tiled": [], "alone": []}
    for seed in ("1", "2", "3", "4"):
        for name, words in (("tiled", ["--tiles", "south"]), ("alone", [])):
            path = tmp_path / f"{name}{seed}.circuit"
            assert called(*call, "--seed", seed, *words, "--write", str(path)) == 0
            told = capsys.readouterr().out
            assert ("copies stand side by side south" in told) is (name == "tiled")
            assert ("hint: of so few parts --least" in told) is (name == "alone")
            drawn = load_text(path.read_text()).studies[0].drawn
            assert drawn is not None
            assert drawn.drawing is not None
            with pytest.raises(SystemExit) as ended:
                main(["tile", str(path), "--south", str(drawn.drawing.extent[1])])
            judged[name].append((int(str(ended.value.code)), places_of(drawn.drawing.extent)))
    assert {code for code, _ in judged["tiled"]} == {0}
    assert 1 in {code for code, _ in judged["alone"]}
    assert min(places for _, places in judged["alone"]) <= min(places for _, places in judged["tiled"])
    assert called(*call, "--tiles", "south", "--least") == 2
    assert called(*call, "--tiles", "up") == 2


ON_THE_LAMP = """\
legend
  .  air
  a  lever  named rope
  O  lamp   named bell
end

drawing
  layer 1
    O
  end
  layer 2
    a
  end
end
"""


def test_a_larger_drawing_that_is_as_asked_is_told_as_such(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing is smaller than two places. A copy right beside them has its lamp beside a lever that powers it."""
    mill, made = tmp_path / "mill.circuit", tmp_path / "made.circuit"
    mill.write_text(ON_THE_LAMP)
    call = ["compact", str(mill), "--moves", "1000"]
    assert called(*call) == 0
    assert "so this is larger" not in capsys.readouterr().out
    assert called(*call, "--tiles", "east", "--width", "200", "--write", str(made)) == 1
    told = capsys.readouterr().out
    assert "more; nothing smaller was found that is as asked: what is drawn before is not, so this is larger" in told
    drawn = load_text(made.read_text()).studies[0].circuit.drawing
    assert drawn is not None
    with pytest.raises(SystemExit) as ended:
        main(["tile", str(made), "--east", str(drawn.extent[2])])
    assert ended.value.code == 0
