"""Changes of what is drawn: what a letter's thing is set to, which way it faces, and what stands at one place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from circuitcheck.curing.edits import Change, Cost, Edit, replacing
from circuitcheck.curing.settings import settings_of
from circuitcheck.curing.source_text import Source
from circuitcheck.language import drawn_tree, tree
from circuitcheck.model.directions import AROUND, DIRECTIONS
from circuitcheck.model.parts import KINDS

SIDES = tuple(each.word for each in AROUND)
"""The words for the four ways round."""


def drawn(source: Source) -> Iterator[Change]:
    """Every other setting and way to face that the legend says of a part, and each place where something else fits."""
    legends = [block for block in source.file.statements if isinstance(block, drawn_tree.LegendBlock)]
    every = [entry for block in legends for entry in block.entries]
    entries = [entry for entry in every if entry.thing.text in KINDS]
    for entry in entries:
        yield from _set_otherwise(entry)
    for round_ in (True, False):  # who draws a thing the wrong way mostly has it turned right round
        for entry in entries:
            yield from _facing_otherwise(entry, round_)
    yield from _at_places(source, entries)
    yield from _put_or_taken(source, every)


def _said(entry: drawn_tree.Entry) -> str:
    return f"drawn {entry.thing.text} '{entry.named.text if entry.named is not None else entry.letter.text}'"


def _set_otherwise(entry: drawn_tree.Entry) -> Iterator[Change]:
    line = tree.PartLine(entry.thing, entry.named or entry.letter, None, entry.options)
    for change in settings_of((), line, drawn=True):
        yield replace(change, words=f"drawn {change.words}", homes=frozenset(), readers=None)


def _facing_otherwise(entry: drawn_tree.Entry, round_: bool) -> Iterator[Change]:
    """A thing turned right round, or to its two other sides."""
    for way, word in (("facing", entry.facing), ("on", entry.on)):
        for side in SIDES if word is not None and word.text in SIDES else ():
            assert word is not None
            if side != word.text and (side == DIRECTIONS[word.text].back.word) is round_:
                words = f"{_said(entry)} {way} {word.text} → {side}"
                yield Change(words, Cost(places=1), (replacing(word.span, side),))


def _at_places(source: Source, entries: list[drawn_tree.Entry]) -> Iterator[Change]:
    """At one place the letter of another thing of the same kind, where neither has a name of its own."""
    plain = {each.letter.text: each for each in entries if each.named is None}
    for layer in _layers(source):
        for row in layer.rows:
            for place, letter in enumerate(row.letters.text) if row.number is None else ():
                for other in plain.values() if letter in plain else ():
                    if other.letter.text != letter and other.thing.text == plain[letter].thing.text:
                        line = row.letters.span.line
                        words = f"drawn {other.thing.text} in line {line}: '{letter}' → '{other.letter.text}'"
                        yield Change(words, Cost(places=1), (_written(row, place, other),))


def _layers(source: Source) -> Iterator[drawn_tree.DrawnLayer]:
    for block in source.file.statements:
        if isinstance(block, drawn_tree.PieceBlock | drawn_tree.DrawingBlock):
            yield from (each for each in block.lines if isinstance(each, drawn_tree.DrawnLayer))


def _written(row: drawn_tree.DrawnRow, place: int, entry: drawn_tree.Entry) -> Edit:
    """The letter of a line of the legend written at a place of a row."""
    span = row.letters.span
    return Edit(span.line, span.column + place, span.column + place + 1, entry.letter.text)


def _put_or_taken(source: Source, entries: list[drawn_tree.Entry]) -> Iterator[Change]:
    """At one place air in place of a thing without a name, or such a thing in place of air that is beside something."""
    air = next((each for each in entries if each.thing.text == "air"), None)
    plain = {
        each.letter.text: each for each in entries if each.named is None and each.thing.text not in ("air", "water")
    }
    if air is None:
        return
    for layer in _layers(source):
        rows = [row.letters.text for row in layer.rows]
        for number, row in enumerate(layer.rows):
            for place, letter in enumerate(rows[number]) if row.number is None else ():
                where = f"in line {row.letters.span.line} at column {place + 1}"
                if letter in plain:
                    words = f"drawn {plain[letter].thing.text} {where} taken out: '{letter}' → '{air.letter.text}'"
                    yield _more_or_less(words, plain[letter], -1, _written(row, place, air))
                elif letter == air.letter.text and _beside_something(rows, number, place, letter):
                    for each in plain.values():
                        words = f"{each.thing.text} put in the drawing {where}: '{letter}' → '{each.letter.text}'"
                        yield _more_or_less(words, each, 1, _written(row, place, each))


def _more_or_less(words: str, entry: drawn_tree.Entry, more: int, edit: Edit) -> Change:
    is_part = entry.thing.text in KINDS
    return Change(words, Cost(int(is_part), 1), (edit,), more_parts=more * is_part)


def _beside_something(rows: list[str], number: int, place: int, air: str) -> bool:
    """Whether anything but air stands next to a place in its layer."""
    around = [rows[each][place : place + 1] for each in (number - 1, number + 1) if 0 <= each < len(rows)]
    around += [rows[number][each] for each in (place - 1, place + 1) if 0 <= each < len(rows[number])]
    return any(each not in ("", air) for each in around)


def as_drawn(source: Source, change: Change) -> Change | None:
    """A change of a part's line with the same change of what is drawn under its name; None where that has none."""
    if len(change.edits) != 1 or change.cost.places or change.cost.parts:
        return None
    (edit,) = change.edits
    before = source.lines[edit.line - 1][edit.start - 1 : edit.end - 1]
    if not before:
        return None
    for _, _, line in source.statements():
        if isinstance(line, tree.PartLine) and line.first.span.line == edit.line:
            found = _same(source, line, edit, before)
            if found is not None:
                cost = change.cost.and_(Cost(places=1))
                edits = (edit, found)
                return replace(change, words=f"{change.words}, as drawn too", cost=cost, edits=edits, homes=frozenset())
    return None


def _same(source: Source, line: tree.PartLine, edit: Edit, before: str) -> Edit | None:
    """The same edit in the legend's line of a part's name."""
    name = line.first.text.partition(".")[0]
    option = next((each for each in line.options if _says(each) == (edit.start, edit.line)), None)
    for block in source.file.statements:
        if not isinstance(block, drawn_tree.LegendBlock):
            continue
        for entry in block.entries:
            own = entry.named is not None and entry.named.text in (name, line.first.text)
            for each in entry.options if own and option is not None else ():
                if option is not None and each.word.text == option.word.text:
                    word = each.amount or each.start
                    if word is not None and edit.after is not None:
                        return replacing(word.span, edit.after)
    return None


def _says(option: tree.Option) -> tuple[int, int] | None:
    """Where the value of an option stands: its column and line."""
    word = option.amount or option.start
    return None if word is None else (word.span.column, word.span.line)
