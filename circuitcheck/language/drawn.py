"""The part of the tree's builder that reads words, and the lines of legends, pieces and drawings."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from lark import Token, Transformer

from circuitcheck.diagnostics import Span
from circuitcheck.language import drawn_tree, tree

Children = list[Any]


class WordBuilder(Transformer[Token, tree.File]):
    """Words and amounts. `file` is the file being read."""

    file = ""

    # Words

    def span(self, token: Token) -> Span:
        """Where a word stands."""
        line, column = token.line or 0, token.column or 0
        return Span(self.file, line, column, token.end_column or column + 1)

    def word(self, token: Token) -> tree.Word:
        """A name or keyword as a value."""
        return tree.Word(str(token), self.span(token))

    def text(self, token: Token) -> tree.Word:
        """A quoted text without its quotes."""
        return tree.Word(str(token)[1:-1], self.span(token))

    def amount(self, children: Children) -> tree.Amount:
        token = children[0]
        return tree.Amount(tree.AmountForm(token.type.lower()), str(token), self.span(token))

    def _optional(self, token: Token | None, read: Callable[[Token], Any]) -> Any:
        return None if token is None else read(token)

    def names(self, children: Children) -> tuple[tree.Word, ...]:
        return tuple(self.word(token) for token in children)


class DrawnBuilder(WordBuilder):
    """The lines of the build as it will stand."""

    def legend(self, children: Children) -> drawn_tree.LegendBlock:
        return drawn_tree.LegendBlock(tuple(child for child in children if isinstance(child, drawn_tree.Entry)))

    def entry(self, children: Children) -> drawn_tree.Entry:
        letter, thing, *features, _when, when, only = children
        said: dict[str, tree.Word] = {}
        shapes: list[tree.Word] = []
        options: list[tree.Option] = []
        twice: list[tree.Word] = []
        for feature in features:
            if isinstance(feature, tree.Option):
                options.append(feature)
                continue
            name, word = feature
            if name == "shape":
                shapes.append(word)
            elif name in said:
                twice.append(word)
            else:
                said[name] = word
        return drawn_tree.Entry(
            self.word(letter),
            thing,
            said.get("facing"),
            said.get("on"),
            said.get("at"),
            said.get("named"),
            tuple(shapes),
            tuple(options),
            self._optional(when, self.word),
            only,
            tuple(twice),
        )

    def thing(self, children: Children) -> tree.Word:
        return children[0] if isinstance(children[0], tree.Word) else self.word(children[0])

    def facing_feature(self, children: Children) -> tuple[str, tree.Word]:
        return "facing", children[1]

    def on_feature(self, children: Children) -> tuple[str, tree.Word]:
        return "on", children[1]

    def at_feature(self, children: Children) -> tuple[str, tree.Word]:
        return "at", self.word(children[1])

    def direction(self, children: Children) -> tree.Word:
        return self.word(children[0])

    def named_feature(self, children: Children) -> tuple[str, tree.Word]:
        return "named", self.word(children[1])

    def shape_feature(self, children: Children) -> tuple[str, tree.Word]:
        return "shape", self.word(children[0])

    def grows_feature(self, children: Children) -> tree.Option:
        return tree.Option(self.word(children[0]))

    def piece(self, children: Children) -> drawn_tree.PieceBlock:
        _piece, name, *lines, _end = children
        return drawn_tree.PieceBlock(self.word(name), tuple(lines))

    def drawing(self, children: Children) -> drawn_tree.DrawingBlock:
        drawing, _of, of, *lines, _end = children
        return drawn_tree.DrawingBlock(self.word(drawing), self._optional(of, self.word), tuple(lines))

    def drawn_layer(self, children: Children) -> drawn_tree.DrawnLayer:
        _layer, first, _to, last, words, *rows, _end = children
        return drawn_tree.DrawnLayer(self.word(first), self._optional(last, self.word), words or (), tuple(rows))

    def layer_words(self, children: Children) -> tuple[tree.Word, ...]:
        return tuple(self.text(token) for token in children)

    def drawn_row(self, children: Children) -> drawn_tree.DrawnRow:
        letters, count, times = children
        return drawn_tree.DrawnRow(
            self.word(letters), self._optional(count, self.word), self._optional(times, self.word)
        )

    def naming(self, children: Children) -> drawn_tree.Naming:
        _named, name, spot, _starts, start = children
        return drawn_tree.Naming(self.word(name), spot, start)

    def putting(self, children: Children) -> drawn_tree.Putting:
        _put, piece, _named, name, spot, *turns = children
        return drawn_tree.Putting(self.word(piece), self._optional(name, self.word), spot, tuple(turns))

    def spot(self, children: Children) -> drawn_tree.SpotItem:
        return drawn_tree.SpotItem(*(self.word(token) for token in children[2:]))

    def turn(self, children: Children) -> tuple[tree.Word, tree.Word | None]:
        return (self.word(children[0]), self._optional(children[1], self.word))
