"""The drawings of a file, and the circuits that they are."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from circuitcheck.diagnostics import Diagnostic, did_you_mean, error
from circuitcheck.language import drawn_tree, tree
from circuitcheck.language.drawing_builder import DrawingBuilder, Piece, Pieces, drawing_of
from circuitcheck.language.legend import Legend, legend_of
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import Drawing
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.circuit import read


class Drawings:
    """A file's drawings: one of its own circuit, and one of each of its definitions that is drawn."""

    def __init__(
        self, blocks: Iterable[drawn_tree.DrawingBlock] = (), legend: Legend | None = None, pieces: Pieces | None = None
    ) -> None:
        self._blocks = list(blocks)
        self._legend = legend or {}
        self._pieces: Pieces = pieces or {}
        self.draws_the_unknown = False
        """Whether a drawing is of a undefined definition: then nobody knows what else it may have been of."""

    def no_twins(self, definitions: Mapping[str, object], mistakes: list[Diagnostic]) -> None:
        """Tells drawings of one thing, and drawings of undefined names."""
        seen: set[str] = set()
        for block in self._blocks:
            name = block.of.text if block.of is not None else ""
            if name in seen:
                what = f"'{name}'" if name else "the circuit"
                mistakes.append(error("CKT611", block.drawing.span, f"{what} is drawn twice", "keep one of them"))
            elif block.of is not None and name not in definitions:
                hint = did_you_mean(name, definitions) or "without 'of' a drawing is of the file's own circuit"
                mistakes.append(error("CKT205", block.of.span, f"nothing called '{name}' is defined", hint))
                self.draws_the_unknown = True
            seen.add(name)

    def unused(self, mistakes: list[Diagnostic]) -> None:
        """Tells the mistakes of pieces that are put down nowhere."""
        put = {
            line.piece.text for block in self._blocks for line in block.lines if isinstance(line, drawn_tree.Putting)
        }
        for name, piece in self._pieces.items():
            if name not in put:
                DrawingBuilder(piece.legend, self._pieces, mistakes, (name,)).sheet(
                    piece.block.lines, piece.block.name.span
                )

    @property
    def draws_own(self) -> bool:
        """Whether the file's own circuit is drawn."""
        return any(block.of is None for block in self._blocks)

    def draws(self, definition: str) -> bool:
        """Whether a definition is drawn."""
        return any(block.of is not None and block.of.text == definition for block in self._blocks)

    def own(self, rules: RuleSet, name: str, mistakes: list[Diagnostic]) -> Circuit | None:
        """The circuit of the drawing of the file's own circuit, if there is one."""
        return self._read("", rules, name, mistakes)

    def of(self, definition: str, rules: RuleSet, mistakes: list[Diagnostic]) -> Circuit | None:
        """The circuit of the drawing of a definition, if there is one."""
        return self._read(definition, rules, definition, mistakes)

    def _read(self, of: str, rules: RuleSet, name: str, mistakes: list[Diagnostic]) -> Circuit | None:
        block = next((each for each in self._blocks if (each.of.text if each.of else "") == of), None)
        if block is None:
            return None
        drawing = drawing_of(block, self._legend, self._pieces, mistakes)
        if mistakes:
            return None  # a letter may be mistaken, and with any mistake nothing comes of the file anyhow
        made = read(drawing, rules, name)
        mistakes += made.mistakes
        if made.named:
            mistakes += unknown_conditions(drawing, made.circuit)
        return None if mistakes else made.circuit


def unknown_conditions(drawing: Drawing, circuit: Circuit) -> list[Diagnostic]:
    """A mistake for each part that something comes and goes with, and that is undefined."""
    found: dict[str, Diagnostic] = {}
    for place, thing in drawing.things.items():
        if thing.when is not None and thing.when.part not in circuit.by_name:
            hint = did_you_mean(thing.when.part, circuit.by_name) or "name a part of the drawing"
            message = f"nothing drawn is called '{thing.when.part}', with which {thing.word} comes and goes"
            found.setdefault(thing.when.part, error("CKT201", drawing.spans[place], message, hint))
    return list(found.values())


def drawings_in(
    statements: Iterable[tree.Statement],
    used: Iterable[tuple[drawn_tree.PieceBlock, Legend]],
    mistakes: list[Diagnostic],
) -> Drawings:
    """The drawings of a file; pieces may come from files that it uses, with the legends of those."""
    lines = list(statements)
    legend = legend_of((each for each in lines if isinstance(each, drawn_tree.LegendBlock)), mistakes)
    pieces: dict[str, Piece] = {}
    own = [(each, legend) for each in lines if isinstance(each, drawn_tree.PieceBlock)]
    for block, letters in (*own, *used):
        first = pieces.get(block.name.text)
        if first is not None:
            where = f"the piece '{block.name.text}' is made twice (first at {first.block.name.span})"
            mistakes.append(error("CKT202", block.name.span, where, "give one of them another name"))
        pieces.setdefault(block.name.text, Piece(block, letters))
    return Drawings((each for each in lines if isinstance(each, drawn_tree.DrawingBlock)), legend, pieces)
