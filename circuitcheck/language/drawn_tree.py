"""The part of the syntax tree that is drawn: legends, pieces and drawings, line by line."""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.language.tree_words import Option, Word


class Entry(NamedTuple):
    """`> repeater facing east delay 2t`: a letter and what stands where it is drawn."""

    letter: Word
    thing: Word
    facing: Word | None
    on: Word | None
    at: Word | None
    named: Word | None
    shapes: tuple[Word, ...]
    options: tuple[Option, ...]
    when: Word | None
    only: Word | None
    twice: tuple[Word, ...]
    """What is said more than once of it."""


class LegendBlock(NamedTuple):
    entries: tuple[Entry, ...]


class DrawnRow(NamedTuple):
    """A row of letters, and how many such rows there are."""

    letters: Word
    number: Word | None
    times: Word | None


class DrawnLayer(NamedTuple):
    """`layer 2 to 4 "Lay it first."`: rows from north to south; one layer, or several alike."""

    first: Word
    last: Word | None
    words: tuple[Word, ...]
    """What the author says to whoever builds it."""
    rows: tuple[DrawnRow, ...]


class SpotItem(NamedTuple):
    """`at layer 2 row 3 column 5`: three numbers, and the two words between them."""

    layer: Word
    row_word: Word
    row: Word
    column_word: Word
    column: Word


class Naming(NamedTuple):
    """`named gate at layer 2 row 3 column 5 starts off`."""

    name: Word
    spot: SpotItem
    start: Word | None


class Putting(NamedTuple):
    """`put arch named left at layer 1 row 1 column 1, turned right`: a piece, set down with its first place there."""

    piece: Word
    name: Word | None
    spot: SpotItem
    turns: tuple[tuple[Word, Word | None], ...]
    """`turned right`, `mirrored`, in order."""


Drawn = DrawnLayer | Naming | Putting


class PieceBlock(NamedTuple):
    name: Word
    lines: tuple[Drawn, ...]


class DrawingBlock(NamedTuple):
    drawing: Word
    of: Word | None
    lines: tuple[Drawn, ...]
