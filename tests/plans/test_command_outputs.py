"""What the commands on drawings write: how wide, piped, as a picture, and with names that mean harm.

No source; README (Drawings) and the help of each command say what they do.
"""

from __future__ import annotations

import os
import subprocess
import sys
import unicodedata
from itertools import product
from pathlib import Path

import pytest
from lxml import etree

from .calling import COMMANDS, LATE, MILL, STUCK, Caller, harmless, written
from .drawings import file_of

WORDS = "language 1\nlever rope\nlamp bell from rope\n"

# How wide

WIDE = file_of(
    "/".join(["S" * 60] * 5),
    "/".join([f"a{'-' * 57}O.", f"T{'.' * 58}O", f"m{'.' * 59}", "." * 60, f"{'.' * 20}]S.DO{'.' * 35}"]),
    names=f"{'rope' * 30} 2 1 1, bell 2 1 59, {'turf' * 12} 2 3 1",
)


@pytest.mark.parametrize("width", [40, 57])
@pytest.mark.parametrize(
    "words", [("sheets",), ("hears",), ("tile", "--east", "60"), ("tile", "--south", "1"), ("light", "--layer", "2")]
)
def test_nothing_is_wider_than_asked_be_it_a_layer_of_60_columns(
    call: Caller, width: int, words: tuple[str, ...]
) -> None:
    run = call(*words, written("wide", WIDE), "--width", str(width))
    assert run.err == ""
    assert [row for row in run.out.splitlines() if len(row) > width] == []


def test_a_layer_too_wide_is_reported_in_bands_that_make_it_up(call: Caller) -> None:
    rows = call("sheets", written("wide", WIDE), "--width", "40").out.splitlines()
    first = [
        row.split() for row in rows[rows.index("layer 2") : rows.index("   S  solid block", rows.index("layer 2"))]
    ]
    drawn = [words[1] for words in first if len(words) == 2 and words[0] == "1" and not words[1].isdecimal()]
    assert "".join(drawn) == f"a{'-' * 57}O."
    assert max(map(len, drawn)) == 30


def test_grids_that_fit_are_no_excuse_for_other_lines(call: Caller) -> None:
    for path, command in product((written("mill", MILL), written("stuck", STUCK), written("late", LATE)), COMMANDS):
        out = call(*command, path, "--width", "40").out
        assert max(map(len, out.splitlines())) <= 40


def test_piped_it_is_plain_and_its_reader_may_go(call: Caller) -> None:
    path = written("wide", WIDE)
    environment = {
        **os.environ,
        "PYTHONPATH": str(Path(__file__).parents[2]),
        "CC": f"{sys.executable} -m circuitcheck",
    }
    script = (
        f'set -o pipefail; $CC sheets {path} | head -1; echo "${{PIPESTATUS[0]}}" >&2; $CC tile {path} --east 60 | cat'
    )
    run = subprocess.run(
        ["bash", "-c", script], capture_output=True, text=True, env=environment, timeout=60, check=False
    )
    assert run.stderr.split() == ["0"]
    assert run.returncode == 1
    harmless(run.stdout)


# The picture


def groups(path: str) -> list[str]:
    root = etree.parse(path, etree.XMLParser(resolve_entities=False)).getroot()
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    return [each.get("data-at") for each in root.iter("{http://www.w3.org/2000/svg}g") if each.get("data-at")]


@pytest.mark.parametrize("text", [MILL, STUCK, LATE])
def test_the_picture_has_one_group_for_each_place(call: Caller, text: str) -> None:
    call.good("sheets", written("drawn", text), "--svg", "drawn.svg")
    layers, rows, columns = call.data("sheets", "drawn.circuit")["size"]
    places = product(range(1, layers + 1), range(1, rows + 1), range(1, columns + 1))
    assert sorted(groups("drawn.svg")) == sorted(",".join(map(str, place)) for place in places)


def test_the_picture_says_what_stands_where_and_what_it_is_called(call: Caller) -> None:
    call.good("sheets", written("mill", MILL), "--svg", "mill.svg")
    root = etree.parse("mill.svg").getroot()
    group = next(each for each in root.iter() if each.get("data-at") == "2,1,3")
    texts = [each.text for each in group.iter() if each.text]
    assert "O" in texts
    assert any("layer 2, row 1, column 3" in each and "lamp" in each and "bell" in each for each in texts)


def test_a_picture_is_written_whole_or_not_at_all(call: Caller) -> None:
    path = written("mill", MILL)
    Path("mill.svg").write_text("older" * 10_000, encoding="utf-8")
    call.good("sheets", path, "--svg", "mill.svg")
    assert len(groups("mill.svg")) == 12
    Path("folder").mkdir()
    assert call("sheets", path, "--svg", "folder").code == 2
    assert call("sheets", path, "--svg", "nowhere/mill.svg").code == 2
    assert call("sheets", path, "--svg", path).code == 2
    assert Path(path).read_text(encoding="utf-8") == MILL
    assert sorted(each.name for each in Path().iterdir()) == ["folder", "mill.circuit", "mill.svg"]


# Hostile names

NAMES = ["öl", "e\u0301", "水門", "טַחֲנָה", "ﬁ", "ª", "\u3164", "script", "None", "x" * 5_000, "\U0001d553"]
LETTERS = [
    "\u202e",
    "\x07",
    "\x1b",
    "\u0301",
    "水",
    "\U0001d553",
    "\u200b",
    "<",
    "&",
    '"',
    "\\",
    "|",
    "`",
    "\ufffe",
    "[",
]
TITLES = ["\x1b[31mred", "<script>alert(1)</script>", "]]> &amp; <!--", "[bold]x[/bold] :x:", "\u202eback", "x" * 5_000]


def looked_over(call: Caller, path: str) -> None:
    """Every command over a file; what it writes has nothing in it that is obeyed or hidden."""
    for words in [*COMMANDS, ("sheets", "--svg", "o.svg"), ("tile", "--south", "1"), ("light", "--layer", "2")]:
        run = call(*words, path)
        assert (run.code in (0, 1), run.err) == (True, ""), run
        harmless(run.out)
    for words in COMMANDS[:3]:
        assert call.data(*words, path, code=0)["path"] == path
    root = etree.parse("o.svg", etree.XMLParser(resolve_entities=False, huge_tree=True)).getroot()
    assert not [
        each for each in root.iter() if each.tag == "script" or any(key.startswith("on") for key in each.attrib)
    ]
    harmless("".join(text for each in root.iter() for text in (each.text or "",)).replace("\t", ""))


@pytest.mark.parametrize("name", NAMES, ids=[ascii(name)[:16] for name in NAMES])
def test_hostile_names_of_parts_harm_nothing(call: Caller, name: str) -> None:
    looked_over(call, written("named", MILL.replace("bell", name)))
    assert any(name in text for text in etree.parse("o.svg").getroot().itertext())


@pytest.mark.parametrize("letter", LETTERS, ids=[ascii(letter) for letter in LETTERS])
def test_hostile_letters_harm_nothing(call: Caller, letter: str) -> None:
    path = written("lettered", MILL.replace("O", letter))
    if unicodedata.category(letter) not in ("Cf", "Mn"):
        looked_over(call, path)
        return
    # What shows nothing by itself can't be a letter of a drawing.
    run = call("verify", path)
    assert (run.code, run.out.count("CKT603"), run.out.count("error")) == (2, 1, 1)
    harmless(run.out)


@pytest.mark.parametrize("title", TITLES, ids=[ascii(title)[:16] for title in TITLES])
def test_hostile_titles_harm_nothing(call: Caller, title: str) -> None:
    looked_over(call, written("titled", MILL.replace("circuit mill", f'circuit mill "{title}"')))


@pytest.mark.parametrize("name", ["a b", "$end", "[foo]", "\x1b[31mred", "it's", "\u202eback", "-x", "水車", "a\nb"])
def test_hostile_names_of_files_harm_nothing(call: Caller, name: str) -> None:
    path = written(name, MILL)
    for words in COMMANDS:
        run = call(*words, "--", path)
        assert (run.code, run.err) == (0, "")
        harmless(run.out)
    Path(f"{name}.circuit").write_text(WORDS, encoding="utf-8")
    run = call("sheets", "--", path)
    assert (run.code, run.out) == (2, "")
    harmless(run.err)


def test_no_heading_of_a_layer_is_covered_by_the_sheet_below_it(call: Caller) -> None:
    """Letters of 12 px reach some 3 px below their line; the sheet that follows has a ground of its own."""
    call.good("sheets", written("late", LATE), "--svg", "o.svg")
    children = list(etree.parse("o.svg").getroot())
    sheets = [(float(each.get("y", "")), each) for each in children if each.tag.endswith("}svg")]
    for top, sheet in sheets:
        bottom = top + float(sheet.get("height", ""))
        for words in (each for each in children if each.tag.endswith("}text")):
            line = float(words.get("y", ""))
            assert line + 3 < top or line >= bottom


def test_rows_of_wide_letters_stand_below_their_columns(call: Caller) -> None:
    """Unicode Standard Annex 11: a wide letter, such as 石, takes the room of two others in a terminal."""
    text = MILL.replace("\n  S  block", "\n  石  block").replace("SSS", "石石石").replace("a-O", "a-石")
    rows = call.good("sheets", written("wide", text.replace("bell at", "stone at"))).splitlines()
    numbers = next(place for place, row in enumerate(rows) if row.split() == ["1", "2", "3"])
    assert rows[numbers + 1] == "1  石石石"
    assert rows[numbers] == "   1 2 3"
    mill = rows.index("1  a - 石")
    assert rows[mill - 1].rstrip() == "   1 2 3"


def test_a_caret_stands_below_the_letter_it_is_about_behind_wide_ones_too(call: Caller) -> None:
    """Unicode Standard Annex 11."""
    text = MILL.replace("\n  S  block", "\n  石  block").replace("SSS", "石石石").replace("a-O", "石x石")
    rows = call("verify", written("wide", text)).out.splitlines()
    at = rows.index("    |     石x石")
    assert rows[at + 1] == "    |       ^"
