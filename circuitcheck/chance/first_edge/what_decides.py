"""What decides a response: the same response with one thing otherwise at a time.

Chance of a draw, set of rules, how many cells change, how many sources grow over each, how many cells each source
reaches, and the steps of dusk and dawn. Cells and sources are varied in the circuit itself, so that what is drawn can
be varied as well: a cell that is left out stays as it starts, and a further source stands where one is already.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.chance.first_edge.response import NoSensor, Response, respond
from circuitcheck.chance.light.in_reach import upstream
from circuitcheck.chance.machine.joint import TooLarge
from circuitcheck.chance.machine.units import can_change
from circuitcheck.diagnostics import Diagnostic
from circuitcheck.engine.start import OpenStart
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Atom
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.cells import Cell, cells_of
from circuitcheck.model.rules import RULE_SETS, Chance, under
from circuitcheck.space.circuit import under as read_under


class Turn(NamedTuple):
    """The response with one thing otherwise."""

    what: str
    """What is otherwise, in words."""
    value: str
    found: Response | None
    """None where it can't be started, is too large, or can't stand so."""


def what_decides(circuit: Circuit, phase: str, edge: Atom) -> Iterator[Turn]:
    """The response with one thing otherwise at a time."""
    for what, value, changed in _variations(circuit, edge.name):
        found = None
        if changed is not None:
            try:
                found = respond(changed, phase, edge)
            except (OpenStart, NoSensor, TooLarge):
                found = None
        yield Turn(what, value, found)


def _variations(circuit: Circuit, signal: str) -> Iterator[tuple[str, str, Circuit | None]]:
    chance = circuit.rules.draw_chance
    for word, other in (
        ("half", Chance(chance.of, chance.within * 2)),
        ("twice", Chance(chance.of * 2, chance.within)),
    ):
        if 0 < other.number <= 1:
            rules = replace(circuit.rules, draw_chance=other)
            yield "chance of a draw", f"{other}, {word}", replace(circuit, rules=rules)
    for named in RULE_SETS.values():
        if named.name != circuit.rules.name:
            changed = read_under(circuit, under(circuit.rules, named))
            yield "rules", named.name, None if isinstance(changed, Diagnostic) else changed
    # Where pistons move the wiring any cell may come to have a say: at home what they move may feed nothing.
    heard = set(circuit.by_name) if circuit.things_move else upstream(circuit, (signal,))
    for row, cells in _rows(circuit).items():
        if any(cell.name in heard and can_change(cell) for cell in cells):
            yield from _of_cells(circuit, row, cells)
            yield from _of_sources(circuit, row, cells)
    yield from _of_dusk(circuit)


def _rows(circuit: Circuit) -> dict[str, list[Cell]]:
    """The cells of each sensor, whatever light falls on them."""
    found: dict[str, list[Cell]] = {}
    for cell in cells_of(circuit.parts):
        found.setdefault(cell.row, []).append(cell)
    return found


def _of_cells(circuit: Circuit, row: str, cells: Sequence[Cell]) -> Iterator[tuple[str, str, Circuit]]:
    count = len(cells)
    for few in sorted({1, (count + 1) // 2} - {count}):
        still = {cell.name: cell.unchanging() for cell in cells[few:]}
        yield f"cells of '{row}'", f"{few} of {count}", _with(circuit, still)


def _of_sources(circuit: Circuit, row: str, cells: Sequence[Cell]) -> Iterator[tuple[str, str, Circuit]]:
    """Fewer and more sources that grow over each cell, and fewer cells that each source reaches."""
    most = max(len(cell.grows) for cell in cells)
    if not most:
        return
    for few in sorted({1, (most + 1) // 2} - {most}):
        yield f"sources of '{row}'", f"{few} of {most}", with_sources(circuit, cells, few)
    yield f"sources of '{row}'", f"{2 * most}, twice", _with_twice_the_sources(circuit, cells)
    reached = _reached(cells)
    widest = max(map(len, reached.values()))
    for few in sorted({1, (widest + 1) // 2} - {widest}):
        yield f"cells of '{row}' that a source reaches", f"{few} of {widest}", with_reach(circuit, cells, few)


def with_sources(circuit: Circuit, cells: Sequence[Cell], most: int) -> Circuit:
    """The circuit with no more than so many sources for each of some cells."""
    return _with(circuit, {cell.name: cell.grown_from(cell.grows[:most]) for cell in cells})


def _with_twice_the_sources(circuit: Circuit, cells: Sequence[Cell]) -> Circuit:
    sources = dict.fromkeys(name for cell in cells for name in cell.grows)
    again = {name: f"{name}.again" for name in sources}
    copies = [replace(circuit.by_name[name], name=copy) for name, copy in again.items()]
    grown = {cell.name: cell.grown_from((*cell.grows, *(again[name] for name in cell.grows))) for cell in cells}
    changed = _with(circuit, grown)
    return replace(changed, parts=(*changed.parts, *copies))


def _reached(cells: Sequence[Cell]) -> dict[str, list[str]]:
    """For each source, the cells that it can grow over."""
    found: dict[str, list[str]] = {}
    for cell in cells:
        for name in cell.grows:
            found.setdefault(name, []).append(cell.name)
    return found


def with_reach(circuit: Circuit, cells: Sequence[Cell], most: int) -> Circuit:
    """The circuit with no more than so many of some cells in reach of each source.

    Of several sources that reach the same cells, each has others left, so that no cell is left out as long as may be.
    """
    kept: set[tuple[str, str]] = set()
    for place, (source, targets) in enumerate(_reached(cells).items()):
        kept |= {(source, targets[(place * most + each) % len(targets)]) for each in range(min(most, len(targets)))}
    grown = {
        cell.name: cell.grown_from(tuple(name for name in cell.grows if (name, cell.name) in kept)) for cell in cells
    }
    return _with(circuit, grown)


def _of_dusk(circuit: Circuit) -> Iterator[tuple[str, str, Circuit]]:
    """Dusk and dawn at once, their time given to the night and the day; and twice as long, at the cost of these."""
    cycle = circuit.cycle
    steps = "steps of dusk and dawn"
    if cycle.dusk or cycle.dawn:
        yield steps, "none, all at once", replace(circuit, cycle=cycle.at_once())
    longer = cycle._replace(
        dusk=2 * cycle.dusk, dawn=2 * cycle.dawn, night=cycle.night - cycle.dusk, day=cycle.day - cycle.dawn
    )
    if (cycle.dusk or cycle.dawn) and longer.night > 0 and longer.day > 0:
        yield steps, "twice as long", replace(circuit, cycle=longer)


def _with(circuit: Circuit, parts: Mapping[str, Part]) -> Circuit:
    return replace(circuit, parts=tuple(parts.get(part.name, part) for part in circuit.parts))
