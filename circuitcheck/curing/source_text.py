"""A file that something is to be changed in: its text, its syntax tree, and how it is read again with edits made."""

from __future__ import annotations

import os
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any, TypeVar

from circuitcheck.curing.edits import Change, Edit, Home, edited
from circuitcheck.diagnostics import Span
from circuitcheck.engine import work
from circuitcheck.language import drawn_tree, tree
from circuitcheck.language.layout import laid_out
from circuitcheck.language.load import Loaded, Used, load_file, load_text, load_tree
from circuitcheck.language.parse import parse
from circuitcheck.language.studies import WIRED
from circuitcheck.model.claims import Study

ASKING = (tree.CheckBlock, tree.ClaimLine, tree.ResponseLine, tree.Repetition)
"""The statements with which a file asks something."""
ASKING_WITH = (*ASKING, tree.HoldingLine, tree.SparingLine, tree.Parameter)
"""The statements whose given values are part of what is asked: not the circuit changes with them, or not alone."""
READING = 50
"""What it costs to read one part again, in work (`engine.work`); what can't be read is in it, and counts nothing."""
Leaf = TypeVar("Leaf")
DRAWN = (drawn_tree.LegendBlock, drawn_tree.PieceBlock, drawn_tree.DrawingBlock)


class Source:
    """One file as its author wrote it. With mistakes in it, which `loaded` has, nothing can be changed."""

    def __init__(self, loaded: Loaded, folder: str | os.PathLike[str] = "", root: str | os.PathLike[str] = "") -> None:
        self.path, self.loaded = loaded.path, loaded
        self.folder, self.root = os.fspath(folder), os.fspath(root)
        self.lines = list(loaded.sources.get(loaded.path, ()))
        self.text = "\n".join(self.lines)
        file, _ = parse(self.text, self.path) if loaded.valid else (None, [])
        self.file = tree.File(self.path, ()) if file is None else file
        self.definitions = {each.name.text: each for each in self.file.statements if isinstance(each, tree.Definition)}
        self._asking = {id(each): first_line(each) for _, _, each in self.statements() if isinstance(each, ASKING)}
        self._used: Used = {}
        self._canonical: bool | None = None

    @property
    def draws(self) -> bool:
        """Whether anything is drawn in the file."""
        return any(isinstance(each, DRAWN) for each in self.file.statements)

    def statements(self) -> Iterator[tuple[Home, str, tree.Statement]]:
        """Every statement that is not a definition, with its home and the name of the definition it stands in."""
        for number, statement in enumerate(self.file.statements):
            if isinstance(statement, tree.Definition):
                for inner, each in enumerate(statement.statements):
                    yield (number, inner), statement.name.text, each
            else:
                yield (number,), "", statement

    def asked_with(self, definition: str) -> frozenset[str]:
        """The given values that what is asked of a definition depends on; of anything at all for the file's own."""
        return frozenset(
            amount.text
            for _, inside, each in self.statements()
            if isinstance(each, ASKING_WITH) and definition in ("", inside)
            for amount in amounts(each)
            if amount.form is tree.AmountForm.NAME
        )

    def ports_of(self, definition: str) -> frozenset[str]:
        """The ports of a definition; none of the file's own lines."""
        return frozenset(each.text for each in self.definitions[definition].ports) if definition else frozenset()

    def study_of(self, definition: str) -> Study | None:
        """The study of the file's own circuit, or of a definition standing alone with its usual values."""
        labels = (each for each in self.loaded.studies if each.circuit.name == definition and each.label)
        own = (each for each in self.loaded.studies if not each.label)
        return next(labels if definition else own, None)

    # With something changed

    def changed_text(self, change: Change) -> str:
        """The whole text with a change made; in the standard layout if it was in that."""
        text = "\n".join(edited(self.lines, change.edits))
        if self._canonical is None:
            self._canonical = laid_out(self.text, self.path)[0] == self.text
        return laid_out(text, self.path)[0] if self._canonical else text

    def read(self, text: str) -> Loaded:
        """Another text read in this one's place."""
        loaded = load_text(text, self.path, self.folder, self.root)
        work.count(READING * sum(len(each.circuit.parts) for each in loaded.studies))
        return loaded

    def wired(self, definition: str) -> bool:
        """Whether lines say what a circuit is, so that a drawing of it is held against them."""
        inside = self.definitions[definition].statements if definition else self.file.statements
        return any(isinstance(each, WIRED) for each in inside)

    def studies(
        self, change: Change | None, wanted: frozenset[str], asking: frozenset[int]
    ) -> Mapping[str, Study] | None:
        """The studies of some labels with a change made, asked only what stands in the lines `asking`, and not drawn.

        None where that can't be read so, or has a mistake in it.
        """
        changed = {} if change is None else self._changed(change)
        if changed is None:
            return None
        statements: list[tree.Statement] = []
        for number, statement in enumerate(self.file.statements):
            if isinstance(statement, tree.Definition):
                inner = self._kept(statement.statements, (number,), changed, asking)
                statements.append(statement._replace(statements=inner))
            elif not isinstance(statement, DRAWN):
                statements += self._kept((statement,), (), changed, asking, number)
        file = tree.File(self.path, tuple(statements))
        loaded = load_tree(file, tuple(self.lines), self.folder, self.root or self.folder, self._used, wanted)
        work.count(READING * sum(len(each.circuit.parts) for each in loaded.studies))
        return {each.label: each for each in loaded.studies} if loaded.valid else None

    def _kept(
        self,
        statements: Iterable[tree.Statement],
        home: Home,
        changed: Mapping[Home, tuple[tree.Statement, ...]],
        asking: frozenset[int],
        first: int = 0,
    ) -> tuple[tree.Statement, ...]:
        kept: list[tree.Statement] = []
        for number, each in enumerate(statements, first):
            if id(each) in self._asking:
                kept += [each] if self._asking[id(each)] in asking else []
            else:
                kept += changed.get((*home, number), (each,))
        return tuple(kept)

    def _changed(self, change: Change) -> dict[Home, tuple[tree.Statement, ...]] | None:
        """The statements that a change makes of others."""
        found: dict[Home, tuple[tree.Statement, ...]] = {}
        for home in change.homes:
            statement = self._at(home)
            first, last = extent(statement)
            edits = [each for each in change.edits if first <= each.line <= last]
            own = [Edit(each.line - first + 1, *each[1:]) for each in edits]
            chunk = "\n".join(edited(self.lines[first - 1 : last], own))
            file, mistakes = parse(chunk, self.path)
            if file is None or mistakes:
                return None
            found[home] = file.statements
        return found

    def _at(self, home: Home) -> tree.Statement:
        statement = self.file.statements[home[0]]
        return statement.statements[home[1]] if isinstance(statement, tree.Definition) else statement


def source_of(path: str | os.PathLike[str], root: str | os.PathLike[str] = "") -> Source:
    """A circuit file to be changed; files that it uses stay as they are."""
    return Source(load_file(path, root), os.path.dirname(path), root)


def source_of_text(text: str, path: str, folder: str | os.PathLike[str] = ".", root: str = "") -> Source:
    """The same of text; `use` lines look into `folder`."""
    return Source(load_text(text, path, folder, root), folder, root)


def first_line(statement: object) -> int:
    """The line that a statement begins in."""
    return extent(statement)[0]


def extent(statement: object) -> tuple[int, int]:
    """The first and the last line of what has words in it."""
    lines = [span.line for span in spans(statement)]
    return min(lines), max(lines)


def spans(value: Any) -> Iterator[Span]:
    """Where every word stands in a piece of the syntax tree."""
    return _every(value, Span)


def amounts(value: Any) -> Iterator[tree.Amount]:
    """Every amount in a piece of the syntax tree."""
    return _every(value, tree.Amount)


def words(value: Any) -> Iterator[tree.Word]:
    """Every word in a piece of the syntax tree."""
    return _every(value, tree.Word)


def mentioned(value: Any, names: Collection[str]) -> set[str]:
    """Which of some names a piece of the syntax tree names; of a row that it names, each part."""
    found: set[str] = set()
    for word in words(value):
        row = word.text.removesuffix("*")
        if word.text in names:
            found.add(word.text)
        elif row != word.text:
            found |= {name for name in names if name.startswith(row)}
    return found


def _every(value: Any, wanted: type[Leaf]) -> Iterator[Leaf]:
    if isinstance(value, wanted):
        yield value
    elif isinstance(value, tuple):
        for each in value:
            yield from _every(each, wanted)
