"""A file whose instances are written out: in place of each, the lines of its definition under names of their own.

Where a part reads a whole row, it reads each part of it by name, so that any of them may be changed alone.

What an instance `either` has as `way.1` is `either_way.1` then, what its ports stand for is read directly, and what
reads what it gives out, or names what is inside it, names that. Definitions themselves stay, without instances too.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from circuitcheck.curing.edits import Edit, edited, replacing
from circuitcheck.curing.source_text import ASKING_WITH, DRAWN, Source, amounts, extent, words
from circuitcheck.diagnostics import Span
from circuitcheck.language import tree
from circuitcheck.language.layout import laid_out
from circuitcheck.language.parse import parse

ALONE = (*ASKING_WITH, tree.ForbidLine)
"""The statements of a definition that count only where it stands alone."""


class NotFlat(Exception):
    """Why a file's instances can't be written out."""


class Flat(NamedTuple):
    """A file without instances."""

    text: str
    instances: int
    """How many there were, those within others among them."""


@dataclass
class _Place:
    """The file, a definition standing alone, or an instance: what a name in it is called once all is written out."""

    statements: Sequence[tree.Statement]
    prefix: str = ""
    ports: Mapping[str, str] = field(default_factory=dict)
    """What each port of an instance is called where all is written out."""
    values: Mapping[str, str] = field(default_factory=dict)
    """Its given values, as they are written."""
    instances: dict[str, _Place] = field(default_factory=dict)
    outputs: dict[str, str] = field(default_factory=dict)

    def called(self, name: str) -> str:
        """What a name is called."""
        if name in self.ports:
            return self.ports[name]
        head, _, rest = name.partition(".")
        if head in self.instances:
            return self.instances[head].called(rest)
        if name in self.outputs:
            return self.called(self.outputs[name])
        return self.prefix + name

    def each(self, name: str) -> str:
        """What a name is called, or, where it is a row of the place, each of its parts: any of them may go then."""
        base, dot, _ = name.rpartition(".*")
        lines = [line for line in self.statements if isinstance(line, tree.PartLine)]
        own = [number for line in lines if dot for number in _numbers(line, base)]
        return ", ".join(self.called(f"{base}.{number}") for number in own) if own else self.called(name)


def _numbers(line: tree.PartLine, base: str) -> range:
    """The numbers that a line gives the parts of a row."""
    row, _, first = line.first.text.rpartition(".")
    last = first if line.last is None else line.last.text.rpartition(".")[2]
    known = row == base and first.isdecimal() and last.isdecimal()
    return range(int(first), int(last) + 1) if known else range(0)


def flattened(source: Source) -> Flat:
    """A file with all its instances written out. Raises NotFlat."""
    return _Flattening(source).flat()


class _Flattening:
    def __init__(self, source: Source) -> None:
        self._source = source
        self._definitions = dict(_definitions(source))
        self._lines = {path: list(lines) for path, lines in source.loaded.sources.items()}
        self._instances = 0

    def flat(self) -> Flat:
        """The whole file."""
        edits = list(self._in(self._source.file.statements))
        for definition in self._source.definitions.values():
            edits += self._in(definition.statements)
        if not edits:
            return Flat(self._source.text, 0)
        text = "\n".join(edited(self._source.lines, edits)) + "\n"
        return Flat(laid_out(text, self._source.path)[0], self._instances)

    def _in(self, statements: Sequence[tree.Statement]) -> Iterator[Edit]:
        """The edits that write out the instances of the file itself, or of a definition standing alone."""
        place = _Place(statements)
        taken = {word.text.partition(".")[0] for word in words(statements)}
        lines = {each.name.text: each for each in statements if isinstance(each, tree.InstanceLine)}
        for line in lines.values():
            self._open(place, line, taken, ())
        for statement in statements:
            if isinstance(statement, tree.InstanceLine):
                yield from self._instead(statement, list(self._lines_of(place.instances[statement.name.text])))
            elif not isinstance(statement, (tree.Definition, *DRAWN)):
                if isinstance(statement, tree.PartLine) and not statement.first.text.endswith(".*"):
                    rows = (word for word in _named(statement) if word.text.endswith(".*"))
                    yield from (
                        replacing(word.span, each) for word in rows if (each := place.each(word.text)) != word.text
                    )
                for word in words(statement):
                    if word.text.partition(".")[0] in place.instances and "." in word.text and not _is_quoted(word):
                        yield replacing(word.span, place.called(word.text))

    def _instead(self, line: tree.InstanceLine, lines: list[str]) -> Iterator[Edit]:
        """A line, and those on which it goes on, with others in its place."""
        first, last = extent(line)
        own = self._source.lines[first - 1]
        indent = own[: len(own) - len(own.lstrip())]
        yield Edit(first, 1, len(own) + 1, "\n".join(indent + each for each in lines) if lines else None)
        for number in range(first + 1, last + 1):
            yield Edit(number, 1, len(self._source.lines[number - 1]) + 1, None)

    def _open(self, outer: _Place, line: tree.InstanceLine, taken: set[str], inside: tuple[str, ...]) -> None:
        """Looks into an instance. Ports are followed once all instances beside it are known."""
        definition = self._definitions[line.definition.text]
        self._instances += 1
        prefix = f"{outer.prefix}{line.name.text}_"
        while any(name.startswith(prefix) for name in taken):
            prefix += "_"
        wires = {port.text: word.text for port, word in line.wires}
        inner = _Place(definition.statements, prefix, _Ports(outer, wires), self._values(outer, line, definition))
        outer.instances[line.name.text] = inner
        for each in definition.statements:
            if isinstance(each, tree.OutputLine):
                inner.outputs[each.name.text] = each.source.text
            elif isinstance(each, tree.InstanceLine):
                self._open(inner, each, taken, (*inside, line.definition.text))

    def _values(self, outer: _Place, line: tree.InstanceLine, definition: tree.Definition) -> Mapping[str, str]:
        usual = {each.name.text: each.amount.text for each in definition.parameters}
        given = {each.name.text: outer.values.get(each.amount.text, each.amount.text) for each in line.values}
        return usual | given

    def _lines_of(self, place: _Place) -> Iterator[str]:
        for each in place.statements:
            if isinstance(each, tree.InstanceLine):
                yield from self._lines_of(place.instances[each.name.text])
            elif isinstance(each, tree.PartLine):
                yield self._line(place, each, (each.first, *([each.last] if each.last else []), *_named(each)))
            elif isinstance(each, tree.SilenceLine) and each.names:
                yield self._line(place, each, each.names)
            elif not isinstance(each, (*ALONE, *DRAWN, tree.OutputLine)):
                raise NotFlat(f"an instance has a line of its own that can't stand outside it, {_where(each)}")

    def _line(self, place: _Place, statement: tree.Statement, names: Sequence[tree.Word]) -> str:
        """A statement of a definition, on one line, with the names and values that it has in an instance."""
        first, last = extent(statement)
        row = statement.first.text.endswith(".*") if isinstance(statement, tree.PartLine) else True
        edits = [replacing(word.span, place.called(word.text) if row else place.each(word.text)) for word in names]
        for amount in amounts(statement):
            if amount.form is tree.AmountForm.NAME and amount.text in place.values:
                edits.append(replacing(amount.span, place.values[amount.text]))
        chunk = self._lines[names[0].span.file][first - 1 : last]
        own = [Edit(each.line - first + 1, *each[1:]) for each in edits]
        return " ".join(line.partition("#")[0].strip() for line in edited(chunk, own))


class _Ports(Mapping[str, str]):
    """What the ports of an instance are wired to, as that is called: looked up when all around it is known."""

    def __init__(self, outer: _Place, wires: Mapping[str, str]) -> None:
        self._outer, self._wires = outer, wires

    def __getitem__(self, port: str) -> str:
        return self._outer.called(self._wires[port])

    def __iter__(self) -> Iterator[str]:
        return iter(self._wires)

    def __len__(self) -> int:
        return len(self._wires)


def _definitions(source: Source) -> Iterator[tuple[str, tree.Definition]]:
    """Every definition of the files that a file uses, and its own."""
    for path, lines in source.loaded.sources.items():
        file, _ = parse("\n".join(lines), path)
        for each in file.statements if file is not None else ():
            if isinstance(each, tree.Definition):
                yield each.name.text, each


def _named(line: tree.PartLine) -> Iterator[tree.Word]:
    for option in line.options:
        yield from option.names


def _is_quoted(word: tree.Word) -> bool:
    return word.span.end_column - word.span.column > len(word.text)


def _where(statement: tree.Statement) -> str:
    span: Span = next(word.span for word in words(statement))
    return f"{span.file}:{span.line}"
