"""The same response with other numbers of cells, and under other sets of rules."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import NamedTuple

from circuitcheck.chance.first_edge.response import NoSensor, Response, respond
from circuitcheck.chance.light.in_reach import upstream
from circuitcheck.chance.machine.joint import TooLarge
from circuitcheck.checks.sensing import changes, rows
from circuitcheck.diagnostics import Diagnostic
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import OpenStart
from circuitcheck.language.load import load_resized
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Atom
from circuitcheck.model.rules import RULE_SETS, under
from circuitcheck.space.circuit import under as read_under

SIZES = (1, 2, 3, 5, 7)
"""Numbers of cells that are always tried, beside the one in the file and twice that."""
LARGEST = 50
"""A sensor of more cells is not tried with twice as many."""


class Variant(NamedTuple):
    """One variant, and what it comes to; None where it can't be started, is too large, or can't stand so."""

    cells: int
    rules: str
    found: Response | None


def watched_sensors(circuit: Circuit, signal: str) -> dict[str, int]:
    """The sensors that can change and that something watches which a signal depends on, with their numbers of cells.

    None of a drawing: it has the cells that are drawn.
    """
    if circuit.drawing is not None:
        return {}
    program, heard = Program(circuit), upstream(circuit, (signal,))
    return {
        row: len(cells)
        for row, cells in rows(circuit).items()
        if list(changes(circuit, cells))
        and any(cell.name in heard and program.readers[program.number[cell.name]] for cell in cells)
    }


def by_cells(
    path: str | os.PathLike[str], root: str, sensor: str, cells: int, phase: str, edge: Atom
) -> Iterator[Variant]:
    """The response with other numbers of cells in one sensor, the file being built again with each that it can have.

    A sensor that has as many cells as the rows it names can have no others.
    """
    sizes = sorted({*SIZES, cells, *([2 * cells] if cells <= LARGEST else [])})
    for size in sizes:
        loaded = load_resized(path, {sensor: size}, root)
        circuit = loaded.studies[0].circuit if loaded.studies else None
        known = circuit is not None and len(rows(circuit).get(sensor, ())) == size
        if circuit is not None and known:
            yield Variant(size, "", _tried(circuit, phase, edge))


def by_rules(circuit: Circuit, phase: str, edge: Atom) -> Iterator[Variant]:
    """The response under each named set of rules; settings that the file changes stay changed."""
    for rules in RULE_SETS.values():
        changed = read_under(circuit, under(circuit.rules, rules))
        found = None if isinstance(changed, Diagnostic) else _tried(changed, phase, edge)
        yield Variant(0, rules.name, found)


def _tried(circuit: Circuit, phase: str, edge: Atom) -> Response | None:
    try:
        return respond(circuit, phase, edge)
    except (OpenStart, NoSensor, TooLarge):
        return None
