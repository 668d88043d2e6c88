"""What a signal did in a run, as plain data: named tuples of whole numbers and texts.

A list of them is a table as it is: tables and pictures of other packages take it, the fields being its columns.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple


class Edge(NamedTuple):
    """A change of a signal: the gt in which it happened and the level it went to.

    >>> edge = mill.start().set("rope", True).run("5t").edges("open")[0]
    >>> edge
    Edge(at=5, level=15)
    >>> at, level = edge
    """

    at: int
    """The gt in which it happened."""
    level: int
    """The level it went to, 0 to 15."""


class Pulse(NamedTuple):
    """A stretch in which a signal was on: from gt `start` to before gt `end`.

    >>> mill.start().press("bell_push").run("2s").pulses("bell_push")
    [Pulse(start=1, end=21)]
    """

    start: int
    """The gt in which it began."""
    end: int | None
    """The first gt in which it was off again; None while it lasts."""

    @property
    def length(self) -> int | None:
        """How long it was, in gt; None while it lasts.

        >>> circuitcheck.Pulse(1, 21).length
        20
        """
        return None if self.end is None else self.end - self.start


class Row(NamedTuple):
    """A line of the table of a run: that a signal had this level from this gt on.

    >>> mill.start().run("1s").rows("open")
    [Row(signal='open', at=0, level=0), Row(signal='open', at=20, level=0)]
    """

    signal: str
    """The signal's name."""
    at: int
    """The gt."""
    level: int
    """Its level from there on, 0 to 15."""


class Setting(NamedTuple):
    """A line of the table of a settled output: one setting of the inputs, and whether the output is on then.

    >>> mill.table("open")[1]
    Setting(inputs={'rope': True}, is_on=True, out=())
    """

    inputs: Mapping[str, bool]
    """Each input of the table, and whether it is on."""
    is_on: bool | None
    """Whether the output is on; None where that depends on what went before, or where nothing comes to rest."""
    out: tuple[str, ...] = ()
    """Of a machine that moves: the pistons that are out at some rest with this setting."""


def edges_of(levels: Iterable[tuple[int, int]]) -> list[Edge]:
    """The changes in a list of levels with their times."""
    found: list[Edge] = []
    before: int | None = None
    for at, level in levels:
        if before is not None and level != before:
            found.append(Edge(at, level))
        before = level
    return found


def pulses_of(edges: Iterable[Edge]) -> list[Pulse]:
    """Every stretch of on that begins with one of these changes."""
    found: list[Pulse] = []
    for edge in edges:
        running = bool(found) and found[-1].end is None
        if edge.level and not running:
            found.append(Pulse(edge.at, None))
        elif not edge.level and running:
            found[-1] = Pulse(found[-1].start, edge.at)
    return found
