"""Why something never comes: which sensors can't change, and that those which can don't lead there."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.chance.calendar import Calendar, Window
from circuitcheck.checks.sensing import changes, hindrance, rows
from circuitcheck.model.circuit import Circuit


def why_never(circuit: Circuit, calendar: Calendar, window: Window) -> Iterator[str]:
    """What stands in the way of anything that chance could do in a window, sensor by sensor."""
    levels = calendar.skies(window)
    able = []
    for row, cells in rows(circuit).items():
        for change in changes(circuit, cells):
            why = hindrance(circuit, cells[0], change, levels)
            if why:
                yield f"'{row}' can't {change.words} then ({change.rule}): {why}"
            else:
                able.append(f"'{row}' can {change.words}")
    if able:
        yield f"{', '.join(able)}, but from the state that the phase finds the machine in nothing leads there"
    if window.begin == window.end:
        yield "the phase has no length"
