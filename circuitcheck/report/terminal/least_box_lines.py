"""What the search for the least box came to, in lines for people and as data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from circuitcheck.report.lines import Line, Piece, Style, line, wrapped

if TYPE_CHECKING:
    from circuitcheck.placing.exact import LeastBox
    from circuitcheck.placing.exact_places import Box

MOST_NAMED = 24
"""How many boxes are named, the largest."""


def least_box_lines(least: LeastBox, places: int, within: str, width: int) -> Iterator[Line]:
    """Whether what was found in so many places is the least, and which boxes are excluded and open; 0 for no find.

    `within` says of which boxes, where not of all.
    """
    open_ = least.open_below(places)
    of = f" within {within}" if within else ""
    if places and not open_:
        yield line(Piece(f"  least: every smaller box{of} is excluded", Style.GOOD))
    elif places:
        yield line(Piece(f"  best found: not every smaller box{of} could be excluded", Style.DOUBT))
    yield from wrapped("asked for drawings of solid blocks: without clear or half ones, or dots", width, "  ", "    ")
    yield from wrapped(
        f"fewer than {least.first} places can't hold its parts and what holds them, by counting", width, "  ", "    "
    )
    yield from wrapped(f"excluded: {_named(least.excluded)}", width, "  ", "    ")
    if open_:
        yield from wrapped(f"open: {_named(open_[::-1])}; --conflicts N looks longer", width, "  ", "    ")


def _named(boxes: Sequence[Box]) -> str:
    if not boxes:
        return "none"
    named = ", ".join(map(str, boxes[: -MOST_NAMED - 1 : -1]))
    more = len(boxes) - MOST_NAMED
    return f"{len(boxes)} {'box' if len(boxes) == 1 else 'boxes'}: {named}{f' and {more} more' if more > 0 else ''}"


def least_box_data(least: LeastBox, places: int, within: str) -> dict[str, Any]:
    """The same as data."""
    return {
        "is_least": bool(places) and not least.open_below(places),
        "within": within,
        "places_at_least": least.first,
        "excluded": list(map(str, least.excluded)),
        "open": list(map(str, least.open_below(places))),
        "work": least.work,
    }
