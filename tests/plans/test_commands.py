"""The commands on drawings: sheets, hears, tile and light --layer. What they take, write and answer with.

No source; README (Drawings) and the help of each command say what they do.
"""

from __future__ import annotations

from itertools import product
from pathlib import Path

import pytest

from .calling import COMMANDS, LATE, MILL, STUCK, Caller, flat, written
from .drawings import file_of

WORDS = "language 1\nlever rope\nlamp bell from rope\n"
DEFINED = """language 1
define inverter (a) gives out
  torch  out  from a
end
legend
  .  air
  S  block
  i  lever  on east  named a
  W  torch  on west  named out
end
drawing of inverter
  layer 1
    SSS
  end
  layer 2
    iSW
  end
end
"""
EACH = pytest.mark.parametrize("command", COMMANDS, ids=[words[0] for words in COMMANDS])


# What is refused


@EACH
def test_a_file_without_a_drawing_is_refused_in_one_line(call: Caller, command: tuple[str, ...]) -> None:
    assert "draws nothing" in call.refused(*command, written("words", WORDS))


@EACH
def test_a_file_with_mistakes_has_them_told_with_places(call: Caller, command: tuple[str, ...]) -> None:
    path = written("broken", MILL.replace("a-O\n", "a-q\n"))
    run = call(*command, path)
    assert (run.code, run.err) == (2, "")
    assert "CKT606" in run.out
    line = 1 + MILL.splitlines().index("    a-O")
    assert f"{path}:{line}:7" in run.out


@EACH
def test_mistakes_are_reported_as_data_where_data_is_wanted(call: Caller, command: tuple[str, ...]) -> None:
    data = call.data(*command, written("broken", MILL.replace("a-O\n", "a-q\n")), code=2)
    assert "CKT606" in str(data)


@EACH
def test_a_file_that_is_not_there_is_a_mistake(call: Caller, command: tuple[str, ...]) -> None:
    run = call(*command, "nowhere.circuit")
    assert (run.code, run.err) == (2, "")
    assert "CKT501" in run.out


@EACH
def test_a_definition_that_is_not_there_is_refused(call: Caller, command: tuple[str, ...]) -> None:
    told = call.refused(*command, "--define", "invertor", written("defined", DEFINED))
    assert "no definition 'invertor'" in told
    assert "inverter" in told


@EACH
def test_a_file_that_draws_a_definition_only_asks_for_its_name(call: Caller, command: tuple[str, ...]) -> None:
    path = written("defined", DEFINED)
    assert "inverter" in call.refused(*command, path)
    assert call.good(*command, "--define", "inverter", path)


@pytest.mark.parametrize("words", [(), ("--mirrored",), ("--east", "0"), ("--up", "0", "--south", "0")])
def test_an_offset_of_nothing_is_refused(call: Caller, words: tuple[str, ...]) -> None:
    assert "--east" in call.refused("tile", written("mill", MILL), *words)


@pytest.mark.parametrize("number", ["-1", "257", "1.5", "one", ""])
def test_an_offset_is_a_whole_number_from_0_to_256(call: Caller, number: str) -> None:
    run = call("tile", written("mill", MILL), f"--east={number}")
    assert (run.code, run.out) == (2, "")
    assert "0 to 256" in run.err


@pytest.mark.parametrize("number", ["0", "-1", "x", "257"])
def test_a_layer_is_a_number_from_1_to_256(call: Caller, number: str) -> None:
    run = call("light", written("mill", MILL), f"--layer={number}")
    assert (run.code, run.out) == (2, "")


def test_a_layer_above_the_drawing_is_refused_with_how_many_there_are(call: Caller) -> None:
    assert "2 layers" in call.refused("light", written("mill", MILL), "--layer", "3")
    assert call.good("light", written("mill", MILL), "--layer", "2")


def test_a_layer_does_not_go_with_a_place(call: Caller) -> None:
    assert "do not go together" in call.refused("light", written("mill", MILL), "--layer", "2", "--place", "bed")


def test_an_older_version_without_a_drawing_or_with_mistakes_is_reported(call: Caller) -> None:
    path = written("mill", MILL)
    assert "words.circuit draws nothing" in call.refused("sheets", path, "--since", written("words", WORDS))
    run = call("sheets", path, "--since", written("broken", MILL.replace("a-O\n", "a-q\n")))
    assert (run.code, "CKT606" in run.out) == (2, True)


# What they answer


def test_sheets_show_each_layer_by_its_letters_with_what_they_mean_and_what_to_bring(call: Caller) -> None:
    out = call.good("sheets", written("mill", MILL))
    assert "3 wide (west to east), 2 deep (north to south), 2 high; 10 things" in flat(out)
    assert "bring in all: 6 solid blocks, 1 dust, 1 lamp, 1 lever, 1 torch" in flat(out)
    rows = out.splitlines()
    at = rows.index("layer 2")
    assert rows[at + 1 : at + 4] == ["   123", "1  a-O", "2  T.."]
    assert "bring: 1 dust, 1 lamp, 1 lever, 1 torch" in flat(out)
    assert "this must light: 'flame'" in flat(out)
    assert "this must be dark: 'bell'" in flat(out)


def test_sheets_come_from_the_bottom_up_even_where_something_is_put_off(call: Caller) -> None:
    """A layer stands on the one below it."""
    rows = call.good("sheets", written("late", LATE)).splitlines()
    assert [row.split()[1] for row in rows if row.startswith("layer ")] == ["1", "2", "3"]


def test_what_must_not_come_early_is_reported_with_its_place_and_a_mend(call: Caller) -> None:
    out = flat(call.good("sheets", written("late", LATE)))
    said, _, hint = out.partition("not early: 'dust_2_3_3' at layer 2, row 3, column 3 would throw ")[2].partition("; ")
    assert "'gate'" in said
    assert hint.startswith("place it last")
    assert "once all is built" in hint


def test_a_sheet_says_of_dust_that_it_is_a_dot(call: Caller) -> None:
    """Rule W3: a dot points nowhere, so that it is another thing to place."""
    out = call.good("sheets", written("dot", file_of("SS", "o.")))
    (row,) = [row for row in out.splitlines() if row.lstrip().startswith("o  ")]
    assert "dot" in row


def test_a_sheet_says_of_a_lever_that_it_starts_on(call: Caller) -> None:
    """It is to be thrown once it is placed, for what must light after it."""
    out = call.good("sheets", written("on", file_of("SS", "iO")))
    (row,) = [row for row in out.splitlines() if row.lstrip().startswith("i  ")]
    assert "on" in row.split("lever")[1]


def test_things_of_one_letter_out_of_two_legends_are_distinguished_on_a_sheet(call: Caller) -> None:
    """A piece of another file brings that file's letters (README, Pieces of drawings)."""
    piece = "piece arch\n  layer 1\n    S\n  end\n  layer 2\n    x\n  end\nend\n"
    written("arch", f"language 1\nlegend\n  S  block\n  x  lever\nend\n{piece}")
    own = "legend\n  .  air\n  S  block\n  x  torch\nend\ndrawing\n  layer 1\n    .S\n  end\n  layer 2\n    .x\n  end\n"
    path = written("both", f'language 1\nuse "arch.circuit"\n{own}  put arch at layer 1 row 1 column 1\nend\n')
    rows = call.good("sheets", path).splitlines()
    at = rows.index("layer 2")
    letters = rows[at + 2].split()[1]
    lever, torch = (next(row for row in rows[at:] if word in row) for word in ("lever", "torch"))
    assert letters[0] != letters[1] or ("column 1" in lever and "column 2" in torch)


def test_what_has_changed_is_reported_and_nothing_else_is(call: Caller) -> None:
    older = written("older", MILL.replace("a-O\n", "aO.\n").replace("named bell at layer 2 row 1 column 3\n", ""))
    out = call.good("sheets", written("mill", MILL), "--since", older)
    assert out.splitlines() == [
        "  layer 2, row 1, column 2: dust instead of lamp",
        "  layer 2, row 1, column 3: lamp instead of air",
    ]
    data = call.data("sheets", written("mill", MILL), "--since", older)
    assert [each["at"] for each in data["changed"]] == [[2, 1, 2], [2, 1, 3]]


def test_a_picture_is_never_left_out_in_silence(call: Caller) -> None:
    run = call("sheets", written("mill", MILL), "--since", written("older", MILL), "--svg", "mill.svg")
    assert run.code == 2 or Path("mill.svg").exists()


def test_hears_tells_of_each_listener_what_it_hears(call: Caller) -> None:
    out = flat(call.good("hears", written("stuck", STUCK)))
    assert "stuck piston 'wedge', layer 2, row 1, column 3" in out
    assert "'winch', layer 2, row 1, column 5 (repeater, beside what it changes)" in out
    assert "detector 'ripple', layer 2, row 1, column 2 heard 'wedge', layer 2, row 1, column 3 (piston)" in out
    assert "no detector and no piston" in call.good("hears", written("mill", MILL))


def test_tile_answers_by_its_exit_code_and_offers_the_nearest(call: Caller) -> None:
    path = written("mill", MILL)
    assert "yes: a copy 4 columns east changes nothing" in flat(call.good("tile", path, "--east", "4"))
    out = flat(call.good("tile", path, "--east", "3", code=1))
    assert "no: a copy 3 columns east does this: power: 'copy.rope' powers 'bell'" in out
    assert "the nearest further on that changes nothing: 4 columns east" in out
    assert "yes: a copy mirrored, 2 rows south, 1 columns east" in flat(
        call.good("tile", path, "--east", "1", "--south", "2", "--mirrored")
    ).replace("1 column east", "1 columns east")


@pytest.mark.parametrize(
    "layers", [("SSS/SSS/SSS/SSS/SSS", ".../SW-/-.-/-ES/..."), ("SSS", "-OO")], ids=["a latch", "two lamps"]
)
def test_tile_never_breaks_down(call: Caller, layers: tuple[str, ...]) -> None:
    """Blocks that pass power on alone may pass it on no more beside the copy, and the other way round."""
    path = written("drawn", file_of(*layers))
    for east, mirrored in product(range(3, 7), ([], ["--mirrored"])):
        assert call("tile", path, "--east", str(east), *mirrored).code in (0, 1)


def test_light_shows_a_layer_by_day_at_night_and_by_lamps(call: Caller) -> None:
    out = call.good("light", written("mill", MILL), "--layer", "2")
    assert "layer 2; lit: flame" in out
    assert [row.strip() for row in out.splitlines() if row.startswith("  ") and row[2] in "bao"] == [
        "by day",
        "at night",
        "of lamps, torches and standing lights alone",
    ]


def test_of_a_drawing_that_can_start_in_several_ways_it_is_said_that_the_light_is_that_of_one(call: Caller) -> None:
    """Rule C6: two torches that hold each other start with either of them lit."""
    latch = file_of("/".join(["SSS"] * 3), "SW-/-.-/-ES")
    out = call.good("light", written("latch", latch), "--layer", "2")
    assert out.startswith("it can start in 2 ways (C6)")


def test_lamps_that_the_words_call_otherwise_shine_on_the_map_all_the_same(call: Caller) -> None:
    """A drawing is its circuit up to what parts are called; rule G1: the lit lamp gives 15, beside it 14."""
    words = "lever rope starts on\nlamp bell from rope\n"
    path = written("lit", file_of("SSSSS", "iO...", rest=words))
    assert call.good("verify", path)
    rows = call.good("light", path, "--layer", "2").splitlines()
    lamps = rows[rows.index("  of lamps, torches and standing lights alone") + 2]
    assert lamps.split() == ["1", "14", "##", "14", "13", "12"]


# As data


def test_sheets_as_data_hold_the_whole_plan(call: Caller) -> None:
    data = call.data("sheets", written("late", LATE))
    assert (data["schema_version"], data["path"], data["circuit"]) == (3, "late.circuit", "mill")
    assert (data["size"], data["coarse"], data["astray"]) == ([3, 5, 5], False, [])
    assert sum(data["bring"].values()) == len(data["order"]) == sum(len(each["places"]) for each in data["stages"])
    assert sorted(each["layer"] for each in data["stages"]) == [1, 2, 3]
    assert [(each["part"], each["at"], each["upsets"]) for each in data["early"]] == [("dust_2_3_3", [2, 3, 3], "gate")]


def test_hears_and_tile_as_data(call: Caller) -> None:
    listeners = {each["name"]: each for each in call.data("hears", written("stuck", STUCK))["listeners"]}
    assert listeners["wedge"]["stuck"] is True
    assert [(each["what"], each["at"], each["meant"]) for each in listeners["wedge"]["heard"]] == [
        ("winch", [2, 1, 5], None)
    ]
    path = written("mill", MILL)
    no = call.data("tile", path, "--east", "3", code=1)
    assert ({each["kind"] for each in no["meddlings"]}, no["nearest"]) == ({"power"}, [0, 0, 4])
    yes = call.data("tile", path, "--east", "4")
    assert (yes["path"], yes["meddlings"], yes["nearest"]) == (path, [], [0, 0, 4])


BED = """language 1
legend
  .  air
  S  block
  -  dust
  W  water
  m  sensor    fades named turf
  s  detector  facing south  named stir
end
drawing
  layer 1
    SS, 3 times
  end
  layer 2
    mm
    ss
    --
  end
  layer 3
    WW
    .., 2 times
  end
end
output felt from stir.1
"""


def test_a_drawing_has_the_cells_that_it_has_and_no_table_of_others(call: Caller) -> None:
    out = call.good("response", written("bed", BED), "dusk", "felt")
    assert "with other numbers of cells" not in out
    assert "under each set of rules" in out
    words = "place bed gets sky through water\nsensor turf cells 2 at bed fades\ndetector stir.* watches turf.*\n"
    assert "with other numbers of cells" in call.good("response", written("words", words), "dusk", "stir.1")
