"""Boxes out of letters, for tests that are read by people."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from .things import SOURCE, Box, Place, Thing, Water, box

LETTERS: Mapping[str, Thing] = {
    "S": Thing("block"),
    "G": Thing("glass"),
    "-": Thing("dust"),
    "/": Thing("torch", on="west", level=15),
    "\\": Thing("torch", on="east", level=15),
    "|": Thing("torch", level=15),
    ">": Thing("repeater", facing="east"),
    "<": Thing("repeater", facing="west"),
    "^": Thing("repeater", facing="north"),
    "v": Thing("repeater", facing="south"),
    "V": Thing("repeater", facing="south", level=15),
    "A": Thing("repeater", facing="north", level=15),
    "O": Thing("lamp"),
    "i": Thing("lever"),
    "I": Thing("lever", level=15),
    "P": Thing("piston", facing="east", sticky=True),
    "p": Thing("piston", facing="east"),
    "D": Thing("detector", facing="east"),
    "c": Thing("soil", level=1),
}


def sketch(layers: list[str], more: Mapping[str, Thing] | None = None, names: Mapping[str, Place] | None = None) -> Box:
    """A box of layers from the bottom up; rows are parted by blanks; "." is air and "~" is a source of water.

    `names` calls things by name; `more` are letters of this box alone.
    """
    letters = {**LETTERS, **(more or {})}
    called = {place: name for name, place in (names or {}).items()}
    things: dict[Place, Thing] = {}
    water: dict[Place, Water] = {}
    rows = [text.split() for text in layers]
    size = (len(rows), len(rows[0]), len(rows[0][0]))
    for layer, found in enumerate(rows, 1):
        assert [len(row) for row in found] == [size[2]] * size[1], f"layer {layer}"
        for row, text in enumerate(found, 1):
            for column, letter in enumerate(text, 1):
                place = (layer, row, column)
                if letter == "~":
                    water[place] = SOURCE
                elif letter != ".":
                    things[place] = _named(letters[letter], called.get(place, ""))
    return box(size, things, water)


def _named(thing: Thing, name: str) -> Thing:
    return replace(thing, name=name)


def floor(rows: int, columns: int) -> str:
    return " ".join(["S" * columns] * rows)
