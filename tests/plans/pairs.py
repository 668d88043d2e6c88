"""Two copies of a drawing put down as one by their letters, and what feeds each part by its place."""

from __future__ import annotations

from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.language.load import load_text
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At
from circuitcheck.plans.tiling import Offset

from .drawings import file_of

MIRRORED = str.maketrans("><WEwe][Dd}{", "<>EWew[]dD{}")
Letters = dict[At, str]
Which = tuple[At, str]
"""A part by its place, and what is behind the dot of its name."""
Fed = dict[Which, tuple[object, dict[tuple[str, Which], object]]]
"""For each part: what it is, and what feeds each of its inputs with the levels lost on the way."""


def letters_of(layers: tuple[str, ...]) -> Letters:
    """Every letter but air, by its place."""
    found: Letters = {}
    for layer, rows in enumerate(layers, 1):
        for row, letters in enumerate(rows.split("/"), 1):
            found |= {(layer, row, column): letter for column, letter in enumerate(letters, 1) if letter != "."}
    return found


def copied(layers: tuple[str, ...], offset: Offset) -> Letters:
    """The letters of the copy, where they come to stand."""
    width = len(layers[0].split("/")[0])
    found = {}
    for (layer, row, column), letter in letters_of(layers).items():
        there = width + 1 - column if offset.mirrored else column
        place = (layer + offset.layers, row + offset.rows, there + offset.columns)
        found[place] = letter.translate(MIRRORED) if offset.mirrored else letter
    return found


def layers_of(letters: Letters) -> tuple[str, ...]:
    """The layers that hold these letters, from the first place on."""
    high, deep, wide = (max(place[axis] for place in letters) for axis in range(3))

    def row_of(layer: int, row: int) -> str:
        return "".join(letters.get((layer, row, column), ".") for column in range(1, wide + 1))

    return tuple("/".join(row_of(layer, row) for row in range(1, deep + 1)) for layer in range(1, high + 1))


def circuit_at(letters: Letters) -> Circuit | None:
    """The circuit that these letters draw; None where they can't stand so."""
    loaded = load_text(file_of(*layers_of(letters)))
    return None if loaded.diagnostics else loaded.studies[0].circuit


def fed(circuit: Circuit) -> Fed:
    """What each part is, and what feeds it."""

    def which(name: str) -> Which:
        return (circuit.where[name], name.partition(".")[2])

    known = wiring(circuit)
    found: Fed = {}
    for name, inputs in known.inputs.items():
        sources: dict[tuple[str, Which], object] = {
            (port, which(source)): lost for (port, source), lost in inputs.items()
        }
        found[which(name)] = (known.labels[name][:3], sources)
    return found


def moved(known: Fed, offset: Offset, width: int) -> Fed:
    """The same for the copy."""

    def there(which: Which) -> Which:
        (layer, row, column), behind = which
        column = width + 1 - column if offset.mirrored else column
        return ((layer + offset.layers, row + offset.rows, column + offset.columns), behind)

    return {
        there(part): (label, {(port, there(source)): lost for (port, source), lost in inputs.items()})
        for part, (label, inputs) in known.items()
    }


def stand_apart(layers: tuple[str, ...], offset: Offset) -> bool:
    """Whether every part of a drawing and of its copy is the same and fed by the same as in the drawing alone."""
    mine, theirs = letters_of(layers), copied(layers, offset)
    if mine.keys() & theirs.keys():
        return False
    alone, both = circuit_at(mine), circuit_at({**mine, **theirs})
    assert alone is not None
    if both is None:
        return False
    known, width = fed(alone), len(layers[0].split("/")[0])
    return fed(both) == {**known, **moved(known, offset, width)}
