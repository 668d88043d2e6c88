"""What may be written next: the words that the grammar allows there, and the names that are known there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from circuitcheck.editor.analysis import Analysis
from circuitcheck.language.mentions import PART, VALUE
from circuitcheck.language.parse import Place, keywords, place_behind
from circuitcheck.model.parts import KINDS
from circuitcheck.model.rules import RULE_SETS, RULES

BEGUN = re.compile(r"[\w.*]*$")
NEW_NAME = frozenset({"CIRCUIT", "DEFINE", "OUTPUT", "FOR", "LANGUAGE", *map(str.upper, KINDS)})
"""Words behind which a name is made up, and none can be offered."""
FIXED = {
    "RULES": tuple(RULE_SETS),
    "FORBID": tuple(RULES),
    "SILENCE": tuple(RULES),
    "BECAUSE": tuple(RULES),
    "SETTING": tuple(name for name in RULE_SETS["newer"].__slots__ if name != "name"),
}
"""What may follow some words, which is no name of the file."""


class Offer(NamedTuple):
    """Something to be written, what it is, and what it means."""

    text: str
    what: str
    meaning: str = ""


def offers(analysis: Analysis, line: int, column: int) -> list[Offer]:
    """What may be written at a place, counted from 1; what has been begun there is not looked at."""
    lines = analysis.text.split("\n")[:line]
    lines[-1] = BEGUN.sub("", lines[-1][: column - 1])
    if lines[-1].count('"') % 2 or "#" in re.sub(r'"[^"]*"', "", lines[-1]):
        return []
    place = place_behind("\n".join(lines))
    return list(dict.fromkeys([*_words(place), *_names(analysis.without_line(line), place)]))


def _words(place: Place) -> Iterator[Offer]:
    kind = KINDS.get(str(place.line[0])) if place.line else None
    said = {str(word) for word in place.line}
    for terminal, word in keywords().items():
        if terminal not in place.accepted:
            continue
        option = kind.option(word) if kind is not None else None
        if kind is None or place.line[-1].type == "STARTS":
            meaning = KINDS[word].summary if not place.line and word in KINDS else ""
            yield Offer(word, "word", meaning)
        elif option is None:
            # Of all the options that the grammar knows, a part takes those of its kind; `by` and `to` are none.
            if word in ("by", "to"):
                yield Offer(word, "word")
        elif word not in said:
            yield Offer(word, "option", option.meaning)


def _names(analysis: Analysis, place: Place) -> Iterator[Offer]:
    if "NAME" not in place.accepted:
        return
    last = place.line[-1].type if place.line else ""
    if last in FIXED:
        meanings = RULES if last in ("FORBID", "SILENCE", "BECAUSE") else {}
        yield from (Offer(name, "rule" if meanings else "setting", meanings.get(name, "")) for name in FIXED[last])
    elif not place.line:
        yield from (Offer(name, "definition") for name in analysis.definitions)
    elif last in NEW_NAME or (last in ("GIVEN", "TO") and _declares(place)):
        return
    elif last == "EACH":
        yield from (
            each._replace(text=each.text[:-2]) for each in _known(analysis, place, PART) if each.text[-1] == "*"
        )
    elif last == "GIVEN" or {"DURATION", "NUMBER"} & place.accepted:
        yield from _known(analysis, place, VALUE)
    else:
        yield from _known(analysis, place, PART)


def _declares(place: Place) -> bool:
    """Whether `given` begins the line, or `to` stands in a row of parts that is being declared."""
    return len(place.line) == 1 or str(place.line[0]) in KINDS


def _known(analysis: Analysis, place: Place, space: str) -> Iterator[Offer]:
    """The names of a space that are declared where the place is."""
    rows: dict[str, str] = {}
    for each in analysis.mentions:
        key = each.key
        if not each.declares or key.space != space or key.definition != place.definition:
            continue
        head, dot, _ = each.whole.partition(".")
        if dot:
            rows[head] = each.what
        if not each.whole.endswith(".*") and not each.what.startswith("an instance"):
            yield Offer(each.whole, each.what)
        if each.what == "latch":
            yield Offer(f"{each.whole}.inverse", "the latch's other side")
        if each.what.startswith("an instance"):
            definition = analysis.definitions.get(each.what.rpartition(" ")[2])
            for word in definition.gives if definition is not None else ():
                yield Offer(f"{each.whole}.{word.text}", each.what)
    yield from (Offer(f"{head}.*", f"the row of each {what}") for head, what in rows.items())
