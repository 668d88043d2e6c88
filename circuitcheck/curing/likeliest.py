"""Which changes are likeliest to undo what is wrong, of those that cost the same: only their order rests on it.

Whoever leads a wire wrongly, or sets one part of a row wrongly, leaves a trace: a signal that nothing reads any more,
or a part that is unlike all others of its row. A change that takes such a trace away is tried before its equals.
"""

from __future__ import annotations

import re

from circuitcheck.curing.edits import Change, edited
from circuitcheck.curing.source_text import Source, extent
from circuitcheck.language import tree
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.cells import cells_of

ONE_OF_A_ROW = re.compile(r"(.+)\.(\d+)")
"""The name of one part of a row: that of the row, and its number."""


class Likeliest:
    """What of a file looks left over, or unlike the rest."""

    def __init__(self, source: Source) -> None:
        self._lines = source.lines
        self._rows: dict[int, tuple[tuple[str, str], str]] = {}
        """By line, if it stands for one part of a row: the row, with the definition it is in, and the number."""
        self._read: dict[tuple[str, str], list[str]] = {}
        """How the lines of each row read, but for their number."""
        self._inside: dict[int, str] = {}
        """In which definition each line stands."""
        self._unread: dict[str, frozenset[str]] = {}
        for _, definition, each in source.statements():
            first, last = extent(each)
            self._inside |= dict.fromkeys(range(first, last + 1), definition)
            found = ONE_OF_A_ROW.fullmatch(each.first.text) if isinstance(each, tree.PartLine) else None
            if found and first == last:
                row = (definition, found[1])
                self._rows[first] = (row, found[2])
                self._read.setdefault(row, []).append(_but_for(found[2], self._lines[first - 1]))
        for definition in dict.fromkeys(self._inside.values()):
            study = source.study_of(definition)
            self._unread[definition] = frozenset() if study is None else frozenset(_unread(study.circuit))

    def turn(self, change: Change) -> int:
        """When a change is tried among its equals: 0 makes a part like others of its row, 1 has what nothing read."""
        lines = {each.line for each in change.edits}
        line = min(lines)
        if line in self._rows and len(lines) == 1 and self._alike_again(change, line):
            return 0
        return 1 if change.reads & self._unread.get(self._inside.get(line, ""), frozenset()) else 2

    def _alike_again(self, change: Change, line: int) -> bool:
        """Whether a line reads like others of its row then, and like no fewer than it did before."""
        row, number = self._rows[line]
        after = edited([self._lines[line - 1]], [each._replace(line=1) for each in change.edits])
        if len(after) != 1:
            return False
        every, was, now = self._read[row], _but_for(number, self._lines[line - 1]), _but_for(number, after[0])
        return now != was and every.count(now) >= every.count(was)


def _but_for(number: str, line: str) -> str:
    """A line with its number in the row left open, however many blanks are in it."""
    return " ".join(re.sub(rf"\.{number}\b", ".#", line).split())


def _unread(circuit: Circuit) -> set[str]:
    """The signals of a circuit that nothing reads and that it does not give out; rows as a whole where all are."""
    read = {source for part in circuit.parts for port in part.ports() for source in port.sources}
    read |= {each.source for each in circuit.outputs} | {name for place in circuit.places for name in place.parts}
    read |= {name for cell in cells_of(circuit.parts) for name in cell.grows}
    unread = {name for name in circuit.signals if name not in read}
    rows: dict[str, bool] = {}
    for name in circuit.signals:
        found = ONE_OF_A_ROW.fullmatch(name)
        if found:
            rows[found[1]] = rows.get(found[1], True) and name in unread
    return unread | {f"{row}.*" for row, free in rows.items() if free}
