"""Changes of what is drawn: what a letter's thing is set to, which way it faces, and what stands at one place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from circuitcheck.curing.edits import Change, Cost, Edit, replacing
from circuitcheck.curing.settings import settings_of
from circuitcheck.curing.source_text import Source
from circuitcheck.language import drawn_tree, tree
from circuitcheck.model.directions import AROUND
from circuitcheck.model.parts import KINDS

SIDES = tuple(each.word for each in AROUND)
"""The words for the four ways round."""


def drawn(source: Source) -> Iterator[Change]:
    """Every other setting and way to face that the legend says of a part, and each place where another like it fits."""
    entries = [
        entry
        for block in source.file.statements
        if isinstance(block, drawn_tree.LegendBlock)
        for entry in block.entries
        if entry.thing.text in KINDS
    ]
    for entry in entries:
        yield from _set_otherwise(entry)
        yield from _facing_otherwise(entry)
    yield from _at_places(source, entries)


def _said(entry: drawn_tree.Entry) -> str:
    return f"drawn {entry.thing.text} '{entry.named.text if entry.named is not None else entry.letter.text}'"


def _set_otherwise(entry: drawn_tree.Entry) -> Iterator[Change]:
    line = tree.PartLine(entry.thing, entry.named or entry.letter, None, entry.options)
    for change in settings_of((), line, drawn=True):
        yield replace(change, words=f"drawn {change.words}", homes=frozenset(), readers=None)


def _facing_otherwise(entry: drawn_tree.Entry) -> Iterator[Change]:
    for way, word in (("facing", entry.facing), ("on", entry.on)):
        for side in SIDES if word is not None and word.text in SIDES else ():
            assert word is not None
            if side != word.text:
                words = f"{_said(entry)} {way} {word.text} → {side}"
                yield Change(words, Cost(places=1), (replacing(word.span, side),))


def _at_places(source: Source, entries: list[drawn_tree.Entry]) -> Iterator[Change]:
    """At one place the letter of another thing of the same kind, where neither has a name of its own."""
    plain = {each.letter.text: each for each in entries if each.named is None}
    for block in source.file.statements:
        if not isinstance(block, drawn_tree.PieceBlock | drawn_tree.DrawingBlock):
            continue
        for layer in (each for each in block.lines if isinstance(each, drawn_tree.DrawnLayer)):
            for row in layer.rows:
                for place, letter in enumerate(row.letters.text) if row.number is None else ():
                    for other in plain.values() if letter in plain else ():
                        if other.letter.text != letter and other.thing.text == plain[letter].thing.text:
                            span = row.letters.span
                            edit = Edit(span.line, span.column + place, span.column + place + 1, other.letter.text)
                            words = f"drawn {other.thing.text} in line {span.line}: '{letter}' → '{other.letter.text}'"
                            yield Change(words, Cost(places=1), (edit,))


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
