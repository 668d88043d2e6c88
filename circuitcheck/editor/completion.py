"""What may be written next: the words that the grammar allows there, and the names that are known there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from circuitcheck.editor.analysis import Analysis
from circuitcheck.language.mentions import PART, PLACE, VALUE
from circuitcheck.language.parse import Place, keywords, place_behind
from circuitcheck.model.light import PHASES, SKY, STANDING_LIGHT, THINGS
from circuitcheck.model.parts import KINDS
from circuitcheck.model.rules import RULE_SETS, RULES

BEGUN = re.compile(r"[\w.*]*$")
ENDED_ROW = re.compile(r"\.[0-9]+$")
MADE_UP = frozenset(
    {("CIRCUIT", 1), ("DEFINE", 1), ("OUTPUT", 1), ("GIVEN", 1), ("FOR", 1), ("LANGUAGE", 1), ("NAME", 1), ("PLACE", 1)}
)
"""Statements by their first word, with the place in them at which a name is made up: none can be offered there."""
FIXED = {
    "RULES": tuple(RULE_SETS),
    "FORBID": tuple(RULES),
    "SILENCE": tuple(RULES),
    "BECAUSE": tuple(RULES),
    "OF": PHASES,
    "THROUGH": THINGS,
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
    """The words of the language; of all the options and starts that the grammar knows, those of the kind of part."""
    kind = KINDS.get(str(place.line[0])) if place.line else None
    starts = kind.option("starts") if kind is not None and place.line[-1].type == "STARTS" else None
    said = {str(word) for word in place.line}
    if "TEXT" in place.accepted and place.line and place.line[0].type == "LAYER":
        yield Offer('""', "text", "what you say of this layer to whoever builds it")
    for terminal, word in keywords().items():
        if terminal not in place.accepted:
            continue
        option = kind.option(word) if kind is not None else None
        if kind is None:
            yield Offer(word, "word", KINDS[word].summary if not place.line and word in KINDS else "")
        elif starts is not None:
            if word in starts.starts:
                yield Offer(word, "word")
        elif option is not None and word not in said:
            yield Offer(word, "option", option.meaning)
        elif option is None and word in ("by", "to"):
            yield Offer(word, "word")


def _names(analysis: Analysis, place: Place) -> Iterator[Offer]:
    if "NAME" not in place.accepted:
        return
    if not place.line:
        yield from (Offer(name, "definition") for name in analysis.definitions)
        return
    first, last = place.line[0], place.line[-1]
    if last.type in FIXED and (last.type != "OF" or first.type == "RESPONSE"):
        yield from _fixed(last.type)
    elif first.type == "CYCLE":
        yield from (Offer(name, "phase of the day") for name in PHASES)
    elif first.type == "PLACE" and last.type in ("_COMMA", "NUMBER"):
        yield from _fixed("THROUGH")
    elif first.type == "NAME" and len(place.line) > 1:
        yield from _in_instance(analysis, place)
    elif not _is_made_up(place):
        yield from _where_the_line_stands(analysis, place)


def _fixed(word: str) -> Iterator[Offer]:
    """What may follow a word, where that is no name of the file."""
    meanings = RULES if FIXED[word] == tuple(RULES) else {}
    what = "rule" if meanings else {"OF": "phase of the day", "THROUGH": "what light passes"}.get(word, "setting")
    yield from (Offer(name, what, meanings.get(name, "")) for name in FIXED[word])


def _is_made_up(place: Place) -> bool:
    first, last = place.line[0], place.line[-1]
    declares_row = str(first) in KINDS and (len(place.line) == 1 or last.type == "TO")
    ports = first.type == "DEFINE" and not any(word.type in ("GIVES", "GIVEN") for word in place.line)
    return declares_row or ports or (first.type, len(place.line)) in MADE_UP


def _where_the_line_stands(analysis: Analysis, place: Place) -> Iterator[Offer]:
    """Names of the block that the line stands in; what a definition gives, and its values, are its own."""
    first, last = place.line[0], place.line[-1]
    inside = str(place.line[1]) if first.type == "DEFINE" else place.definition
    if last.type == "EACH":
        rows = (each for each in _known(analysis, inside, PART) if each.text.endswith(".*"))
        yield from (each._replace(text=each.text.removesuffix(".*")) for each in rows)
    elif last.type == "AT":
        yield from _known(analysis, inside, PLACE)
    elif last.type == "GIVEN" or {"DURATION", "NUMBER"} & place.accepted:
        yield from _known(analysis, inside, VALUE)
    else:
        if first.type == "PLACE" and last.type in ("GETS", "OR"):
            yield from (Offer(name, "source of light") for name in (SKY, STANDING_LIGHT))
        yield from _known(analysis, inside, PART)


def _in_instance(analysis: Analysis, place: Place) -> Iterator[Offer]:
    """Ports and values of the definition, and what is wired to them."""
    definition = analysis.definitions.get(str(place.line[0]))
    last = place.line[-1].type
    given = any(word.type == "GIVEN" for word in place.line)
    if last in ("LPAR", "_COMMA", "GIVEN"):
        words = () if definition is None else definition.ports
        if given:
            words = () if definition is None else tuple(each.name for each in definition.parameters)
        said = {str(word) for word in place.line[2:]}
        yield from (Offer(word.text, "given value" if given else "port") for word in words if word.text not in said)
    else:
        yield from _known(analysis, place.definition, VALUE if given else PART)


def _known(analysis: Analysis, inside: str, space: str) -> Iterator[Offer]:
    """The names of a space that stand in a definition, or in the file itself."""
    rows: dict[str, str] = {}
    for each in analysis.mentions:
        if each.key.space != space or each.key.definition != inside:
            continue
        head, dot, _ = each.whole.partition(".")
        if each.declares and dot:
            rows[head] = each.what
        if each.declares and each.what.startswith("an instance"):
            definition = analysis.definitions.get(each.what.rpartition(" ")[2])
            for word in definition.gives if definition is not None else ():
                yield Offer(f"{each.whole}.{word.text}", each.what)
        elif each.declares and not each.whole.endswith(".*"):
            yield Offer(each.whole, each.what)
        elif head in rows and ENDED_ROW.search(each.whole):
            yield Offer(each.whole, rows[head])
        kind = KINDS.get(each.what) if each.declares else None
        for member in kind.members(frozenset()) if kind is not None and not dot else ():
            yield Offer(f"{each.whole}.{member}", f"{member} of the {each.what}")
    yield from (Offer(f"{head}.*", f"the row of each {what}") for head, what in rows.items())
