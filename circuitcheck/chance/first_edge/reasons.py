"""Why something never comes: which sensors can't change, and that those which can don't lead there."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.chance.days.calendar import Calendar, Window
from circuitcheck.chance.light.in_reach import upstream
from circuitcheck.checks.sensing import changes, rows, why_still
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Atom


def why_never(circuit: Circuit, calendar: Calendar, window: Window, edge: Atom) -> Iterator[str]:
    """What stands in the way of an edge in a window, sensor by sensor, of those that the signal depends on."""
    if window.begin == window.end:
        yield "the phase has no length"
        return
    heard = upstream(circuit, (edge.name,))
    sensors = {row: cells for row, cells in rows(circuit).items() if any(cell.name in heard for cell in cells)}
    if not sensors:
        yield f"'{edge.name}' depends on no sensor: only actions change it"
        return
    skies = calendar.skies(window)
    able = []
    for row, cells in sensors.items():
        possible = [change.words for change in changes(circuit, cells)]
        why = why_still(circuit, cells, skies)
        if why:
            yield f"'{row}' does not change then: {why}"
        elif possible:
            able.append(f"'{row}' can {' and '.join(possible)}")
    if able:
        yield f"{', '.join(able)}, but nothing that follows leads there in time from the state that the phase finds"
