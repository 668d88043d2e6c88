"""Which states of some parts are meant, said in few words: those parts alone that tell them from all others."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

Row = tuple[tuple[str, bool], ...]
"""Some parts, each with whether it is on; the others may be either."""
Rows = tuple[Row, ...]
"""Any of these."""


def cover(parts: Sequence[str], wanted: Sequence[int], others: Collection[int]) -> Rows:
    """Rows that hold in all wanted states and in none of the others.

    A state is a number of which each bit says whether a part is on. States that are in neither can't be, or don't
    matter. Each row says no more than it has to; there may be fewer rows than these.
    """
    whole = (1 << len(parts)) - 1
    found: list[tuple[int, int]] = []
    for state in wanted:
        if not any(_fits(state, row) for row in found):
            found.append(_widest(state, whole, others))
    for row in list(found):
        rest = [each for each in found if each is not row]
        if rest and all(any(_fits(state, each) for each in rest) for state in wanted):
            found = rest
    return tuple(tuple(_said(parts, row)) for row in found)


def _fits(state: int, row: tuple[int, int]) -> bool:
    asked, value = row
    return state & asked == value


def _widest(state: int, whole: int, others: Collection[int]) -> tuple[int, int]:
    """The bits of a state by which it differs from all others, as a mask and its value; each is needed."""
    asked, left = whole, whole
    while left:
        bit = left & -left
        left ^= bit
        if not any((other ^ state) & (asked ^ bit) == 0 for other in others):
            asked ^= bit
    return asked, state & asked


def _said(parts: Sequence[str], row: tuple[int, int]) -> Iterator[tuple[str, bool]]:
    asked, value = row
    return ((part, bool(value >> bit & 1)) for bit, part in enumerate(parts) if asked >> bit & 1)
