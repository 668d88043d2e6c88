"""What an author says of a layer to whoever builds it: read, carried with pieces, laid out, printed, and never obeyed.

No source: the line is the language's own, as `grammar/README.md` has it.
"""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from circuitcheck.editor.analysis import analyse
from circuitcheck.editor.completion import offers
from circuitcheck.language.layout import laid_out
from circuitcheck.language.load import load_text
from circuitcheck.model.drawing import Drawing

from .calling import Caller

LEGEND = """legend
  .  air
  S  block
  i  lever  named rope
  O  lamp   named bell
end

"""
TOLD = (
    LEGEND
    + """drawing
  layer 1 "The floor."
    SSS
  end
  layer 2 "The rope lies west,", # a remark goes on
          "the bell beside it."
    iO.
  end
  layer 3 to 4 "Only air."
    ...
  end
end
"""
)
PIECES = (
    LEGEND.replace("  named rope", "").replace("   named bell", "")
    + """piece post
  layer 1 "A lever on its block."
    S
  end
  layer 2
    i
  end
end
drawing
  layer 1 "Two posts."
    ...
  end
  layer 2
    ...
  end
  layer 3
    ...
  end
  put post at layer 2 row 1 column 1
  put post at layer 2 row 1 column 3, turned around
end
"""
)
HOSTILE = "</script><img src=x onerror=window.struck=1> & \u202eturned [/bold]"


def drawn(text: str) -> Drawing:
    loaded = load_text(text, "mill.circuit", ".")
    assert loaded.diagnostics == ()
    drawing = loaded.studies[0].circuit.drawing
    assert drawing is not None
    return drawing


def test_each_layer_has_its_own_words_and_layers_drawn_alike_share_theirs() -> None:
    assert drawn(TOLD).words == {
        1: ("The floor.",),
        2: ("The rope lies west,", "the bell beside it."),
        3: ("Only air.",),
        4: ("Only air.",),
    }


def test_words_of_a_piece_come_to_the_layer_that_it_is_put_into_and_once() -> None:
    assert drawn(PIECES).words == {1: ("Two posts.",), 2: ("A lever on its block.",)}


def test_words_change_nothing_else_of_a_drawing() -> None:
    silent = TOLD.replace('"The rope lies west,", # a remark goes on\n          "the bell beside it."', "")
    silent = silent.replace(' "The floor."', "").replace(' "Only air."', "")
    assert '"' not in silent
    assert drawn(silent).things == drawn(TOLD).things
    assert drawn(silent).words == {}


def test_the_layout_keeps_words_and_is_its_own_layout() -> None:
    once, mistakes = laid_out(TOLD, "mill.circuit")
    assert mistakes == []
    assert drawn(once).words == drawn(TOLD).words
    assert laid_out(once, "mill.circuit")[0] == once


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("layer 1 The floor.", "CKT101"),
        ('layer 1 "a" "b"', "CKT101"),
        ('layer 1 "a" to 2', "CKT101"),
        ('layer 1 "a",', "CKT101"),
    ],
)
def test_a_slip_in_words_gets_one_mistake_at_its_line(line: str, code: str) -> None:
    loaded = load_text(TOLD.replace('layer 1 "The floor."', line), "mill.circuit", ".")
    assert [each.code for each in loaded.diagnostics][:1] == [code]
    assert loaded.diagnostics[0].span.line in (9, 10)


def test_an_editor_offers_a_text_behind_the_number_of_a_layer() -> None:
    text = TOLD.replace('layer 1 "The floor."', "layer 1 ")
    line = text.split("\n").index("  layer 1 ") + 1
    assert '""' in [each.text for each in offers(analyse(text, "/mill/sluice.circuit"), line, 11)]


def test_sheets_say_the_words_beside_their_layer_and_as_data(call: Caller, tmp_path: Path) -> None:
    (tmp_path / "mill.circuit").write_text(TOLD, encoding="utf-8")
    printed = call("sheets", "mill.circuit").out
    first, second = printed.index("layer 1"), printed.index("layer 2")
    assert first < printed.index("The floor.") < second < printed.index("the bell beside it.")
    told = json.loads(call("sheets", "mill.circuit", "--json").out)
    assert [stage["words"] for stage in told["stages"]] == [
        ["The floor."],
        ["The rope lies west,", "the bell beside it."],
    ]


def test_the_picture_of_the_layers_says_the_words_below_their_layer(call: Caller, tmp_path: Path) -> None:
    (tmp_path / "mill.circuit").write_text(TOLD.replace("The floor.", HOSTILE), encoding="utf-8")
    assert call("sheets", "mill.circuit", "--svg", "mill.svg").code == 0
    drawn = (tmp_path / "mill.svg").read_text(encoding="utf-8")
    rows = [each.text or "" for each in ElementTree.fromstring(drawn).iter("{http://www.w3.org/2000/svg}text")]
    heading, words, letter = (
        next(number for number, row in enumerate(rows) if each in row)
        for each in ("layer 2,", "“the bell beside it.”", "O  lamp")
    )
    assert heading < words < letter
    assert any("[/bold]" in row for row in rows)
    assert "\u202e" not in drawn


def test_hostile_words_are_printed_as_text(call: Caller, tmp_path: Path) -> None:
    (tmp_path / "mill.circuit").write_text(TOLD.replace("The floor.", HOSTILE), encoding="utf-8")
    printed = call("sheets", "mill.circuit").out
    assert "[/bold]" in printed
    assert "\u202e" not in printed
