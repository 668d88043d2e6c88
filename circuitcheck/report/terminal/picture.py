"""The timing picture in text: a row a signal, a column a gt, quiet stretches folded.

`█` is on, `·` is off, a digit or letter from 1 to e a level between; `┄` stands for a stretch in which nothing changed.
"""

from __future__ import annotations

from collections.abc import Sequence

from circuitcheck.engine.record import Recording
from circuitcheck.model.duration import show
from circuitcheck.report.lines import Line, Piece, Style, line, safe

FOLD_AFTER = 8
"""A stretch without an edge longer than this many gt is folded."""
KEPT = 3
"""How many gt of a folded stretch are shown at each of its ends."""
LONGEST_NAME = 24
FOLD = "┄"
SIGNS = "·123456789abcde█"


def picture(
    recording: Recording, names: Sequence[str], first: int, last: int, width: int, mark: int | None = None
) -> list[Line]:
    """The signals from gt `first` to `last` in at most `width` columns, the latest gt kept where not all fit."""
    rows = {name: recording.levels_of(name, first, last) for name in names}
    label = min(max((len(safe(name)) for name in names), default=4), LONGEST_NAME)
    columns, room = _columns(list(rows.values()), first, last, mark), max(width - label - 5, 10)
    if len(columns) > room:
        columns = [None, *columns[1 - room :]]  # what does not fit is folded, and seen to be
    marks = _scale(columns)
    lines: list[Line] = [line(" " * (label + 4), Piece(marks, Style.FAINT))]
    for name, levels in rows.items():
        signs = "".join(FOLD if at is None else SIGNS[levels[at - first]] for at in columns)
        shown = safe(name)
        shown = shown if len(shown) <= label else shown[: label - 1] + "…"
        lines.append(line(f"    {shown:<{label}}"[: label + 4].ljust(label + 4), " ", Piece(signs)))
    if mark is not None and mark in columns:
        lines.append(line(" " * (label + 5 + columns.index(mark)), Piece(f"^ {show(mark)}", Style.BAD)))
    return lines


def _columns(rows: Sequence[Sequence[int]], first: int, last: int, mark: int | None) -> list[int | None]:
    """The gt to draw; None for a folded stretch. The marked gt is always drawn."""
    edges = [
        at
        for at in range(first + 1, last + 1)
        if at == mark or any(row[at - first] != row[at - first - 1] for row in rows)
    ]
    columns: list[int | None] = []
    begin = first
    for edge in [*edges, last + 1]:
        stretch = range(begin, edge)
        if len(stretch) > FOLD_AFTER:
            columns += [*stretch[:KEPT], None, *stretch[-KEPT:]]
        else:
            columns += stretch
        begin = edge
    return columns


def _scale(columns: Sequence[int | None]) -> str:
    """Times over their columns, at whole ticks, as many as fit."""
    text = [" "] * (len(columns) + 8)
    free = 0
    for place, at in enumerate(columns):
        follows_fold = place > 0 and columns[place - 1] is None
        if at is None or place < free or (at % 10 and not (follows_fold and at % 2 == 0)):
            continue
        name = show(at)
        text[place + 1 : place + 1 + len(name)] = name
        free = place + len(name) + 2
    return "".join(text).rstrip()


def window(recording: Recording, names: Sequence[str], at: int, edges: int = 6) -> tuple[int, int]:
    """The stretch to draw around gt `at`: from a little before the last few edges of the signals, to a little after."""
    times = recording.times_of(names, at)
    first = times[-edges] if len(times) >= edges else (times[0] if times else max(at - 10, 0))
    return max(first - 4, 0), max(min(recording.until, at + 6), at)
