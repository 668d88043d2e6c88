"""Layouts as text: things keep the letters, names and spelling of their author, where these are so still."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from circuitcheck.language.load import load_text
from circuitcheck.model.drawing import MATTERS, Drawing, Thing
from circuitcheck.placing.asked_places import Asked
from circuitcheck.placing.bounds import Bounds
from circuitcheck.placing.compiled import PLAIN
from circuitcheck.placing.holding import Holding
from circuitcheck.placing.smallest_box import Search
from circuitcheck.placing.task import Task, drawn_task_of
from circuitcheck.placing.written import with_drawing
from circuitcheck.verify import verify_text

from .test_draw import called

TWO_BELLS = """\
legend
  .  air
  S  block
  -  dust
  a  lever     named rope
  >  repeater  facing east delay 1t named winch
  O  lamp      named bell
end

drawing
  layer 1
    .SSSSS.
  end
  layer 2
    Oa-->-O
  end
end

check "the rope rings both bells"
  at 1s    rope on
  by 1.5s  expect bell.1 and bell.2
end
"""
LEGEND = TWO_BELLS[: TWO_BELLS.index("drawing")]


def laid_out(text: str, *stays: str) -> str:
    task = drawn_task_of(text, "mill.circuit", ".", asked=Asked(stays=stays))
    assert isinstance(task, Task)
    assert task.drawn is not None
    search = Search(task.problem, Bounds(), PLAIN, 3000, allows=Holding(task).allows)
    search.begin_with(task.drawn, task.where)
    drawing = search.run().drawing
    assert drawing is not None
    assert task.is_other(drawing)
    return task.with_drawing(drawing)


def drawing_in(text: str) -> Drawing:
    loaded = load_text(text)
    assert not loaded.diagnostics
    drawing = loaded.studies[0].circuit.drawing
    assert drawing is not None
    return drawing


def lamps(*names: str, letter: str = "O") -> Drawing:
    """Lamps beside each other, each with a name; all have one letter."""
    things = {(1, 1, column): Thing(MATTERS["lamp"], letter) for column in range(1, len(names) + 1)}
    named = {at: name for at, name in zip(things, names, strict=True) if name}
    return Drawing(things, named, size=(1, 1, len(names)))


@pytest.mark.parametrize("stays", [(), ("bell.2",), ("bell.1", "winch")])
def test_of_several_things_of_one_letter_some_may_be_laid_out_again(stays: tuple[str, ...]) -> None:
    made = laid_out(TWO_BELLS, *stays)
    assert sorted(drawing_in(made).names.values()) == ["bell.1", "bell.2", "rope", "winch"]
    assert {outcome.verdict.value for outcome in verify_text(made).outcomes} == {"holds"}


@pytest.mark.parametrize("said", ["delay 1t", "", "delay 3t"])
def test_a_usual_setting_is_spelled_as_its_author_spells_it(said: str) -> None:
    made = laid_out(TWO_BELLS.replace("delay 1t", said))
    line = next(line for line in made.splitlines() if "repeater" in line)
    assert ("delay" in line) is bool(said)
    assert said in line


def test_both_drawings_of_a_report_spell_alike(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mill = tmp_path / "mill.circuit"
    mill.write_text(TWO_BELLS)
    assert called("compact", str(mill), "--moves", "3000", "--width", "130") == 0
    told = capsys.readouterr().out
    assert "before" in told
    assert told.count(", delay 1t: winch") == 2


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (("bell",), ["bell"]),  # as its author calls it
        (("bell.1", "bell.2"), ["bell"]),
        (("bell.2",), ["bell.2"]),  # the other is gone, or has no letter of its author's
        (("bell.2", "bell.1"), ["bell.1", "bell.2"]),  # they have changed places
        (("bell.1", "bell.2", "sign"), ["bell.1", "bell.2", "sign"]),  # the letter of another legend
        (("sign",), ["sign"]),
    ],
)
def test_a_letter_stands_for_what_its_legend_says_only_if_that_gives_the_right_names(
    names: tuple[str, ...], said: list[str]
) -> None:
    made = with_drawing(LEGEND, "mill.circuit", lamps(*names))
    assert drawing_in(made).names == lamps(*names).names
    new = made[made.index("\nend") :]
    assert sorted(line.split("named ")[1] for line in new.splitlines() if "lamp" in line) == (
        [] if said == ["bell"] else said
    )


def test_what_its_author_names_by_its_place_keeps_that_name() -> None:
    """The letter says no name; one of the lamps has none."""
    legend = LEGEND.replace("O  lamp      named bell", "O  lamp")
    made = with_drawing(legend, "mill.circuit", lamps("", "bell"))
    assert drawing_in(made).names == {(1, 1, 2): "bell"}
    assert drawing_in(made).things[1, 1, 1].letter == "O"


def test_a_drawing_alone_begins_the_file() -> None:
    assert with_drawing("", "mill.circuit", lamps("bell", letter="")).startswith("legend\n")


def test_a_part_of_other_settings_at_the_place_of_another_keeps_its_own() -> None:
    """Unnamed things are called by their places, where another may have stood."""
    text = TWO_BELLS.replace(" named winch", "")
    task = drawn_task_of(text, "mill.circuit", ".")
    assert isinstance(task, Task)
    assert task.drawn is not None
    at = next(at for at, thing in task.drawn.things.items() if thing.word == "repeater")
    other = replace(task.drawn.things[at], numbers=(("delay", 4),), letter="")
    made = task.with_drawing(replace(task.drawn, things={**task.drawn.things, at: other}))
    assert drawing_in(made).things[at].numbers == (("delay", 4),)
