"""A name changed everywhere it stands: in its own file, and in every other file at hand."""

from __future__ import annotations

import re
from collections.abc import Iterable

from circuitcheck.diagnostics import Span
from circuitcheck.editor.analysis import Analysis
from circuitcheck.language.mentions import DEFINITION, Key, Mention
from circuitcheck.language.parse import keywords, words_of

HIDING = ("CKT1", "CKT5", "CKT205")
"""Mistakes that leave names unread: of form, of files, and of what a line is an instance of."""


class CannotRename(Exception):
    """The name can't be changed; the text says why."""


def renamed(mention: Mention, new: str, analyses: Iterable[Analysis]) -> list[Span]:
    """Every place where the name stands. Raises CannotRename."""
    _is_name(new)
    key = mention.key
    places: list[Mention] = []
    for analysis in analyses:
        places += _places(analysis, key, new)
    if not any(each.declares for each in places):
        raise CannotRename(f"'{key.name}' is not declared in any file at hand")
    return [each.span for each in places]


def _places(analysis: Analysis, key: Key, new: str) -> list[Mention]:
    hidden = analysis.file is None or any(each.code.startswith(HIDING) for each in analysis.diagnostics)
    if hidden and re.search(rf"(?<!\w){re.escape(key.name)}(?!\w)", analysis.text):
        raise CannotRename(f"{analysis.path} has mistakes that hide where '{key.name}' stands: fix them first")
    found = [] if analysis.file is None else [each for each in analysis.mentions if each.key == key]
    if _is_taken(analysis, key, new, bool(found)):
        raise CannotRename(f"'{new}' is the name of something else there")
    return found


def _is_taken(analysis: Analysis, key: Key, new: str, mentioned: bool) -> bool:
    """Whether something else has that name, where the old one is known. All definitions of a file share their names."""
    if any(each.key == key._replace(name=new) for each in analysis.mentions):
        return True
    return key.space == DEFINITION and (mentioned or key.name in analysis.definitions) and new in analysis.definitions


def _is_name(new: str) -> None:
    words = [word for word in words_of(new) if word.type != "_NEWLINE"]
    if new in keywords().values():
        raise CannotRename(f"'{new}' is a word of the language")
    if len(words) != 1 or words[0].type != "NAME" or "." in new or str(words[0]) != new:
        raise CannotRename(f"'{new}' is no name: names are letters, digits and _, and begin with a letter")
