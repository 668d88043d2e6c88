"""One text as an editor has it open: mistakes, names, outline. Good lines count while others are half typed."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import zip_longest

from circuitcheck.diagnostics import Diagnostic, Span
from circuitcheck.folders import same_file
from circuitcheck.language import tree
from circuitcheck.language.load import Loaded, load_text
from circuitcheck.language.mentions import Key, Mention, mentions
from circuitcheck.language.parse import parse
from circuitcheck.language.text import plain

UNCLOSED = "CKT104"
"""The code of a block without an end; alone, it is that of one that goes on to the end of the text."""
MOST_ROUNDS = 6
"""How often lines with mistakes are taken out before a text is given up as unreadable."""


@dataclass(frozen=True)
class Analysis:
    """A text, read. Its parts are computed when they are first asked for."""

    typed: str
    """The text to the letter, with whatever line ends it has."""
    path: str
    root: str = ""
    before: Analysis | None = field(default=None, repr=False)
    """What was known of the file when it could last be read, for while it can't."""

    @cached_property
    def text(self) -> str:
        """The text as it is read, each line ended alike."""
        return plain(self.typed)

    @cached_property
    def loaded(self) -> Loaded:
        """What the text comes to, mistakes and all."""
        return load_text(self.text, self.path, os.path.dirname(self.path), self.root)

    @property
    def diagnostics(self) -> tuple[Diagnostic, ...]:
        """The mistakes in this file; of those in files that it uses, one is reported where they are used."""
        own = [each for each in self.loaded.diagnostics if each.span.file == self.path]
        others = [each for each in self.loaded.diagnostics if each.span.file != self.path]
        if others:
            first = others[0]
            message = f"{len(others)} in what is used here, the first at {first.span}: {first.message}"
            own.insert(0, Diagnostic(first.code, self._used_at(first.span.file), message, first.hint))
        return tuple(own)

    def _used_at(self, path: str) -> Span:
        """The line that uses a file, or the first that uses any."""
        uses = [each.path for each in self.file.statements if isinstance(each, tree.UseLine)] if self.file else []
        folder = os.path.dirname(self.path)
        there = [word for word in uses if same_file(os.path.join(folder, word.text)) == same_file(path)]
        return next((word.span for word in (*there, *uses)), Span(self.path, 1, 1, 2))

    @cached_property
    def _good(self) -> tuple[str, tree.File | None]:
        """The text without the lines that have a mistake of form, and its syntax tree."""
        lines = self.text.split("\n")
        for _ in range(MOST_ROUNDS):
            text = "\n".join(lines)
            file, mistakes = parse(text, self.path)
            if file is not None:
                return text, file
            if len(mistakes) == 1 and mistakes[0].code == UNCLOSED:
                lines.append("end")  # a block that is being written: its lines are known already
                continue
            for mistake in mistakes:
                if 0 < mistake.span.line <= len(lines):
                    lines[mistake.span.line - 1] = ""
        return self.text, None

    @property
    def file(self) -> tree.File | None:
        """The syntax tree of the lines that have no mistake of form."""
        return self._good[1]

    @property
    def last_read(self) -> Analysis | None:
        """This analysis, if its names were computed, else the one before it; none is held that nobody needs."""
        if "mentions" not in self.__dict__ or self.file is None:
            return self.before
        object.__setattr__(self, "before", None)
        return self

    @cached_property
    def sound(self) -> Loaded:
        """What the lines come to that have no mistake of form."""
        text, _ = self._good
        if text == self.text:
            return self.loaded
        return load_text(text, self.path, os.path.dirname(self.path), self.root)

    @cached_property
    def definitions(self) -> dict[str, tree.Definition]:
        """The definitions of the file, and of those it uses, by name."""
        files = [self.file] if self.file is not None else []
        uses = any(isinstance(each, tree.UseLine) for file in files for each in file.statements)
        for path, lines in self.sound.sources.items() if uses else ():
            used = parse("\n".join(lines), path)[0] if path != self.path else None
            files += [used] if used is not None else []
        found = (each for file in files for each in file.statements if isinstance(each, tree.Definition))
        return {definition.name.text: definition for definition in reversed(list(found))}

    @cached_property
    def mentions(self) -> list[Mention]:
        """Every mention of a name; where the text can't be read, those of when it last could."""
        if self.file is None:
            return self.before.mentions if self.before is not None else []
        return mentions(self.file, self.definitions)

    def at(self, line: int, column: int) -> Mention | None:
        """The mention at a place, counted from 1."""
        for each in self.mentions:
            if each.span.line == line and each.span.column <= column <= each.span.end_column:
                return each
        return None

    def without_line(self, number: int) -> Analysis:
        """The text but for one line: what is known while that line is being typed."""
        lines = self.text.split("\n")
        lines[number - 1 : number] = [""]
        return Analysis("\n".join(lines), self.path, self.root, self.before)

    def declarations(self, key: Key) -> list[Mention]:
        """Where a name is declared, if it is in this file."""
        return [each for each in self.mentions if each.declares and each.key == key]


def analyse(text: str, path: str, root: str = "", before: Analysis | None = None) -> Analysis:
    """Reads a text that is open as the file at a path; `root` is the folder out of which files may be used."""
    return Analysis(text, path, root, None if before is None else before.last_read)


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of a file's outline, with what stands inside it."""

    name: str
    what: str
    span: Span
    last_line: int
    inner: tuple[Entry, ...] = ()


def outline(analysis: Analysis) -> list[Entry]:
    """Parts, definitions, checks and claims, in the order of the file."""
    if analysis.file is None:
        return []
    return list(_entries(analysis.file.statements, analysis.text.count("\n") + 1))


def _entries(statements: tuple[tree.Statement, ...], last_line: int) -> Iterator[Entry]:
    begins = [_first_span(each) for each in statements]
    for statement, span, following in zip_longest(statements, begins, begins[1:]):
        if span is None:
            continue
        until = max(following.line - 1, span.line) if following else max(last_line, span.line)
        yield from _entry(statement, span, until)


def _entry(statement: tree.Statement, span: Span, until: int) -> Iterator[Entry]:
    if isinstance(statement, tree.PartLine):
        name = statement.first.text + (f" to {statement.last.text}" if statement.last else "")
        yield Entry(name, statement.kind.text, span, span.line)
    elif isinstance(statement, tree.InstanceLine):
        yield Entry(statement.name.text, statement.definition.text, span, until)
    elif isinstance(statement, tree.OutputLine):
        yield Entry(statement.name.text, "output", span, span.line)
    elif isinstance(statement, tree.Parameter):
        yield Entry(statement.name.text, "given", span, span.line)
    elif isinstance(statement, tree.CheckBlock):
        yield Entry(statement.title.text or "check", "check", span, until)
    elif isinstance(statement, tree.ClaimLine):
        yield Entry(statement.title.text or statement.quantifier.text, statement.quantifier.text, span, span.line)
    elif isinstance(statement, tree.Definition):
        inner = tuple(_entries(statement.statements, until))
        yield Entry(statement.name.text, "define", span, until, inner)
    elif isinstance(statement, tree.Repetition):
        yield from _entries(statement.statements, until)


def _first_span(value: object) -> Span | None:
    """Where a statement's first word stands."""
    if isinstance(value, Span):
        return value
    if isinstance(value, tuple):
        return next((span for each in value if (span := _first_span(each)) is not None), None)
    return None
