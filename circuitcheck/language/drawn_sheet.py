"""Things at places while a drawing is put together, and how a sheet of them is turned and mirrored."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace

from circuitcheck.diagnostics import Span
from circuitcheck.language import tree
from circuitcheck.model.drawing import AROUND, MIRRORED, At, Direction, Thing

TURNS = {"right": 1, "around": 2, "left": 3}
"""Quarter turns clockwise, seen from above."""


@dataclass(slots=True)
class Sheet:
    """Things at places while they are put together."""

    size: At = (0, 0, 0)
    things: dict[At, Thing] = field(default_factory=dict)
    spans: dict[At, Span] = field(default_factory=dict)
    legend_names: dict[At, tree.Word] = field(default_factory=dict)
    names: dict[At, tree.Word] = field(default_factory=dict)
    """Names with the full text that they have here."""
    starts: dict[At, int] = field(default_factory=dict)
    words: dict[int, list[str]] = field(default_factory=dict)
    """For each layer what its author says to whoever builds it."""

    def say(self, layer: int, words: Iterable[str]) -> None:
        """Says something of a layer, if it is not said of it already."""
        said_of_it = self.words.setdefault(layer, [])
        said_of_it += [each for each in words if each not in said_of_it]


def quarter(sheet: Sheet) -> Sheet:
    """A sheet turned clockwise by a quarter."""
    layers, rows, columns = sheet.size
    return _carried(sheet, (layers, columns, rows), lambda at: (at[0], at[2], rows + 1 - at[1]), CLOCKWISE)


def mirrored(sheet: Sheet) -> Sheet:
    """A sheet with east and west exchanged."""
    columns = sheet.size[2]
    return _carried(sheet, sheet.size, lambda at: (at[0], at[1], columns + 1 - at[2]), MIRRORED)


CLOCKWISE = dict(zip(AROUND, (*AROUND[1:], AROUND[0]), strict=True))


def _carried(sheet: Sheet, size: At, to: Callable[[At], At], turned: Mapping[Direction, Direction]) -> Sheet:
    """A sheet with everything in it at another place, facing another way."""
    faced: dict[int, Thing] = {}
    for thing in sheet.things.values():
        if id(thing) not in faced:
            facing = thing.facing and turned.get(thing.facing, thing.facing)
            faced[id(thing)] = replace(thing, facing=facing, on=thing.on and turned.get(thing.on, thing.on))
    return Sheet(
        size,
        {to(at): faced[id(thing)] for at, thing in sheet.things.items()},
        {to(at): span for at, span in sheet.spans.items()},
        {to(at): word for at, word in sheet.legend_names.items()},
        {to(at): word for at, word in sheet.names.items()},
        {to(at): start for at, start in sheet.starts.items()},
        sheet.words,
    )
