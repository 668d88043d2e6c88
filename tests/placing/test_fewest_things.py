"""Layouts of few things to place: what counts is first how many there are, and then the box."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from pathlib import Path

import pytest

from circuitcheck.cli import main
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.placing.bounds import Bounds
from circuitcheck.placing.compiled import PLAIN
from circuitcheck.placing.exact_places import Box
from circuitcheck.placing.exact_wanted import wanted
from circuitcheck.placing.fewest_things import FewestThings, Rank, rank_of
from circuitcheck.placing.problem import problem_of
from circuitcheck.placing.smallest_box import Ended, Found, Search
from circuitcheck.placing.true_reading import wrong_with
from placing.drawn_boxes import circuit_of, every

NOR = "lever rope\nbutton bell long\ntorch shut from rope, bell\n"
INVERTER = "lever rope\ntorch shut from rope\nlamp sign from shut\n"
NAND = "lever a\nlever b\ntorch no.1 from a\ntorch no.2 from b\njunction out joins no.*\noutput sign from out\n"

LONG = "CIRCUITCHECK_LAYOUTS" in os.environ
WORDS = [
    ("lever", "torch"),
    ("torch", "repeater"),
    ("lever", "lamp"),
    ("button", "repeater"),
    ("lever", "torch", "lamp"),
]

ROOMY = """\
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
    SSSSSSSS
    ........
  end
  layer 2
    a-->---O
    ........
  end
end

check "it opens"
  at 1s  rope on
  by 2s  expect open on
end
"""


def few_for(text: str, moves: int, seed: int = 1) -> Found:
    problem = problem_of(load_text(text).studies[0].circuit)
    found = FewestThings(problem, Bounds(), PLAIN, moves, seed).run()
    assert found.drawing is not None
    assert not wrong_with(problem.circuit, found.drawing)
    return found


def called(*words: str) -> int:
    with pytest.raises(SystemExit) as ended:
        main([*words, "--quiet"])
    return int(str(ended.value.code))


@pytest.mark.parametrize(("text", "parts"), [(NOR, 3), (INVERTER, 3)])
def test_the_least_that_counting_allows_is_reached(text: str, parts: int) -> None:
    """Each part is a thing, and a torch and a lever take one block at least that holds them: common practice, W1."""
    found = few_for(text, 6_000)
    assert found.drawing is not None
    assert rank_of(found.drawing).things == parts + 1


@pytest.mark.parametrize("words", WORDS, ids="-".join)
def test_of_every_drawing_of_a_tiny_box_none_has_fewer_things(words: tuple[str, ...]) -> None:
    """Held by exhaustive search: every drawing is made, and read by the house."""
    box = Box(3, 1, 2) if LONG else Box(2, 1, 2)
    few: dict[str, tuple[Circuit, Rank]] = {}
    for drawing in every(box, words):
        circuit = circuit_of(drawing)
        if circuit is not None:
            wiring = repr(sorted((each.name, each.word, each.straight, each.inputs) for each in wanted(circuit).parts))
            rank = rank_of(drawing)
            if wiring not in few or rank < few[wiring][1]:
                few[wiring] = circuit, rank
    assert few
    for circuit, rank in few.values():
        problem = problem_of(replace(circuit, drawing=None))
        bounds = Bounds(box.height, box.depth, box.width)
        found = FewestThings(problem, bounds, PLAIN, 20_000 if LONG else 1_500).run().drawing
        assert found is not None
        assert rank_of(found) == rank


def test_never_more_things_than_in_the_small_box_that_the_search_begins_with() -> None:
    problem = problem_of(load_text(NAND).studies[0].circuit)
    small = Search(problem, Bounds(), PLAIN, 5_000).run()
    few = few_for(NAND, 10_000)
    assert small.drawing is not None
    assert few.drawing is not None
    assert rank_of(few.drawing) <= rank_of(small.drawing)
    assert few.moves > small.moves


def test_all_moves_go_into_the_search_for_a_box_while_none_is_found() -> None:
    problem = problem_of(load_text(NOR).studies[0].circuit)
    none = FewestThings(problem, Bounds(1, 1, 4), PLAIN, 400).run()
    assert none.drawing is None
    assert none.ended is Ended.MOVES
    assert none.moves >= 400


def test_the_same_search_comes_to_the_same() -> None:
    one, other = few_for(NAND, 6_000, 3), few_for(NAND, 6_000, 3)
    assert (one.drawing, one.moves) == (other.drawing, other.moves)


def test_a_drawing_is_made_of_fewer_things_and_that_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(ROOMY)
    words = ("compact", str(mill), "--fewest-things", "--moves", "6000", "--jobs", "1")
    assert called(*words) == 0
    told = capsys.readouterr().out
    assert "first few things to place, blocks, dust and parts alike, and then the box; here" in told
    assert called(*words, "--json") == 0
    found = json.loads(capsys.readouterr().out)["draw"]
    assert found["asked"]["fewest_things"]
    things = {which: sum(found[which][each] for each in ("blocks", "dust", "parts")) for which in ("found", "before")}
    assert things["before"] == 16
    assert things["found"] < 10


def test_ctrl_c_leaves_the_layout_of_fewest_things(monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(search: FewestThings) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(FewestThings, "_begun", interrupted)
    found = few_for(NOR, 4_000)
    assert found.ended is Ended.STOPPED


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("draw", "--least"), "where boxes are asked in turn"),
        (("compact", "--stays", "winch"), "where something stays as it is drawn"),
        (("draw",), "of a circuit that is laid out in pieces"),
    ],
)
def test_what_has_no_search_for_few_things_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], why: str
) -> None:
    mill = tmp_path / "mill.circuit"
    many = "".join(f"lever rope{each}\nlamp open{each} from rope{each}\n" for each in range(14))
    mill.write_text(ROOMY if words[0] == "compact" else NOR if "--least" in words else many)
    assert called(words[0], str(mill), *words[1:], "--fewest-things") == 2
    assert f"few things are not searched for {why}; leave out --fewest-things" in " ".join(
        capsys.readouterr().err.split()
    )
