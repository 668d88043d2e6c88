"""Changes of a file's own lines: what is written where instead, in words and at what cost.

A change is made of edits of the text, so that what is offered is what is tried: nothing is changed that the file does
not say.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from circuitcheck.diagnostics import Span

Home = tuple[int, ...]
"""Where a statement stands: its number in the file, or that of its definition and its number there."""


class Cost(NamedTuple):
    """What a change takes. The first that differs decides which of two is cheaper."""

    parts: int = 0
    """How many parts are put in or taken out."""
    places: int = 0
    """How many connections lead elsewhere, or stand otherwise in a drawing."""
    steps: int = 0
    """By how many steps settings differ: ticks of a time, dusts of a line, one for a mode or a start."""

    def and_(self, other: Cost) -> Cost:
        """What both take together."""
        return Cost(self.parts + other.parts, self.places + other.places, self.steps + other.steps)


class Edit(NamedTuple):
    """What stands in a line from one column to before another, instead of what stood there. Counted from 1."""

    line: int
    start: int
    end: int
    after: str | None
    """None takes the whole line out."""


@dataclass(frozen=True, slots=True)
class Change:
    """One change of a file."""

    words: str
    cost: Cost
    edits: tuple[Edit, ...]
    homes: frozenset[Home] = frozenset()
    """The statements that it changes, if they can be read again one by one."""
    readers: frozenset[tuple[int, int]] | None = None
    """Where the lines of the parts begin that read or behave otherwise; None if that is not known."""
    reads: frozenset[str] = frozenset()
    """The names that they read then and did not, as the lines say them."""
    more_parts: int = 0
    """How many parts more there are then."""
    later: int = 0
    """By how much later, in gt, what runs through it comes; less than nothing for earlier."""
    put_in: str = ""
    """The name of the part that is put in, if one is."""
    singles: tuple[Change, ...] = field(default=(), repr=False)
    """The changes that it is made of, if it is made of several."""


def beside(one: Change, other: Change) -> bool:
    """Whether two changes can be made together: they change different words."""
    return not any(
        first.line == second.line and _overlap(first, second) for first in one.edits for second in other.edits
    )


def _overlap(one: Edit, other: Edit) -> bool:
    """Whether two edits of one line are of the same words; several may write something right behind one word."""
    return None in (one.after, other.after) or (one.start < other.end and other.start < one.end)


def both(one: Change, other: Change) -> Change:
    """Two changes as one."""
    if one.put_in and one.put_in == other.put_in:
        other = _named_otherwise(other)
    readers = None if one.readers is None or other.readers is None else one.readers | other.readers
    quick = bool(one.homes) and bool(other.homes)
    return Change(
        f"{one.words}; and {other.words}",
        one.cost.and_(other.cost),
        (*one.edits, *other.edits),
        one.homes | other.homes if quick else frozenset(),
        readers,
        one.reads | other.reads,
        one.more_parts + other.more_parts,
        one.later + other.later,
        singles=(one, other),
    )


def _named_otherwise(change: Change) -> Change:
    """The same with another name for the part that is put in."""

    def renamed(text: str) -> str:
        return re.sub(rf"\b{change.put_in}\b", f"{change.put_in}_2", text)

    edits = tuple(each if each.after is None else each._replace(after=renamed(each.after)) for each in change.edits)
    return replace(change, words=renamed(change.words), edits=edits, put_in=f"{change.put_in}_2")


def replacing(span: Span, after: str) -> Edit:
    """What stands at a place replaced."""
    return Edit(span.line, span.column, span.end_column, after)


def behind(span: Span, text: str) -> Edit:
    """Text written right behind a place."""
    return Edit(span.line, span.end_column, span.end_column, text)


def edited(lines: Sequence[str], edits: Iterable[Edit]) -> list[str]:
    """The lines with edits made; one that writes a line end makes a line of two."""
    after = list(lines)
    for each in sorted(edits, key=_place, reverse=True):
        text = after[each.line - 1]
        if each.after is None:
            del after[each.line - 1]
            continue
        after[each.line - 1 : each.line] = (
            _in_columns(text[: each.start - 1], each.after, text[each.end - 1 :], each.end - each.start)
        ).split("\n")
    return after


def _place(edit: Edit) -> tuple[int, int, int, int]:
    """Where an edit comes among others: right behind one word first more names, then options, then a line."""
    written = edit.after or ""
    return edit.line, edit.start, edit.end, 0 if written.startswith(",") else 2 if "\n" in written else 1


def _in_columns(before: str, after: str, rest: str, width: int) -> str:
    """A line with something else in it; what stands in a column of its own behind it stays there if there is room."""
    blanks = len(rest) - len(rest.lstrip(" "))
    longer = len(after) - width
    if width and after and "\n" not in after and blanks > 1 and len(rest) > blanks and longer < blanks - 1:
        rest = " " * (blanks - longer) + rest[blanks:]
    return f"{before}{after}{rest}"
