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
from circuitcheck.space.daylight import lit_places, with_a_say
from circuitcheck.space.light import Flowing, Head, Moved
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
    pushed: list[Moved | Head] = []
    coming: list[Head] = []
    flowing: Flowing = {}
    if cells and drawing.has_pistons:
        from circuitcheck.space.pushed_light import (
            heads,
            moved,
            not_lit,
        )  # what moves is imported only where something does
        from circuitcheck.space.water_light import water_in_light

        blocks = moved(drawing, circuit)
        flowing = water_in_light(drawing, rules, blocks)
        pushed, coming = list(blocks), list(heads(drawing, circuit))
        unlit = dict(not_lit(drawing, circuit))
        if unlit:
            say = with_a_say(room, cells, pushed, flowing)
            mistakes = tuple(unlit[each] for each in say if each in unlit)
            if mistakes:
                return Read(circuit, mistakes)
            pushed = [each for each in pushed if each not in unlit]
    lit = lit_places(room, cells, [*pushed, *coming], flowing, every_light)
    if lit.mistakes and coming:
        lit = lit_places(room, cells, pushed, flowing, every_light)  # heads as air, where it depends on too much
    if lit.mistakes and flowing:
        lit = lit_places(room, cells, pushed, {}, every_light)  # as drawn, where it depends on too much otherwise
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
