"""The files of a workspace as an editor has them: open ones as they are typed, all others as they are saved.

An open document is known by its URI, as two of them may lead to one file; a file that something uses is known by its
path. Columns go out and come in as the client counts them (UTF-16 units, as a rule), from 0; inside they are letters,
from 1. Lines end where the protocol says they end (3.17, Text Documents), and nowhere else.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence

from lsprotocol import types
from pygls.uris import from_fs_path, to_fs_path
from pygls.workspace import Workspace

from circuitcheck.diagnostics import Diagnostic, Span
from circuitcheck.editor.analysis import Analysis, analyse
from circuitcheck.folders import LARGEST_FILE, circuit_files, same_file
from circuitcheck.language.load import read_text

MOST_FILES = 1_000
"""In how many files of a folder a name is looked for."""
LONGEST_READ = 200_000
"""Letters of a text that is read as it is typed; one that is longer is left to `circuitcheck verify`."""
MOST_READ = 2_000_000
"""Letters of all files together in which a name is looked for."""
LINE_END = re.compile(r"\r\n|\r|\n")

Stamps = dict[str, tuple[int, int] | None]
"""For each file, when it was last changed and how long it is; None where there is none."""


class Documents:
    """What is known of each document."""

    def __init__(self, workspace: Workspace, root: str) -> None:
        self._workspace = workspace
        self._root = root
        self._open: dict[str, None] = {}
        self._known: dict[str, tuple[Stamps, Analysis]] = {}
        self._lines: dict[str, tuple[str, list[str]]] = {}

    # Which document is which

    def opened(self, uri: str) -> None:
        """The editor has opened a document."""
        self._open[uri] = None

    def closed(self, uri: str) -> None:
        """The editor has closed a document."""
        for table in (self._open, self._known, self._lines):
            table.pop(uri, None)

    def is_too_long(self, uri: str) -> bool:
        """Whether an open document is longer than what is read as it is typed."""
        return uri in self._open and len(self._workspace.get_text_document(uri).source) > LONGEST_READ

    def is_open(self, uri: str) -> bool:
        """Whether the editor has a document open."""
        return uri in self._open

    def uri(self, path: str) -> str:
        """A file's URI, as the editor writes it if it is open there."""
        there = same_file(path)
        return next((uri for uri in self._open if path_of(uri) == there), None) or from_fs_path(path) or path

    def text(self, uri: str) -> str | None:
        """A document's text: as it is typed if it is open, else as it is saved; None if there is none, or too much."""
        if uri in self._open:
            typed = str(self._workspace.get_text_document(uri).source)
            return typed if len(typed) <= LARGEST_FILE else None
        path = path_of(uri)
        found = read_text(path, Span(path, 1, 1, 1), plain_only=True)
        return None if isinstance(found, Diagnostic) else found

    # What is in them

    def analysis(self, uri: str) -> Analysis | None:
        """The analysis of a document, and of what it uses, as they are now; None if it can't be read or is long."""
        text = self.text(uri)
        if text is None or len(text) > LONGEST_READ:
            return None
        stamps, known = self._known.get(uri, ({}, None))
        if known is None or known.typed != text or stamps != stamps_of(known):
            known = analyse(text, path_of(uri), self._root, known)
            if uri in self._open:
                self._known[uri] = (stamps_of(known), known)
        return known

    def every_analysis(self) -> list[Analysis]:
        """Every file at hand: those that are open, and those in the folders of the workspace. Raises TooManyFiles."""
        folders = [path for folder in self._workspace.folders.values() if (path := to_fs_path(folder.uri))]
        by_path = {path_of(uri): uri for uri in reversed(self._open)}
        for path in circuit_files(folders)[0]:
            by_path.setdefault(same_file(path), self.uri(path))
        if len(by_path) > MOST_FILES:
            raise TooManyFiles(f"there are more than {MOST_FILES:,} circuit files here to look through")
        self._bounded(by_path.values())
        return [found for uri in by_path.values() if (found := self.analysis(uri)) is not None]

    def _bounded(self, uris: Iterable[str]) -> None:
        """Raises TooManyFiles if there is more in some files than is looked through."""
        read = 0
        for uri in uris:
            size = len(self.text(uri) or "")
            read += size
            if size > LONGEST_READ or read > MOST_READ:
                many = f"{size:,} letters in {path_of(uri)}" if size > LONGEST_READ else f"over {MOST_READ:,} letters"
                raise TooManyFiles(f"there are too many letters here to look through: {many}")

    def users_of(self, uri: str) -> list[str]:
        """The open documents that stand on a file, those of that very file among them."""
        path = path_of(uri)
        return [each for each in self._open if path_of(each) == path or self._uses(each, path)]

    def _uses(self, user: str, path: str) -> bool:
        _, known = self._known.get(user, ({}, None))
        return known is not None and path in map(same_file, known.loaded.sources)

    # Where what is

    def place(self, uri: str, position: types.Position) -> tuple[int, int]:
        """A place as line and column, from 1."""
        inside = self._workspace.position_codec.position_from_client_units(self.lines(uri), position)
        return inside.line + 1, inside.character + 1

    def range(self, uri: str, span: Span) -> types.Range:
        """A stretch of a document as the client counts it."""
        start = types.Position(max(span.line - 1, 0), max(span.column - 1, 0))
        end = types.Position(start.line, max(span.end_column - 1, start.character))
        return self._workspace.position_codec.range_to_client_units(self.lines(uri), types.Range(start, end))

    def location(self, span: Span) -> types.Location:
        """A place in a file, for the client to go to."""
        uri = self.uri(span.file)
        return types.Location(uri, self.range(uri, span))

    def lines(self, uri: str) -> Sequence[str]:
        """The lines of a document, without their ends; kept with their text, as every place asks for them."""
        text = self.text(uri) or ""
        known = self._lines.get(uri)
        if known is None or known[0] != text:
            known = (text, LINE_END.split(text))
            if uri in self._open:
                self._lines[uri] = known
        return known[1]


class TooManyFiles(Exception):
    """There are more files than are looked through; the text says how many."""


def path_of(uri: str) -> str:
    """The path of a file, one for all ways to write its URI."""
    return same_file(to_fs_path(uri) or uri)


def stamps_of(analysis: Analysis) -> Stamps:
    """When each file that an analysis stands on was last changed; the file itself is compared by its text."""
    return {path: _stamp(path) for path in analysis.loaded.sources if path != analysis.path}


def _stamp(path: str) -> tuple[int, int] | None:
    try:
        found = os.stat(path)
    except (OSError, ValueError):
        return None
    return found.st_mtime_ns, found.st_size
