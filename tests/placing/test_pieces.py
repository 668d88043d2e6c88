"""Circuits laid out in pieces, which are placed and joined by dust: what comes out is the circuit, part for part.

What is asked of each layout is asked of the true reading of drawings, not of the layouter.
"""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest

from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.cli import main
from circuitcheck.language.load import load_text
from circuitcheck.model.drawing import Drawing
from circuitcheck.placing.bounds import Bounds, places_of
from circuitcheck.placing.compiled import PLAIN as AS_ONE
from circuitcheck.placing.pieces.in_pieces import PieceSearch, begin_in_pieces, is_for_pieces
from circuitcheck.placing.pieces.tools import PLAIN, Tools, compiled_tools, tools_for
from circuitcheck.placing.problem import CantPlace, problem_of
from circuitcheck.placing.smallest_box import Ended, Found, Search
from circuitcheck.placing.true_reading import wrong_with
from circuitcheck.space.circuit import read

LONG = int(os.environ.get("CIRCUITCHECK_PIECES", "0"))
"""How many random circuits, of up to thirty parts."""


def a_circuit(seed: int, parts: int) -> str:
    """A random circuit: levers, then torches and repeaters fed by what stands before them or after, and lamps."""
    rng = random.Random(seed)
    inputs = max(2, parts // 5)
    devices = parts - inputs - max(1, parts // 8)
    names = [f"rope{number}" for number in range(inputs)] + [f"wheel{number}" for number in range(devices)]
    lines = ["language 1", "rules newer", *(f"lever rope{number}" for number in range(inputs))]
    for number in range(devices):
        known = [each for each in names if each != f"wheel{number}"]
        feeds = rng.sample(known[: inputs + number] or known, 1)
        if rng.random() < 0.35:
            feeds += rng.sample([each for each in known if each not in feeds], 1)
        word = rng.choice(("torch", "torch", "torch", "repeater"))
        lines.append(f"{word} wheel{number} from {', '.join(feeds)}")
    lines += [f"lamp lamp{number} from {rng.choice(names[inputs:])}" for number in range(parts - inputs - devices)]
    return "\n".join(lines) + "\n"


def laid_out(text: str, moves: int, seed: int = 1, bounds: Bounds | None = None, by_hand: bool = True) -> Found:
    problem = problem_of(load_text(text).studies[0].circuit)
    return PieceSearch(problem, bounds or Bounds(), PLAIN, moves, seed, by_hand=by_hand).run()


def first_found(text: str, moves: int) -> Drawing:
    """The first layout that some seed comes to."""
    found = (laid_out(text, moves, seed).drawing for seed in range(1, 9))
    return next(drawing for drawing in found if drawing is not None)


@pytest.mark.parametrize("seed", range(LONG or 4))
def test_a_random_circuit_is_read_back_as_itself(seed: int) -> None:
    text = a_circuit(seed, 30 if LONG and seed % 2 else 9 + seed % 4)
    drawing = first_found(text, 300_000 if LONG else 15_000)
    assert wrong_with(load_text(text).studies[0].circuit, drawing) == []


STRAIGHT = """\
lever rope
lever bar
repeater first from rope
repeater second from first delay 2t
repeater held from second locked by bolt
repeater bolt from bar
torch shut from held, bar
lamp sign from shut, second
"""


def test_parts_that_point_straight_into_one_another_stay_together() -> None:
    """A chain of repeaters, and one that locks another: the wiring graph knows which point straight (rule C3)."""
    text = STRAIGHT.replace(", second", "")
    problem = problem_of(load_text(text).studies[0].circuit)
    assert [name for name, straight in zip(problem.names, problem.straight, strict=True) if straight] == [
        "first",
        "second",
        "bolt",
    ]
    assert laid_out(text, 1).pieces == 5
    assert wrong_with(load_text(text).studies[0].circuit, first_found(text, 15_000)) == []


def test_dust_that_is_given_out_has_its_name() -> None:
    text = "lever rope\ntorch shut from rope\ndust line from shut\ntorch open from line\noutput sign from line\n"
    drawing = first_found(text, 15_000)
    assert "line" in drawing.names.values()
    assert wrong_with(load_text(text).studies[0].circuit, drawing) == []


@pytest.mark.parametrize("sources", [("torch", "torch"), ("torch", "repeater", "torch"), ("repeater", "lever")])
def test_parts_that_give_out_one_dust_stand_around_it(sources: tuple[str, ...]) -> None:
    lines = ["lever rope", "lever bar"]
    for number, word in enumerate(sources):
        lines.append(f"{word} no.{number}" + ("" if word == "lever" else f" from {'bar' if number % 2 else 'rope'}"))
    text = "\n".join(
        [*lines, "junction out joins no.*", "output sign from out", "torch shut from out", "lamp l from shut"]
    )
    drawing = first_found(f"rules newer\n{text}\n", 20_000)
    assert "out" in drawing.names.values()
    assert wrong_with(load_text(f"rules newer\n{text}\n").studies[0].circuit, drawing) == []


def test_a_hand_comes_to_all_levers() -> None:
    """From above, or from a side of the box: there a lever may be pushed under something."""
    drawing = first_found(a_circuit(3, 12), 15_000)
    levers = [at for at, name in drawing.names.items() if name.startswith("rope")]
    assert levers
    layers, rows, columns = drawing.size
    for layer, row, column in levers:
        open_above = not any((above, row, column) in drawing.things for above in range(layer + 1, layers + 1))
        assert open_above or row in (1, rows) or column in (1, columns)


def test_what_was_found_is_made_smaller_and_stays_the_circuit() -> None:
    """With the budget that the first layout takes, and with more: then slices are taken out, and it is still itself."""
    text = a_circuit(1, 10)
    problem = problem_of(load_text(text).studies[0].circuit)
    search = PieceSearch(problem, Bounds(), PLAIN, 40_000 if LONG else 16_000)
    told: list[int] = []
    search.tells = lambda what: told.append(0 if search.found.drawing is None else places_of(search.found.drawing.size))
    found = search.run()
    assert found.drawing is not None
    first = next(places for places in told if places)
    assert places_of(found.drawing.size) < first
    assert found.refused == 0
    assert wrong_with(problem.circuit, found.drawing) == []


def test_compiled_code_does_the_same() -> None:
    """CIRCUITCHECK_COMPILED=1 asks for it, as compiling takes some ten seconds; else both are the plain functions."""
    tools = compiled_tools() if "CIRCUITCHECK_COMPILED" in os.environ else tools_for(1)
    problem = problem_of(load_text(a_circuit(6, 12)).studies[0].circuit)
    assert PieceSearch(problem, Bounds(), tools, 4_000).run() == PieceSearch(problem, Bounds(), PLAIN, 4_000).run()


def test_five_hundred_parts_are_bounded_and_say_what_is_left() -> None:
    found = laid_out(a_circuit(7, 500), 400)
    assert found.drawing is None
    assert found.ended is Ended.MOVES
    assert found.moves < 600
    assert found.left
    assert all("lacks what" in each or "does not come to" in each or "no room" in each for each in found.left)


def test_the_partial_layout_is_all_of_the_circuit_but_what_is_left() -> None:
    """Whatever a partial layout says that it lacks, and nothing else, is wrong in it."""
    text = a_circuit(8, 30)
    found = laid_out(text, 4_000)
    assert found.drawing is None
    assert found.partial is not None
    circuit = load_text(text).studies[0].circuit
    assert wrong_with(circuit, found.partial)
    fed = {
        (line.split()[1], each.strip(","))
        for line in text.splitlines()[2:]
        if " from " in line
        for each in line.split()[3:]
    }
    made = wiring(read(found.partial, circuit.rules, "").circuit)
    drawn = {(reader, source) for reader, inputs in made.inputs.items() for _, source in inputs}
    assert drawn <= fed
    told = "\n".join(found.left)
    for reader, source in fed - drawn:
        assert f"'{reader}' lacks" in told or f"what '{source}' gives does not come" in told


@pytest.mark.parametrize(
    ("text", "bounds", "why"),
    [
        (a_circuit(1, 30), Bounds(layers=3), "4 layers"),
        (a_circuit(1, 30), Bounds(4, 3, 2), "too small"),
        (
            "lever a\nlever b\ncomparator c from a side b subtract\nlamp o from c\ntorch t from c\n",
            Bounds(),
            "levels lost",
        ),
    ],
)
def test_what_pieces_can_t_do_is_said_at_once(text: str, bounds: Bounds, why: str) -> None:
    with pytest.raises(CantPlace, match=why):
        laid_out(text, 1_000, bounds=bounds)


def test_many_parts_go_in_pieces_and_few_as_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    few, many = (problem_of(load_text(a_circuit(1, parts)).studies[0].circuit) for parts in (25, 26))
    assert not is_for_pieces(few)
    assert is_for_pieces(many)
    file, made = tmp_path / "many.circuit", tmp_path / "drawn.circuit"
    file.write_text(a_circuit(6, 26))
    with pytest.raises(SystemExit) as ended:
        main(["draw", str(file), "--moves", "15000", "--write", str(made), "--quiet"])
    assert ended.value.code == 0
    out = capsys.readouterr().out
    assert "26 pieces placed and joined by dust" in out
    assert "larger than a person would build it" in out
    with pytest.raises(SystemExit) as ended:
        main(["verify", str(made)])
    assert ended.value.code == 0


def test_what_is_annealed_as_one_still_says_how_many_parts_it_takes() -> None:
    problem = problem_of(load_text(a_circuit(1, 63)).studies[0].circuit)
    with pytest.raises(CantPlace, match="62 at most"):
        Search(problem, Bounds(), AS_ONE, 1)


def test_no_pieces_are_compiled_where_there_is_no_time_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[int] = []

    def noted(moves: int) -> Tools:
        asked.append(moves)
        return PLAIN

    monkeypatch.setattr("circuitcheck.placing.pieces.in_pieces.tools_for", noted)
    problem = problem_of(load_text(a_circuit(1, 12)).studies[0].circuit)
    for compiles in (False, True):
        search = Search(problem, Bounds(), AS_ONE, 400)
        begin_in_pieces(search, problem, Bounds(), 400, 1, None, by_hand=True, compiles=compiles)
    assert asked == [0, 100]


def test_annealing_begins_with_a_layout_in_pieces() -> None:
    problem = problem_of(load_text(a_circuit(1, 16 if LONG else 12)).studies[0].circuit)
    searches = []
    for begins in (False, True):
        search = Search(problem, Bounds(), AS_ONE, 100)
        if begins:
            begin_in_pieces(search, problem, Bounds(), 120_000 if LONG else 60_000, 1, None, by_hand=True)
        searches.append(search.run())
    alone, begun = searches
    assert alone.drawing is None
    assert begun.drawing is not None
    assert not wrong_with(problem.circuit, begun.drawing)
    assert 100 < begun.moves <= 32_000
