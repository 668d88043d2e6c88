"""A name changed everywhere it stands: in its own file, and in every file of the folder that uses it."""

from __future__ import annotations

import re
from collections.abc import Iterable

from circuitcheck.diagnostics import Span
from circuitcheck.editor.analysis import Analysis
from circuitcheck.language.mentions import Key, Mention
from circuitcheck.language.parse import keywords, words_of


class CannotRename(Exception):
    """The name can't be changed; the text says why."""


def renamed(mention: Mention, new: str, analyses: Iterable[Analysis]) -> list[Span]:
    """Every place where the name stands. Raises CannotRename."""
    _is_name(new)
    key = mention.key
    taken = key._replace(name=new)
    places: list[Span] = []
    declared = False
    for analysis in analyses:
        spans = _places(analysis, key, taken)
        declared = declared or any(each.declares and each.key == key for each in analysis.mentions)
        places += spans
    if not declared:
        raise CannotRename(f"'{key.name}' is not declared in any file at hand")
    return places


def _places(analysis: Analysis, key: Key, taken: Key) -> list[Span]:
    spans = [each.span for each in analysis.mentions if each.key == key]
    if any(each.key == taken for each in analysis.mentions):
        raise CannotRename(f"'{taken.name}' is the name of something else there")
    unreadable = any(each.code.startswith("E1") for each in analysis.diagnostics)
    if unreadable and re.search(rf"(?<!\w){re.escape(key.name)}(?!\w)", analysis.text):
        raise CannotRename(f"{analysis.path} has mistakes that hide where '{key.name}' stands: mend them first")
    return spans


def _is_name(new: str) -> None:
    words = [word for word in words_of(new) if word.type != "_NEWLINE"]
    if new in keywords().values():
        raise CannotRename(f"'{new}' is a word of the language")
    if len(words) != 1 or words[0].type != "NAME" or "." in new or str(words[0]) != new:
        raise CannotRename(f"'{new}' is no name: names are letters, digits and _, and begin with a letter")
