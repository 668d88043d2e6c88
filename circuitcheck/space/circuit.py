"""The door of this package: from a drawing, and a set of rules, to the circuit that it is."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from circuitcheck.diagnostics import Diagnostic
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import Drawing
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.cells import cells_of
from circuitcheck.model.rules import RuleSet
from circuitcheck.space import standing
from circuitcheck.space.light_on_cells import light_on_cells
from circuitcheck.space.reading import wired
from circuitcheck.space.room import Room


class Read(NamedTuple):
    """What a drawing comes to. With mistakes the circuit is not to be used."""

    circuit: Circuit
    mistakes: tuple[Diagnostic, ...]
    named: bool = True
    """Whether the circuit has its parts: not where something can't stand, as no power is followed then."""


def read(drawing: Drawing, rules: RuleSet, name: str = "drawing", every_light: bool = False) -> Read:
    """The circuit of a drawing under a set of rules; it has no outputs, and the usual phases of the day.

    Of lamps and torches that give a cell less light than decides anything there the ways are left out, unless
    `every_light` is asked for: fewer parts then have a say in what can happen.
    """
    room = Room(drawing, rules)
    mistakes = tuple(standing.mistakes(room))
    if mistakes:
        return Read(Circuit(name, (), rules=rules, drawing=drawing), mistakes, named=False)
    parts, where = wired(drawing, rules)
    circuit = Circuit(name, parts, rules=rules, drawing=drawing, where=where)
    cells = [(where[cell.name], cell) for cell in cells_of(parts)]
    lit = light_on_cells(room, circuit, cells, every_light).lit
    if lit.mistakes:
        return Read(circuit, lit.mistakes)
    placed = tuple(_placed(part, lit.of_cell) for part in parts)
    return Read(replace(circuit, parts=placed, places=lit.places), ())


def _placed(part: Part, of_cell: dict[str, str]) -> Part:
    return part if part.cell is None else part.cell.at_place(of_cell[part.name])


def under(circuit: Circuit, rules: RuleSet) -> Circuit | Diagnostic:
    """A circuit under another set of rules; one that was drawn is read again, and may not be able to stand so."""
    again = replace(circuit, rules=rules)
    return again if circuit.drawing is None else redrawn(again, circuit.drawing)


def redrawn(circuit: Circuit, drawing: Drawing) -> Circuit | Diagnostic:
    """A circuit that was drawn, as another drawing of it is read; or why that can't stand."""
    again = read(drawing, circuit.rules, circuit.name)
    if again.mistakes:
        return again.mistakes[0]
    found = again.circuit
    return replace(circuit, parts=found.parts, places=found.places, drawing=drawing, where=found.where)
