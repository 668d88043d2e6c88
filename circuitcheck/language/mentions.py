"""Every mention of a name in a file, and which name it is: for going to where it is declared, and for renaming.

A name belongs to the file it is declared in, and there to the file's own lines or to one definition. Parts, rows,
instances, outputs and ports share one space of names; given values, definitions, places and pieces have spaces of their
own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from circuitcheck.diagnostics import Span
from circuitcheck.folders import same_file
from circuitcheck.language import drawn_tree, tree
from circuitcheck.model.light import SKY, STANDING_LIGHT
from circuitcheck.model.parts import KINDS

PART, VALUE, DEFINITION, PLACE, PIECE = "part", "value", "definition", "place", "piece"


class Key(NamedTuple):
    """What tells a name from all others: its file, the definition it belongs to ("" for none), its space, itself."""

    file: str
    definition: str
    space: str
    name: str


class Mention(NamedTuple):
    """One place where a name stands. Of a dotted name each segment that is a name has a mention of its own."""

    key: Key
    span: Span
    declares: bool
    what: str
    """What the declaring line makes, such as `repeater`, `port` or `given value`; empty where it only mentions."""
    whole: str
    """The word as it stands, with all its segments."""


NAMES: Mapping[type, tuple[str, ...]] = {
    tree.Option: ("names",),
    tree.Atom: ("name",),
    tree.EdgeWords: ("name",),
    tree.ActionItem: ("name",),
    tree.HoldingLine: ("names",),
    tree.SilenceLine: ("names",),
    tree.ClaimLine: ("each",),
    tree.OutputLine: ("source",),
    tree.ResponseLine: ("target",),
    tree.LayerItem: ("when",),
    drawn_tree.Entry: ("when",),
    tree.Body: ("items",),
}
"""For each kind of node, where in it words stand that mention a part."""


def mentions(file: tree.File, definitions: Mapping[str, tree.Definition]) -> list[Mention]:
    """Every mention in a file, in the order of the file; `definitions` are its own and those it uses."""
    return sorted(_Walk(file, definitions).run(), key=lambda each: (each.span.line, each.span.column))


class _Walk:
    def __init__(self, file: tree.File, definitions: Mapping[str, tree.Definition]) -> None:
        self._file = file
        self._definitions = definitions
        self._homes: dict[str, str] = {}
        self._put = {
            line.name.text
            for each in file.statements
            if isinstance(each, drawn_tree.PieceBlock | drawn_tree.DrawingBlock)
            for line in each.lines
            if isinstance(line, drawn_tree.Putting) and line.name is not None
        }
        self._wired = any(isinstance(each, tree.PartLine | tree.InstanceLine) for each in file.statements)
        self._instances = {"": _instances(file.statements)}
        for name, definition in definitions.items():
            self._instances[name] = _instances(definition.statements)
        self._readers: dict[type, Callable[[Any, str], Iterator[Mention]]] = {
            tree.PartLine: self._part,
            tree.InstanceLine: self._instance,
            tree.OutputLine: self._output,
            tree.Parameter: self._parameter,
            tree.PlaceLine: self._place,
            tree.Repetition: self._repetition,
            tree.Definition: self._definition,
            drawn_tree.LegendBlock: self._legend,
            drawn_tree.PieceBlock: self._drawn,
            drawn_tree.DrawingBlock: self._drawn,
        }

    def run(self) -> Iterator[Mention]:
        for statement in self._file.statements:
            yield from self._statement(statement, "")

    def _statement(self, statement: tree.Statement, inside: str) -> Iterator[Mention]:
        reader = self._readers.get(type(statement), self._rest)
        yield from reader(statement, inside)

    # What declares

    def _part(self, line: tree.PartLine, inside: str) -> Iterator[Mention]:
        # What says how many it is stands for a row, though no number stands in its name.
        counted = any(option.word.text == KINDS[line.kind.text].counted_by for option in line.options)
        whole = f"{line.first.text}.1" if counted else ""
        yield self._mention(line.first, self._key(inside, PART, line.first), line.kind.text, whole)
        if line.last is not None:
            yield self._mention(line.last, self._key(inside, PART, line.last))
        yield from self._rest(line.options, inside)

    def _instance(self, line: tree.InstanceLine, inside: str) -> Iterator[Mention]:
        known = self._definitions.get(line.definition.text)
        yield self._mention(line.definition, self._of_definition(line.definition.text))
        yield self._mention(line.name, self._key(inside, PART, line.name), f"an instance of {line.definition.text}")
        for port, source in line.wires:
            if known is not None:
                yield self._mention(port, self._key(known.name.text, PART, port))
            yield from self._dotted(source, inside)
        for value in line.values:
            if known is not None:
                yield self._mention(value.name, self._key(known.name.text, VALUE, value.name))
            yield from self._rest(value.amount, inside)

    def _output(self, line: tree.OutputLine, inside: str) -> Iterator[Mention]:
        yield self._mention(line.name, self._key(inside, PART, line.name), "output")
        yield from self._dotted(line.source, inside)

    def _parameter(self, line: tree.Parameter, inside: str) -> Iterator[Mention]:
        yield self._mention(line.name, self._key(inside, VALUE, line.name), "given value")
        yield from self._rest((line.amount, line.least, line.most), inside)

    def _place(self, line: tree.PlaceLine, inside: str) -> Iterator[Mention]:
        yield self._mention(line.name, self._key(inside, PLACE, line.name), "place")
        for way in line.paths:
            if way.source.text not in (SKY, STANDING_LIGHT):
                yield from self._dotted(way.source, inside)
            yield from self._rest(way.layers, inside)

    def _repetition(self, block: tree.Repetition, inside: str) -> Iterator[Mention]:
        yield self._mention(block.name, self._key(inside, VALUE, block.name), "repeated value")
        yield from self._rest(block.amounts, inside)
        for statement in block.statements:
            yield from self._statement(statement, inside)

    def _letters(self) -> Iterator[tuple[str, str]]:
        """For each letter the definition that it is drawn in, if it is drawn in the drawing of one."""
        for each in self._file.statements:
            if isinstance(each, drawn_tree.DrawingBlock) and each.of is not None:
                for layer in (line for line in each.lines if isinstance(line, drawn_tree.DrawnLayer)):
                    yield from ((letter, each.of.text) for row in layer.rows for letter in row.letters.text)

    def _legend(self, block: drawn_tree.LegendBlock, inside: str) -> Iterator[Mention]:
        drawn_in: dict[str, set[str]] = {}
        for letter, definition in self._letters():
            drawn_in.setdefault(letter, set()).add(definition)
        for entry in block.entries:
            homes = drawn_in.get(entry.letter.text, set())
            if entry.named is not None and len(homes) == 1:
                # The letter is that of one definition, whose part it names.
                yield self._mention(entry.named, self._key(next(iter(homes)), PART, entry.named))
            elif entry.named is not None:
                # Where a file names its parts as well, the drawing only mentions them.
                kind = "" if self._wired else entry.thing.text
                yield self._mention(entry.named, self._key(inside, PART, entry.named), kind)
            yield from self._rest(entry, inside)

    def _drawn(self, block: drawn_tree.PieceBlock | drawn_tree.DrawingBlock, inside: str) -> Iterator[Mention]:
        if isinstance(block, drawn_tree.PieceBlock):
            yield self._mention(block.name, self._key(inside, PIECE, block.name), "piece")
        elif block.of is not None:
            yield self._mention(block.of, self._of_definition(block.of.text))
        for line in block.lines:
            if isinstance(line, drawn_tree.Naming):
                yield self._mention(line.name, self._key(inside, PART, line.name), "" if self._wired else "drawn part")
            elif isinstance(line, drawn_tree.Putting):
                yield self._mention(line.piece, self._key(inside, PIECE, line.piece))
                if line.name is not None:
                    yield self._mention(line.name, self._key(inside, PART, line.name), f"the piece {line.piece.text}")

    def _definition(self, block: tree.Definition, _inside: str) -> Iterator[Mention]:
        name = block.name.text
        yield self._mention(block.name, self._of_definition(name), "definition")
        for port in block.ports:
            yield self._mention(port, self._key(name, PART, port), "port")
        for parameter in block.parameters:
            yield from self._parameter(parameter, name)
        for word in block.gives:
            yield from self._dotted(word, name)
        for statement in block.statements:
            yield from self._statement(statement, name)

    # What only mentions

    def _rest(self, value: Any, inside: str) -> Iterator[Mention]:
        """Every mention in a piece of the tree that declares nothing."""
        if isinstance(value, tree.Amount):
            if value.form is tree.AmountForm.NAME:
                word = tree.Word(value.text, value.span)
                yield self._mention(word, self._key(inside, VALUE, word))
        elif isinstance(value, tree.Value):
            yield self._mention(value.name, self._key(inside, VALUE, value.name))
            yield from self._rest(value.amount, inside)
        elif isinstance(value, tuple) and not isinstance(value, tree.Word | Span):
            if isinstance(value, tree.Option) and value.place is not None:
                yield self._mention(value.place, self._key(inside, PLACE, value.place))
            names = NAMES.get(type(value), ())
            for field, each in zip(getattr(value, "_fields", range(len(value))), value, strict=True):
                for word in _words(each) if field in names else ():
                    yield from self._dotted(word, inside)
                yield from self._rest(each, inside)

    def _dotted(self, word: tree.Word, inside: str) -> Iterator[Mention]:
        """A name as it is mentioned: where it leads into an instance, so does the segment behind the dot."""
        segment, at = word, inside
        while True:
            yield self._mention(segment, self._key(at, PART, segment), whole=word.text)
            head, dot, rest = segment.text.partition(".")
            inner = self._instances.get(at, {}).get(head)
            if dot and segment.text == word.text and head in self._put and at == inside:
                inner = ""  # what is in a piece that is put down is named by the file's own legend, or in the piece
            elif not dot or inner is None or inner not in self._definitions:
                return
            span = segment.span
            inside_it = Span(span.file, span.line, span.column + len(head) + 1, span.end_column)
            segment, at = tree.Word(rest, inside_it), inner

    def _key(self, inside: str, space: str, word: tree.Word) -> Key:
        return Key(self._home(inside), inside, space, word.text.partition(".")[0])

    def _of_definition(self, name: str) -> Key:
        return Key(self._home(name), "", DEFINITION, name)

    def _home(self, name: str) -> str:
        """The file that a definition stands in, as one path however it is reached; this file where there is none."""
        if name not in self._homes:
            definition = self._definitions.get(name)
            file = definition.name.span.file if definition is not None else self._file.path
            self._homes[name] = same_file(file)
        return self._homes[name]

    def _mention(self, word: tree.Word, key: Key, what: str = "", whole: str = "") -> Mention:
        at = word.span
        span = Span(at.file, at.line, at.column, at.column + len(key.name))
        return Mention(key, span, bool(what), what, whole or word.text)


def _words(value: object) -> Iterable[tree.Word]:
    """The words in a field: itself, or those directly in a tuple of them."""
    if isinstance(value, tree.Word):
        return (value,)
    if isinstance(value, tuple) and not hasattr(value, "_fields"):
        return tuple(each for each in value if isinstance(each, tree.Word))
    return ()


def _instances(statements: Iterable[tree.Statement]) -> dict[str, str]:
    return {each.name.text: each.definition.text for each in statements if isinstance(each, tree.InstanceLine)}
