"""A repeater put into a circuit's text, on the way from some parts to some inputs: only the author's lines are changed.

The parts and pieces that are farther away then read the repeater instead.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.language import tree
from circuitcheck.language.layout import laid_out
from circuitcheck.language.parse import parse
from circuitcheck.model.circuit import Circuit

NAMED = re.compile(r"[\w.]+")
OWN = re.compile(r"(_renewed|_led)(_\d+)?$")
"""What is put to the name of a source for that of the repeater, or of dust before or behind it."""


class Renewed(NamedTuple):
    """A repeater that was put in."""

    name: str
    sources: tuple[str, ...]
    """The names of the parts that are led to it."""
    readers: tuple[str, ...]
    """The names of the parts that read it."""


class _Read(NamedTuple):
    """Where a line says what a part reads, or what an instance is wired to."""

    words: tuple[tree.Word, ...]
    """All names that stand there."""
    renewed: tuple[str, ...]
    """Those of them that are to be renewed."""
    first: int
    """The line that its statement begins in."""


def renewed(
    text: str, path: str, of: str, circuit: Circuit, sources: Sequence[str], readers: Sequence[str]
) -> tuple[str, list[Renewed]]:
    """The text with a repeater on the way from parts to those that read them, and what was put in.

    That is a repeater for each way in which the readers name these parts. It is none where no line of this circuit says
    so, but one of another file, or of a definition that is used: other instances have that as well.
    """
    file, _ = parse(text, path)
    statements = () if file is None else _of_circuit(file, of)
    wanted, reads = frozenset(sources), dict[_Read, list[str]]()
    for reader in readers:
        for read in _reads(statements, circuit, wanted, reader):
            reads.setdefault(read, []).append(reader)
    edits, made = _Edits(text), list[Renewed]()
    for names in dict.fromkeys(read.renewed for read in reads):
        group = {read: each for read, each in reads.items() if read.renewed == names}
        fed = tuple(dict.fromkeys(each for parts in group.values() for each in parts))
        name = edits.put_in(circuit, names, list(group), fed)
        made.append(Renewed(name, tuple(sources), fed))
    after = edits.made()
    if after.count("#") != text.count("#"):
        return text, []  # a comment between two names would be gone
    return laid_out(after, path)[0] if laid_out(text, path)[0] == text else after, made


def _of_circuit(file: tree.File, of: str) -> tuple[tree.Statement, ...]:
    """The statements of the file's own circuit, or of a definition in it."""
    if not of:
        return file.statements
    found = (each for each in file.statements if isinstance(each, tree.Definition) and each.name.text == of)
    return next((each.statements for each in found), ())


def _reads(
    statements: Iterable[tree.Statement], circuit: Circuit, wanted: frozenset[str], reader: str
) -> Iterator[_Read]:
    """Where it is said that a part reads some of what is wanted."""
    for each in statements:
        if isinstance(each, tree.PartLine) and each.first.text == reader and each.last is None:
            said = [option.names for option in each.options if option.word.text == "from"]
        elif isinstance(each, tree.InstanceLine) and reader.startswith(f"{each.name.text}."):
            said = [(word,) for _, word in each.wires]
        else:
            continue
        first = (each.kind if isinstance(each, tree.PartLine) else each.definition).span.line
        for words in said:
            names = tuple(word.text for word in words if _behind(circuit, word.text) & wanted)
            if names:
                yield _Read(words, names, first)


def _behind(circuit: Circuit, name: str) -> set[str]:
    """The parts that power comes from where a name is read, by way of dust and blocks."""
    outputs = {output.name: output.source for output in circuit.outputs}
    found: set[str] = set()
    queue, seen = [name], {name}
    for each in queue:
        part = circuit.by_name.get(each)
        if part is not None and part.behaves:
            found.add(each)
            continue
        if part is not None:
            more = [source for port in part.ports() for source in port.sources]
        elif each.endswith(".*"):
            more = [other for other in circuit.by_name if other.startswith(each[:-1])]
        else:
            more = [outputs[each]] if each in outputs else []
        queue += [other for other in more if other not in seen]
        seen.update(more)
    return found


class _Edits:
    """Changes of a text, made all at once."""

    def __init__(self, text: str) -> None:
        self._text = text
        self._lines = text.splitlines(keepends=True)
        self._starts = [0]
        for each in self._lines:
            self._starts.append(self._starts[-1] + len(each))
        self._taken = set(NAMED.findall(text))
        self._edits: list[tuple[int, int, str]] = []

    def put_in(self, circuit: Circuit, names: tuple[str, ...], reads: list[_Read], fed: tuple[str, ...]) -> str:
        """Puts a repeater in before the first of those that read it; its name.

        Where it would else stand right behind a repeater, or right before one, dust is put between (rule C3).
        """
        word = re.sub(r"\W", "_", OWN.sub("", names[0].removesuffix(".*")))
        name, lines = self._fresh(f"{word}_renewed"), []
        by, read = ", ".join(names), name
        if len(names) == 1 and names[0] in circuit.by_name and circuit.by_name[names[0]].directed:
            by = self._fresh(f"{word}_led")
            lines.append(f"dust {by} from {names[0]}")
        lines.append(f"repeater {name} from {by}")
        if len(fed) == 1 and circuit.by_name[fed[0]].directed:
            read = self._fresh(f"{word}_led")
            lines.append(f"dust {read} from {name}")
        for each in reads:
            self._replace(each, read)
        at = self._starts[min(each.first for each in reads) - 1]
        start = self._lines[min(each.first for each in reads) - 1]
        indent = start[: len(start) - len(start.lstrip())]
        self._edits.append((at, at, "".join(f"{indent}{line}\n" for line in lines)))
        return name

    def _fresh(self, wanted: str) -> str:
        """A name that the text does not have yet."""
        name, number = wanted, 1
        while name in self._taken:
            number += 1
            name = f"{wanted}_{number}"
        self._taken.add(name)
        return name

    def _replace(self, read: _Read, name: str) -> None:
        """Writes a name in the place of all those that are renewed."""
        first, last = read.words[0].span, read.words[-1].span
        left = [word.text for word in read.words if word.text not in read.renewed]
        place = next(number for number, word in enumerate(read.words) if word.text in read.renewed)
        start, end = self._at(first.line, first.column), self._at(last.line, last.end_column)
        self._edits.append((start, end, ", ".join([*left[:place], name, *left[place:]])))

    def _at(self, line: int, column: int) -> int:
        return self._starts[line - 1] + column - 1

    def made(self) -> str:
        """The text with all of them made."""
        text = self._text
        for start, end, after in sorted(self._edits, reverse=True):
            text = text[:start] + after + text[end:]
        return text
