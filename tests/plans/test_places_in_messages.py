"""Where parts stand: every command that names parts of a drawn circuit tells the places of those that it named.

No source; DEVELOPERS.md (Drawings in a page) says that what commands print ends with them.
"""

from __future__ import annotations

import json
import re
from itertools import takewhile

import pytest

from .calling import Caller, written
from .drawings import file_of, side

HEADING = "where they stand, by layer, row and column"
ASKED = """check "at once"
  at 10gt  rope on
  at 10gt  expect bell
end
always "never dark" bell
"""
WORDS = """lever     rope
repeater  winch  from rope
torch     flame  from winch
lamp      bell   from flame
"""
LAYERS = ("SSSSSSS", "a->-SWO")
NAMES = "rope 2 1 1, winch 2 1 3, flame 2 1 6, bell 2 1 7"
GATE = file_of(*LAYERS, names=NAMES, rest=ASKED)
STANDS = {"rope": (2, 1, 1), "winch": (2, 1, 3), "flame": (2, 1, 6), "bell": (2, 1, 7)}
COMMANDS = {
    "verify": ("verify", "gate.circuit"),
    "explain": ("explain", "gate.circuit"),
    "why": ("explain", "gate.circuit", "--why", "bell", "--at", "5t"),
    "inversion": ("explain", "gate.circuit", "bell"),
    "prove": ("prove", "gate.circuit"),
    "trace": ("trace", "gate.circuit", "--show", "flame"),
    "account": ("trace", "gate.circuit", "--account"),
    "try": ("try", "gate.circuit", "at 10gt rope on", "by 14gt expect bell off"),
    "try what holds": ("try", "gate.circuit", "at 10gt rope on", "by 20gt expect bell off"),
    "diagnose": ("diagnose", "gate.circuit", "rope on", "bell on"),
}
EACH = pytest.mark.parametrize("words", COMMANDS.values(), ids=COMMANDS)


def split(out: str) -> tuple[str, dict[str, tuple[int, ...]]]:
    """What a command says, and the places that it tells behind it."""
    rows = out.splitlines()
    at = next((number for number, row in enumerate(rows) if row.strip() == HEADING), None)
    if at is None:
        return out, {}
    told = " ".join(row.strip() for row in takewhile(lambda row: row.startswith("      "), rows[at + 1 :]))
    found = {}
    for each in told.split("; "):
        name, *place = each.replace(",", "").split()
        found[name] = tuple(map(int, place))
    return "\n".join(rows[:at]), found


def named(text: str) -> set[str]:
    """Which parts of the gate are named in a text."""
    return {name for name in STANDS if re.search(rf"\b{name}\b", text)}


@EACH
def test_each_command_tells_where_the_parts_stand_that_it_names(call: Caller, words: tuple[str, ...]) -> None:
    written("gate", GATE)
    said, places = split(call(*words).out)
    assert named(said) != set()
    assert places.items() >= {name: STANDS[name] for name in named(said)}.items()
    assert places.items() <= STANDS.items()


@EACH
def test_of_a_circuit_in_words_and_drawn_as_well_the_places_are_those_of_the_drawing(
    call: Caller, words: tuple[str, ...]
) -> None:
    written("gate", file_of(*LAYERS, names=NAMES, rest=WORDS + ASKED))
    said, places = split(call(*words).out)
    assert named(said) != set()
    assert places.items() >= {name: STANDS[name] for name in named(said)}.items()


@EACH
def test_of_a_circuit_that_is_not_drawn_no_place_is_reported(call: Caller, words: tuple[str, ...]) -> None:
    written("gate", WORDS + ASKED)
    run = call(*words)
    assert named(run.out) != set()
    assert HEADING not in run.out
    assert "layer" not in run.out


@EACH
def test_parts_without_a_name_say_their_place_in_what_they_are_called(call: Caller, words: tuple[str, ...]) -> None:
    """README, What drawn parts are called: by kind and place."""
    written("gate", file_of(*LAYERS, names="rope 2 1 1, bell 2 1 7", rest=ASKED))
    known = [word.replace("flame", "torch_2_1_6") for word in words]
    said, places = split(call(*known).out)
    assert "_2_1_" in said or named(said)
    assert {"bell", "rope"} >= set(places) >= named(said)


def test_what_holds_names_no_part_and_so_tells_no_place(call: Caller) -> None:
    written("gate", GATE.replace('always "never dark" bell\n', ""))
    out = call.good("verify", "gate.circuit")
    assert HEADING not in out


@pytest.mark.parametrize("words", [COMMANDS["explain"], COMMANDS["prove"]], ids=["explain", "prove"])
def test_a_definition_that_is_drawn_tells_places_standing_alone(call: Caller, words: tuple[str, ...]) -> None:
    written("gate", defined("never dark", drawn=True))
    said, places = split(call(*words, "--define", "inverter").out)
    assert "out" in said
    assert places.items() <= {"a": (2, 1, 1), "out": (2, 1, 3)}.items()
    assert places["out"] == (2, 1, 3)


def defined(title: str, drawn: bool) -> str:
    """A file with a definition in words, and a drawing: of the definition, or of the file's own circuit."""
    words = f"""define inverter (a) gives out
  torch  out  from a
  check "of the definition"
    at 10gt  a on
    at 11gt  expect out off
  end
  always "{title}" out
end
"""
    names = "a 2 1 1, out 2 1 3"
    text = file_of("SSS", "eSW", names=names)
    if drawn:
        return text.replace("drawing\n", f"{words}drawing of inverter\n", 1)
    return text.replace("drawing\n", f"{words}drawing\n", 1)


def test_the_run_of_a_definition_that_is_drawn_tells_its_places(call: Caller) -> None:
    written("gate", defined("never dark", drawn=True))
    said, places = split(call("trace", "gate.circuit", "--check", "of the definition").out)
    assert "out" in said
    assert places.items() >= {"a": (2, 1, 1), "out": (2, 1, 3)}.items()


def test_the_run_of_a_definition_in_words_tells_no_places_of_another_circuit_that_is_drawn(call: Caller) -> None:
    """Its `out` is not the torch of that name in the drawing."""
    written("gate", defined("never dark", drawn=False))
    said, places = split(call("trace", "gate.circuit", "--check", "of the definition").out)
    assert "out" in said
    assert places == {}


def test_places_come_in_the_order_of_the_names_and_each_once(call: Caller) -> None:
    written("gate", GATE)
    out = call("verify", "gate.circuit").out
    assert out.count(HEADING) == 1
    assert list(split(out)[1]) == ["bell", "rope", "winch", "flame"]


@pytest.mark.parametrize("name", ["水門", "טַחֲנָה", "öl", "x" * 60], ids=ascii)
def test_whatever_a_part_is_called_its_place_is_reported(call: Caller, name: str) -> None:
    written("gate", GATE.replace("bell", name))
    assert split(call("verify", "gate.circuit", "--width", "80").out)[1][name] == (2, 1, 7)


def test_what_a_piece_brings_is_reported_with_its_first_name(call: Caller) -> None:
    piece = "piece lit\n  layer 1\n    S\n  end\n  layer 2\n    O\n  end\n  named bell at layer 2 row 1 column 1\nend\n"
    own = file_of("SSSSSS.", "a->-SW.", names=NAMES.removesuffix(", bell 2 1 7"), rest=ASKED)
    put = "  put lit named left at layer 1 row 1 column 7\n"
    text = own.replace("drawing\n", f"  \n{piece}drawing\n", 1).replace("  named rope", f"{put}  named rope", 1)
    text = text.replace("  S  block\n", "  S  block\n  O  lamp\n")
    written("gate", text.replace("expect bell", "expect left.bell").replace('dark" bell', 'dark" left.bell'))
    assert split(call("verify", "gate.circuit").out)[1]["left.bell"] == (2, 1, 7)


@pytest.mark.parametrize("width", ["40", "60", "100"])
def test_places_keep_to_the_width(call: Caller, width: str) -> None:
    written("gate", GATE)
    for words in COMMANDS.values():
        said, _, places = call(*words, "--width", width).out.partition(HEADING)
        assert said
        assert max(map(len, places.splitlines()), default=0) <= max(int(width), 50)


# Findings


def findings_of(call: Caller, text: str) -> dict[str, str]:
    """The rule of each finding, and the place that is reported of it as data."""
    written("found", text)
    report = call("verify", "found.circuit", "--json")
    return {each["rule"]: each["where"] for each in findings_in(report.out)}


def findings_in(out: str) -> list[dict[str, str]]:
    found: list[dict[str, str]] = json.loads(out)["files"][0]["findings"]
    return found


SHORT = """check "a short pull"
  at 10gt  rope on
  at 11gt  rope off
  until 3s
end
"""


def test_a_finding_about_a_run_carries_the_place_of_its_part(call: Caller) -> None:
    """T3: the repeater makes 2 gt of a pull of 1 gt, and the torch swallows them."""
    assert findings_of(call, file_of(*LAYERS, names=NAMES, rest=SHORT))["T3"] == "layer 2, row 1, column 6"
    assert "T3  layer 2, row 1, column 6" in call("verify", "found.circuit").out


def test_a_finding_about_what_is_drawn_carries_the_place(call: Caller) -> None:
    """D2 and V1."""
    stuck = side("..S...", "..u...", "......", "..P.<a", "....SS")
    found = findings_of(call, file_of(*stuck, names="race 4 1 3, pond 2 1 6, wedge 2 1 3, winch 2 1 5"))
    assert found["D2"] == "layer 2, row 1, column 3"


def test_a_finding_about_a_circuit_in_words_carries_no_place(call: Caller) -> None:
    assert findings_of(call, WORDS + SHORT)["T3"] == ""
    assert "layer" not in call("verify", "found.circuit").out
