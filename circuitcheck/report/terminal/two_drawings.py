"""A drawing before and as it is now, layer by layer: side by side where the width allows, else below one another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import zip_longest

from circuitcheck.model.drawing import Drawing
from circuitcheck.report.lines import Line, Piece, Style, columns_of, line
from circuitcheck.report.sheet import sheet_lines

BETWEEN = "  |  "
NARROWEST = 36
"""How wide each of the two is at least, side by side."""


def two_drawings(before: Drawing, now: Drawing, width: int) -> Iterator[Line]:
    """The sheets of both, without the air around what stands in them."""
    half = (width - len(BETWEEN)) // 2
    columns = max(each.size[2] + len(str(each.size[1])) + 2 for each in (before, now))
    if half < max(NARROWEST, columns):
        for words, drawing in (("before", before), ("now", now)):
            yield line(Piece(words, Style.STRONG))
            for layer in range(1, drawing.size[0] + 1):
                yield from sheet_lines(drawing, layer, width)
        return
    yield from _beside([line(Piece("before", Style.STRONG))], [line(Piece("now", Style.STRONG))], half)
    for layer in range(1, max(before.size[0], now.size[0]) + 1):
        one, other = (list(sheet_lines(each, layer, half)) if layer <= each.size[0] else [] for each in (before, now))
        yield from _beside(one, other, half)


def _beside(left: Sequence[Line], right: Sequence[Line], half: int) -> Iterator[Line]:
    for one, other in zip_longest(left, right, fillvalue=()):
        taken = columns_of("".join(piece.text for piece in one))
        yield [*one, Piece(" " * max(half - taken, 0) + BETWEEN), *other]
