"""A drawing is the same circuit however it is turned, mirrored, shifted, or put together from pieces.

Common practice, no source; rules W1 to W10 and G1 to G3 know no north. The verdict is the program's own comparison with
the circuit in words, and in each of these ways it is shown to tell a circuit that is nearly the same.
"""

from __future__ import annotations

import pytest

from circuitcheck.checks.outcome import Verdict

from .building import layer_lines
from .builds import MACHINES, Drawn, Machine, Turn, around, drawn_of, file_of, left, mirrored, outcome_of, padded, right


def as_it_is(drawn: Drawn) -> Drawn:
    return drawn


TURNS: dict[str, tuple[Turn, ...]] = {
    "": (as_it_is,),
    "turned right": (right,),
    "turned around": (around,),
    "turned left": (left,),
    "mirrored": (mirrored,),
    "mirrored, turned right": (mirrored, right),
    "mirrored, turned around": (mirrored, around),
    "turned right, mirrored": (right, mirrored),
}
"""All eight ways to look at a drawing from above, by the words with which a piece is put down so."""


def turned(machine: Machine, words: str) -> Drawn:
    drawn = drawn_of(machine.layers)
    for turn in TURNS[words]:
        drawn = turn(drawn)
    return drawn


def test_turning_right_puts_the_north_row_into_the_east_column() -> None:
    """By hand."""
    drawn = right(drawn_of((">-./SGO",)))
    assert drawn.layers == ("S>/G-/O.",)
    assert any(line.split()[:4] == [">", "repeater", "facing", "south"] for line in drawn.legend)
    assert mirrored(drawn_of((">-./SGO",))).layers == (".->/OGS",)
    assert left(right(drawn)) == drawn == around(around(drawn)) == mirrored(mirrored(drawn))


@pytest.mark.parametrize("machine", MACHINES, ids=lambda machine: machine.name)
@pytest.mark.parametrize("turns", TURNS)
def test_a_turned_drawing_is_the_same_circuit(machine: Machine, turns: str) -> None:
    """Common practice, no source; rules W1 to W10."""
    drawn = turned(machine, turns)
    assert outcome_of(file_of(drawn, machine.words)).verdict is Verdict.HOLDS
    assert outcome_of(file_of(drawn, machine.wrong)).verdict is Verdict.FAILS


@pytest.mark.parametrize("machine", MACHINES, ids=lambda machine: machine.name)
@pytest.mark.parametrize(
    ("north", "east", "south", "west", "above", "below"),
    [(1, 0, 0, 0, 0, 0), (0, 0, 0, 3, 0, 0), (0, 0, 0, 0, 2, 0), (0, 0, 0, 0, 0, 2), (2, 1, 3, 4, 1, 1)],
)
def test_a_shifted_drawing_is_the_same_circuit(
    machine: Machine, north: int, east: int, south: int, west: int, above: int, below: int
) -> None:
    """Common practice, no source; rules W1 to W10: air around it and above it, floors of solid blocks below it."""
    drawn = padded(drawn_of(machine.layers), north, east, south, west, above, below)
    assert outcome_of(file_of(drawn, machine.words)).verdict is Verdict.HOLDS
    assert outcome_of(file_of(drawn, machine.wrong)).verdict is Verdict.FAILS


def of_pieces(machine: Machine, turns: str, corner: tuple[int, int, int]) -> str:
    """The lines of a file in which the machine is a piece, put down turned so in open air."""
    rows, columns = 14, 15
    layers = len(machine.layers) + corner[0]
    layer, row, column = corner
    put = f"put machine named mill at layer {layer} row {row} column {column}"
    original = drawn_of(machine.layers)
    air = [] if any(line[2] == "." for line in original.legend) else ["  .  air"]
    lines = [
        *(original.legend[0], *air, *original.legend[1:]),
        *("piece machine", *layer_lines(original.layers), "end"),
        *("drawing", *layer_lines(("/".join(["." * columns] * rows),) * layers)),
        f"  {put}, {turns}" if turns else f"  {put}",
        "end",
    ]
    return "\n".join(lines)


@pytest.mark.parametrize("machine", MACHINES, ids=lambda machine: machine.name)
@pytest.mark.parametrize("turns", TURNS)
def test_a_piece_put_down_turned_is_the_same_circuit(machine: Machine, turns: str) -> None:
    """Common practice, no source; rules W1 to W10."""
    text = of_pieces(machine, turns, (1, 3, 4))
    assert outcome_of(f"{machine.words}{text}").verdict is Verdict.HOLDS
    assert outcome_of(f"{machine.wrong}{text}").verdict is Verdict.FAILS


@pytest.mark.parametrize("machine", MACHINES, ids=lambda machine: machine.name)
def test_a_piece_in_a_piece_is_turned_twice(machine: Machine) -> None:
    """Common practice, no source; rules W1 to W10."""
    text = of_pieces(machine, "turned left", (1, 1, 1))
    outer = [
        "piece outer",
        *layer_lines(("/".join(["." * 9] * 9),) * len(machine.layers)),
        "  put machine at layer 1 row 1 column 1, turned right",
        "end",
    ]
    nested = text.replace("put machine", "put outer").replace("drawing", "\n".join([*outer, "drawing"]), 1)
    assert outcome_of(f"{machine.words}{nested}").verdict is Verdict.HOLDS
    assert outcome_of(f"{machine.wrong}{nested}").verdict is Verdict.FAILS


@pytest.mark.parametrize("turns", TURNS)
def test_two_of_a_piece_are_two_of_the_circuit(turns: str) -> None:
    """Common practice, no source; rules W1 to W10: side by side with air between, each turned its own way."""
    machine = MACHINES[2]
    text = of_pieces(machine, turns, (1, 1, 1)).removesuffix("end")
    text += "  put machine named race at layer 1 row 9 column 9\nend"
    assert outcome_of(f"{said_twice(machine.words)}{text}").verdict is Verdict.HOLDS
    assert outcome_of(f"{machine.words}{text}").verdict is Verdict.FAILS


def said_twice(words: str) -> str:
    """Two machines of these words, with other names in each."""
    names = {line.split()[1] for line in words.splitlines()}
    lines = [
        " ".join(
            f"{word.rstrip(',')}_{number}{',' * word.endswith(',')}" if word.rstrip(",") in names else word
            for word in line
        )
        for number in "12"
        for line in map(str.split, words.splitlines())
    ]
    return "\n".join([*lines, ""])
