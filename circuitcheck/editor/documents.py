"""The files of a workspace as an editor has them: open ones as they are typed, all others as they are saved.

A file is known by its path, however the editor writes its URI. Columns go out and come in as the client counts them
(UTF-16 units, as a rule), from 0; inside they are letters, from 1. Lines end where the protocol says they end (3.17,
Text Documents), and nowhere else.
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
from circuitcheck.folders import circuit_files, same_file
from circuitcheck.language.load import read_text

MOST_FILES = 1_000
"""In how many files of a folder a name is looked for."""
LINE_END = re.compile(r"\r\n|\r|\n")

Stamps = dict[str, tuple[int, int] | None]


class Documents:
    """What is known of each file."""

    def __init__(self, workspace: Workspace, root: str) -> None:
        self._workspace = workspace
        self._root = root
        self._uris: dict[str, str] = {}
        self._known: dict[str, tuple[Stamps, Analysis]] = {}

    # Which file is which

    def opened(self, uri: str) -> None:
        """The editor has opened a file."""
        self._uris[path_of(uri)] = uri

    def closed(self, uri: str) -> None:
        """The editor has closed a file."""
        self._uris.pop(path_of(uri), None)
        self._known.pop(path_of(uri), None)

    @property
    def open_paths(self) -> list[str]:
        """The files that are open."""
        return list(self._uris)

    def uri(self, path: str) -> str:
        """A file's URI, as the editor writes it if it is open there."""
        return self._uris.get(same_file(path)) or from_fs_path(path) or path

    def text(self, path: str) -> str | None:
        """A file's text: as it is typed if it is open, else as it is saved; None if it can't be read."""
        uri = self._uris.get(same_file(path))
        if uri is not None:
            return str(self._workspace.get_text_document(uri).source)
        found = read_text(path, Span(path, 1, 1, 1), plain_only=True)
        return None if isinstance(found, Diagnostic) else found

    # What is in them

    def analysis(self, path: str) -> Analysis | None:
        """The analysis of a file, and of what it uses, as they are now; None if it can't be read."""
        text = self.text(path)
        if text is None:
            return None
        stamps, known = self._known.get(path, ({}, None))
        if known is None or known.typed != text or stamps != _stamps(known):
            known = analyse(text, path, self._root, known)
            if path in self._uris:
                self._known[path] = (_stamps(known), known)
        return known

    def every_analysis(self) -> list[Analysis]:
        """Every file at hand: those that are open, and those in the folders of the workspace. Raises TooManyFiles."""
        folders = [path for folder in self._workspace.folders.values() if (path := to_fs_path(folder.uri))]
        paths = dict.fromkeys([*self._uris, *map(same_file, circuit_files(folders)[0])])
        if len(paths) > MOST_FILES:
            raise TooManyFiles(f"there are more than {MOST_FILES:,} circuit files here to look through")
        return [found for path in paths if (found := self.analysis(path)) is not None]

    def users_of(self, path: str) -> list[str]:
        """The open files that stand on a file, that file among them."""
        return [each for each in self._uris if each == path or self._uses(each, path)]

    def _uses(self, user: str, path: str) -> bool:
        _, known = self._known.get(user, ({}, None))
        return known is not None and path in map(same_file, known.loaded.sources)

    # Where what is

    def place(self, path: str, position: types.Position) -> tuple[int, int]:
        """A place as line and column, from 1."""
        inside = self._workspace.position_codec.position_from_client_units(self._lines(path), position)
        return inside.line + 1, inside.character + 1

    def range(self, span: Span) -> types.Range:
        """A stretch of a file as the client counts it."""
        start = types.Position(max(span.line - 1, 0), max(span.column - 1, 0))
        end = types.Position(start.line, max(span.end_column - 1, start.character))
        return self._workspace.position_codec.range_to_client_units(self._lines(span.file), types.Range(start, end))

    def whole(self, path: str) -> types.Range:
        """All of a file."""
        return types.Range(types.Position(0, 0), types.Position(len(self._lines(path)), 0))

    def location(self, span: Span) -> types.Location:
        """A place in a file, for the client to go to."""
        return types.Location(self.uri(span.file), self.range(span))

    def _lines(self, path: str) -> Sequence[str]:
        return LINE_END.split(self.text(path) or "")


class TooManyFiles(Exception):
    """There are more files than are looked through; the text says how many."""


def path_of(uri: str) -> str:
    """The path of a file, one for all ways to write its URI."""
    return same_file(to_fs_path(uri) or uri)


def _stamps(analysis: Analysis) -> Stamps:
    """When each file that an analysis stands on was last changed; the file itself is compared by its text."""
    return {path: _stamp(path) for path in _used(analysis)}


def _used(analysis: Analysis) -> Iterable[str]:
    return (path for path in analysis.loaded.sources if path != analysis.path)


def _stamp(path: str) -> tuple[int, int] | None:
    try:
        found = os.stat(path)
    except (OSError, ValueError):
        return None
    return found.st_mtime_ns, found.st_size
