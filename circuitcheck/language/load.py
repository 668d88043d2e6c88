"""From files to studies: reads a file and those it uses, its head and its definitions.

Paths are plain strings here: pathlib costs a measured 8 ms of every start.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace

from circuitcheck import collector
from circuitcheck.diagnostics import Diagnostic, Span, error
from circuitcheck.folders import LARGEST_FILE, is_below, leads_out
from circuitcheck.language import drawn_tree, tree
from circuitcheck.language.drawings import drawings_in
from circuitcheck.language.head import Head
from circuitcheck.language.legend import Legend, legend_of
from circuitcheck.language.parse import MOST_MISTAKES, MOST_WORDS, parse
from circuitcheck.language.studies import Studies
from circuitcheck.language.text import decoded, plain
from circuitcheck.model.claims import Study
from circuitcheck.model.rules import (
    RuleSet,
)


@dataclass(frozen=True, slots=True)
class Loaded:
    """A file, read. With an error among the diagnostics there are no studies."""

    path: str
    title: str
    rules: RuleSet
    studies: tuple[Study, ...]
    diagnostics: tuple[Diagnostic, ...]
    sources: dict[str, tuple[str, ...]] = field(repr=False)
    """The lines of every file read, by path, to point into."""

    @property
    def valid(self) -> bool:
        """Whether the file can be worked with."""
        return not self.diagnostics


Used = dict[str, tuple[str, tree.File]]
"""The text and the syntax tree of files that a file uses, by path."""

MOST_RECORDED = 100
"""After how many mistakes no more are looked for; the same mistake in several instances counts each time."""
DEEPEST_USE = 50
"""How many files may use one another in a chain."""
UNDEFINED = "CKT205"
"""The code of an instance of what is not defined."""
COMMAND_LINE = "command line"
"""What stands in place of a file's name for lines given with a call."""
TRIED = "what was tried"
"""The title of the check made of such lines."""


def load_file(path: str | os.PathLike[str], root: str | os.PathLike[str] = "") -> Loaded:
    """Reads a circuit file and the files it uses. Never raises for what a file may hold.

    Files are used out of `root` and what is below it; without one, out of the file's own folder and below.
    """
    return _Loading(os.fspath(path), os.path.dirname(path), os.fspath(root)).load()


def load_with(path: str | os.PathLike[str], lines: Sequence[str], root: str | os.PathLike[str] = "") -> Loaded:
    """Reads a circuit file for its own circuit alone, with one check, made of these lines, in place of all it asks."""
    return _Loading(os.fspath(path), os.path.dirname(path), os.fspath(root)).load(tried=lines)


def load_resized(path: str | os.PathLike[str], sizes: Mapping[str, int], root: str | os.PathLike[str] = "") -> Loaded:
    """Reads a circuit file for its own circuit alone, asked nothing, with other numbers of cells in some sensors."""
    return _Loading(os.fspath(path), os.path.dirname(path), os.fspath(root), sizes).load(tried=("until 0t",))


def load_text(
    text: str,
    path: str = "circuit",
    folder: str | os.PathLike[str] = ".",
    root: str | os.PathLike[str] = "",
    lines: Sequence[str] = (),
) -> Loaded:
    """Reads a circuit from text; `use` lines look into `folder`. With lines, like load_with."""
    return _Loading(path, os.fspath(folder), os.fspath(root)).load(plain(text), lines)


def load_tree(
    file: tree.File, lines: tuple[str, ...], folder: str, root: str, used: Used, wanted: frozenset[str]
) -> Loaded:
    """Reads a circuit from a syntax tree and the lines that its words stand in, for the studies of some labels alone.

    `used` keeps the files that it uses from one reading to the next.
    """
    return _Loading(file.path, folder, root, used=used, wanted=wanted).load_tree(file, lines)


def linked_out(path: str, root: str, where: Span) -> Diagnostic | None:
    """The mistake of a file that is a link to one outside the folder: lines of that must not be shown."""
    if "\0" in path or not leads_out(path, root):
        return None
    hint = "name the file that it leads to, or a wider root (--root; in pytest circuit_root)"
    return error("CKT505", where, "the file is a link to one outside the folder", hint)


def read_text(path: str, where: Span, plain_only: bool = False) -> str | Diagnostic:
    """A file's text, or why it can't be had. A pipe would be waited for, so it is read only where it was named."""
    try:
        if plain_only and os.path.exists(path) and not os.path.isfile(path):
            return error("CKT501", where, "the file can't be read: it is not a plain file", "check the path")
        with open(path, "rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as failure:
        # A path with a NUL in it is refused as a ValueError before the system is asked.
        reason = ((failure.strerror if isinstance(failure, OSError) else None) or "there is no such path").lower()
        return error("CKT501", where, f"the file can't be read: {reason}", "check the path")
    if len(data) > LARGEST_FILE:
        return error("CKT503", where, f"the file is larger than {LARGEST_FILE:,} bytes", "split it and 'use' the parts")
    if b"\0" in data:
        return error("CKT502", where, "the file is binary, not text", "give a file of circuit text")
    try:
        return decoded(data)
    except UnicodeDecodeError as failure:
        return error("CKT502", where, f"the file is not UTF-8 text (byte {failure.start})", "save it as UTF-8")


class _EnoughMistakes(Exception):
    """So many mistakes were found that it is not worth looking for more."""


class _Mistakes(list[Diagnostic]):
    """The mistakes of one reading. Raises _EnoughMistakes with the last that is taken in."""

    def append(self, mistake: Diagnostic) -> None:
        super().append(mistake)
        if len(self) >= MOST_RECORDED:
            raise _EnoughMistakes

    def extend(self, mistakes: Iterable[Diagnostic]) -> None:
        for mistake in mistakes:
            self.append(mistake)


class _Loading:
    """The reading of one file with all it uses."""

    def __init__(
        self,
        path: str,
        folder: str,
        root: str,
        sizes: Mapping[str, int] | None = None,
        used: Used | None = None,
        wanted: frozenset[str] | None = None,
    ) -> None:
        self._path = path
        self._sizes = sizes
        self._used: Used = {} if used is None else used
        self._wanted = wanted
        self._folder = folder
        self._root = root or folder
        self._mistakes = _Mistakes()
        self._unread = False
        """Whether a file that is used could not be read."""
        self._sources: dict[str, tuple[str, ...]] = {}
        self._words_left = MOST_WORDS
        self._definitions: dict[str, tree.Definition] = {}
        self._pieces: list[tuple[drawn_tree.PieceBlock, Legend]] = []
        """The pieces of files that are used, with the legends of those."""
        self._head = Head(self._mistakes)
        self._title = ""
        self._studies: list[Study] = []

    @collector.paused()
    def load_tree(self, file: tree.File, lines: tuple[str, ...]) -> Loaded:
        self._sources[self._path] = lines
        with suppress(_EnoughMistakes):
            self._read(file, Span(self._path, 1, 1, 1))
        return self._result()

    @collector.paused()
    def load(self, text: str | None = None, tried: Sequence[str] = ()) -> Loaded:
        whole = Span(self._path, 1, 1, 1)
        read = self._own_text(whole) if text is None else text
        if isinstance(read, Diagnostic):
            self._mistakes.append(read)
            return self._result()
        with suppress(_EnoughMistakes):
            self._read_text(read, whole, tried)
        return self._result()

    def _read_text(self, text: str, whole: Span, tried: Sequence[str]) -> None:
        file = self._parse(text, self._path)
        check = self._tried(tried) if tried else None
        if file is not None and check is not None:
            self._read(_only(file, check), whole)
        elif file is not None and not tried:
            self._read(file, whole)

    def _own_text(self, whole: Span) -> str | Diagnostic:
        return linked_out(self._path, self._root, whole) or read_text(self._path, whole)

    def _tried(self, lines: Sequence[str]) -> tree.Statement | None:
        text = "\n".join([f'check "{TRIED}"', *(line.replace("\n", " ") for line in lines), "end"])
        file = self._parse(text, COMMAND_LINE)
        return None if file is None else file.statements[0]

    def _result(self) -> Loaded:
        # Where a used file could not be read, what it would have defined is no further mistake.
        own = (each for each in self._mistakes if not (self._unread and each.code == UNDEFINED))
        distinct = tuple(dict.fromkeys(own))[:MOST_MISTAKES]
        if COMMAND_LINE in self._sources:
            # The lines of a call stand behind the opening line of the check that is made of them.
            self._sources[COMMAND_LINE] = self._sources[COMMAND_LINE][1:]
            distinct = tuple(_line_of_call(mistake) for mistake in distinct)
        studies = () if distinct else tuple(self._studies)
        return Loaded(self._path, self._title, self._head.rules, studies, distinct, self._sources)

    def _parse(self, text: str, path: str) -> tree.File | None:
        self._sources[path] = tuple(text.split("\n"))
        file, mistakes = parse(text, path, self._words_left)
        # A file that could not be read to its end counts with all the words that it can have.
        self._words_left -= min(self._words_left, len(text) if file is None else file.words)
        self._mistakes.extend(mistakes)
        return file

    def _known(self, path: str, text: str, file: tree.File) -> tree.File:
        self._sources[path] = tuple(text.split("\n"))
        return file

    def _read(self, file: tree.File, whole: Span) -> None:
        statements = file.statements
        if not statements:
            self._fail("CKT511", whole, "the file says nothing", "begin with a line 'circuit NAME'")
            return
        self._head.read(statements)
        self._define(statements, self._folder, (os.path.abspath(self._path),))
        drawings = drawings_in(statements, self._pieces, self._mistakes)
        drawings.no_twins(self._definitions, self._mistakes)
        drawings.unused(self._mistakes)
        studies = Studies(
            self._definitions,
            self._head.rules,
            self._sources,
            self._mistakes,
            self._head.cycle,
            self._sizes,
            drawings,
            self._wanted,
        )
        head = next((each for each in statements if isinstance(each, tree.CircuitLine)), None)
        self._title = head.title.text if head and head.title else ""
        studies.main(statements, head, _as_name(os.path.splitext(os.path.basename(self._path))[0]))
        for definition in (each for each in statements if isinstance(each, tree.Definition)):
            studies.alone(definition)
        studies.no_twins()
        self._studies = studies.made

    # Definitions, the file's own and those it uses

    def _define(self, statements: Iterable[tree.Statement], folder: str, stack: tuple[str, ...]) -> None:
        for statement in statements:
            if isinstance(statement, tree.Definition):
                name = statement.name
                first = self._definitions.get(name.text)
                if first is not None and first is not statement:
                    where = f"'{name.text}' is defined twice (first at {first.name.span})"
                    self._fail("CKT202", name.span, where, "give one of them another name")
                else:
                    self._definitions[name.text] = statement
            elif isinstance(statement, tree.UseLine):
                self._use(statement, folder, stack)

    def _use(self, line: tree.UseLine, folder: str, stack: tuple[str, ...]) -> None:
        mistakes_before = len(self._mistakes)
        self._take_definitions(line, folder, stack)
        self._unread = self._unread or len(self._mistakes) > mistakes_before

    def _take_definitions(self, line: tree.UseLine, folder: str, stack: tuple[str, ...]) -> None:
        path = os.path.join(folder, line.path.text)
        absolute = os.path.abspath(path)
        root = os.path.realpath(self._root or ".")
        if "\0" in path:
            self._fail("CKT501", line.path.span, "there is no such path", "check the path")
        elif not is_below(os.path.realpath(path), root):
            self._fail(
                "CKT505",
                line.path.span,
                "a file outside the folder can't be used",
                f"put it under {self._root or 'this folder'}, or name a wider root (--root; in pytest circuit_root)",
            )
        elif absolute in stack:
            self._fail(
                "CKT504",
                line.path.span,
                "the files use each other in a circle",
                "move what both need into a third file",
            )
        elif len(stack) > DEEPEST_USE:
            message = f"more than {DEEPEST_USE} files use one another in a chain"
            self._fail("CKT504", line.path.span, message, "use the later ones from the first file")
        elif path not in self._sources:
            known = self._used.get(path)
            read = known[0] if known is not None else read_text(path, line.path.span, plain_only=True)
            if isinstance(read, Diagnostic):
                self._sources[path] = ()  # once it can be read, the file that uses it comes to something else
                self._mistakes.append(replace(read, message=f"'{line.path.text}': {read.message}"))
                return
            file = self._parse(read, path) if known is None else self._known(path, *known)
            if file is not None:
                self._used[path] = (read, file)
                pieces = [each for each in file.statements if isinstance(each, drawn_tree.PieceBlock)]
                legends = (each for each in file.statements if isinstance(each, drawn_tree.LegendBlock))
                legend = legend_of(legends, self._mistakes) if pieces else {}
                self._pieces += [(piece, legend) for piece in pieces]
                self._define(file.statements, os.path.dirname(path), (*stack, absolute))

    def _fail(self, code: str, span: Span, message: str, hint: str = "") -> None:
        self._mistakes.append(error(code, span, message, hint))


def _as_name(text: str) -> str:
    """A file's name as one that a circuit can have."""
    return re.sub(r"\W", "_", text) or "circuit"


def _line_of_call(mistake: Diagnostic) -> Diagnostic:
    """The mistake at the line as it was counted by who gave it."""
    if mistake.span.file != COMMAND_LINE:
        return mistake
    return replace(mistake, span=replace(mistake.span, line=mistake.span.line - 1))


def _only(file: tree.File, check: tree.Statement) -> tree.File:
    """The file with one check in place of all that it asks; definitions stay, for their instances."""
    asking = (tree.CheckBlock, tree.ClaimLine, tree.ResponseLine, tree.Repetition)
    kept: list[tree.Statement] = []
    for statement in file.statements:
        if isinstance(statement, tree.Definition):
            inner = tuple(each for each in statement.statements if not isinstance(each, asking))
            kept.append(statement._replace(statements=inner))
        elif not isinstance(statement, asking):
            kept.append(statement)
    return tree.File(file.path, (*kept, check))
