"""The best layout of a search that found none: its sheets, marked as not the circuit, and what is left to do in it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from circuitcheck.placing.written import NoLetters, lettered
from circuitcheck.report.lines import Line, Style, line, safe, wrapped
from circuitcheck.report.sheet import air, described, sheet_lines, used

if TYPE_CHECKING:
    from circuitcheck.model.drawing import Drawing
    from circuitcheck.placing.smallest_box import Found

MOST_LEFT = 8
"""How many lines say what is wrong in a layout that is not finished."""
NOT_IT = "the best layout so far, which is NOT the circuit: do not build it, and it is not written to a file"


def partial_lines(found: Found, width: int) -> Iterator[Line]:
    """The best layout where none was found: what is left in it, and its sheets."""
    for each in found.left[:MOST_LEFT]:
        yield from wrapped(f"left in the best one: {safe(each)}", width, "  ", "    ")
    more = len(found.left) - MOST_LEFT
    if more > 0:
        yield line(f"  and {more} more")
    drawing = _lettered(found.partial)
    if drawing is None:
        return
    yield line()
    yield from wrapped(NOT_IT, width, "  ", "    ", Style.DOUBT)
    for layer in range(1, drawing.size[0] + 1):
        yield from sheet_lines(drawing, layer, width)


def partial_data(found: Found) -> dict[str, Any] | None:
    """The same as data: the rows of each layer, and what each letter stands for; null where there is none."""
    drawing = _lettered(found.partial)
    if drawing is None:
        return None
    layers, rows, columns = drawing.size
    nothing = air(drawing)
    letters = {place: thing.letter for place, thing in drawing.things.items()}
    key = (thing for layer in range(1, layers + 1) for thing in used(drawing, layer))
    return {
        "is_the_circuit": False,
        "letters": {nothing: "air", **{thing.letter: described(thing) for thing in key}},
        "sheets": [
            [
                "".join(letters.get((layer, row, column), nothing) for column in range(1, columns + 1))
                for row in range(1, rows + 1)
            ]
            for layer in range(1, layers + 1)
        ],
        "names": {name: list(place) for place, name in sorted(drawing.names.items())},
    }


def _lettered(partial: Drawing | None) -> Drawing | None:
    """A layout with letters; None where nothing stands in it, or there are more sorts of things than letters."""
    if partial is None or not partial.things:
        return None
    try:
        return lettered(partial)
    except NoLetters:
        return None
