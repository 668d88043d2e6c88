"""Legends: what each letter of a file's drawings stands for."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from typing import NamedTuple

from circuitcheck.diagnostics import Diagnostic, Span, did_you_mean, either, error
from circuitcheck.language import drawn_tree, renamed, tree
from circuitcheck.language.daylight import change_of
from circuitcheck.language.options import number_of, start_of
from circuitcheck.language.values import Reader
from circuitcheck.model.block_type import FED, Reads
from circuitcheck.model.drawing import DIRECTIONS, MATTERS, BlockType, Direction, Facing, Thing
from circuitcheck.model.light import Condition
from circuitcheck.model.parts.kinds import Kind, Request, Takes

COMES_AND_GOES = frozenset({"water", "leaf"})
"""What may be there only while a part is on or off: no wiring depends on it."""
SURE = 0.7
"""How like a word must be to one of the things that can be drawn before that is offered."""
NO_LETTER = frozenset(",")
"""What can't be a letter, since it means something behind a row."""


class Letter(NamedTuple):
    """What a letter stands for, and what its author calls it; None for air."""

    thing: Thing | None
    named: tree.Word | None


Legend = dict[str, Letter]


def legend_of(blocks: Iterable[drawn_tree.LegendBlock], mistakes: list[Diagnostic]) -> Legend:
    """The letters of a file."""
    found: Legend = {}
    lines: dict[str, int] = {}
    for block in blocks:
        for entry in block.entries:
            letter = entry.letter.text
            if letter in found:
                message = f"the letter '{letter}' stands twice (first in line {lines[letter]})"
                _fail(mistakes, "CKT603", entry.letter.span, message, "keep one of them")
            else:
                if letter in NO_LETTER or is_unseen(letter):
                    why = "it ends a row" if letter in NO_LETTER else "it can't be seen by itself"
                    _fail(
                        mistakes, "CKT603", entry.letter.span, f"'{letter}' can't be a letter: {why}", "choose another"
                    )
                found[letter], lines[letter] = _EntryReader(entry, mistakes).letter(), entry.letter.span.line
    return found


def is_unseen(letter: str) -> bool:
    """Whether a letter shows nothing where it stands alone, as marks do that go onto another one."""
    return unicodedata.category(letter) in ("Cf", "Me", "Mn")


def one_name(word: tree.Word, mistakes: list[Diagnostic]) -> bool:
    """Whether a name is that of one thing and not of a row; if not, a mistake is recorded."""
    if word.text.endswith(".*"):
        hint = "things of one letter are numbered of themselves"
        _fail(mistakes, "CKT203", word.span, f"'{word.text}' can't be the name of a part", hint)
        return False
    return True


def _fail(mistakes: list[Diagnostic], code: str, span: Span, message: str, hint: str) -> None:
    mistakes.append(error(code, span, message, hint))


def _synonym(word: str) -> str:
    """What to say instead of a word that one may reach for."""
    return next((f"say '{each.word}'" for each in MATTERS.values() if word in each.synonyms), "")


def _one(matter: BlockType) -> str:
    return Thing(matter).one


class _EntryReader:
    """Reads one line of a legend."""

    def __init__(self, entry: drawn_tree.Entry, mistakes: list[Diagnostic]) -> None:
        self._entry = entry
        self._mistakes = mistakes

    def letter(self) -> Letter:
        entry = self._entry
        word = entry.thing.text
        matter = MATTERS.get(word)
        if matter is None:
            hint = _synonym(word) or did_you_mean(word, MATTERS, SURE) or f"there are {', '.join(MATTERS)}"
            self._fail("CKT604", entry.thing.span, f"nothing that can be drawn is called '{word}'", hint)
            return Letter(None, None)
        for twice in entry.twice:
            self._fail("CKT302", twice.span, f"'{twice.text}' already stands in this line", "keep one of them")
        if word == "air":
            self._nothing_more("air is only air")
            return Letter(None, None)
        thing = self._thing(matter)
        if entry.named is not None and not thing.is_signal:
            self._fail("CKT605", entry.named.span, f"{thing.one} has no signal to be named", "leave out 'named'")
        named = entry.named if entry.named is None or one_name(entry.named, self._mistakes) else None
        return Letter(thing, named)

    def _nothing_more(self, why: str) -> None:
        entry = self._entry
        words = [entry.facing, entry.on, entry.at, entry.named, entry.when]
        words += [*entry.shapes, *(each.word for each in entry.options)]
        for word in (each for each in words if each is not None):
            self._fail("CKT605", word.span, f"'{word.text}' says nothing here: {why}", "leave it out")

    def _thing(self, matter: BlockType) -> Thing:
        entry = self._entry
        made = self._with_options(matter, Thing(matter).kind)
        return Thing(
            matter,
            entry.letter.text,
            facing=self._facing(matter),
            on=self._on(matter),
            shape=self._shape(matter),
            end=self._end(matter),
            flags=made.flags,
            numbers=tuple(sorted(made.numbers.items())),
            start=made.start,
            changes=tuple(made.changes),
            when=self._when(matter),
        )

    def _direction(self, word: tree.Word, allowed: Iterable[Direction], what: str) -> Direction | None:
        direction = DIRECTIONS.get(word.text)
        known = [each.word for each in allowed]
        if direction is None or direction.word not in known:
            hint = did_you_mean(word.text, known) or f"it can be {either(known)}"
            self._fail("CKT605", word.span, f"{what} can't be '{word.text}'", hint)
            return None
        return direction

    def _facing(self, matter: BlockType) -> Direction | None:
        word, allowed = self._entry.facing, matter.facing
        if word is None:
            if allowed is not Facing.NONE:
                hint = f"add 'facing {allowed.value[1].word}', say"
                self._fail("CKT605", self._entry.thing.span, f"which way does {_one(matter)} face?", hint)
            return None
        if allowed is Facing.NONE:
            hint = "say on which side it is held, as in 'on west'" if matter.held else "leave out 'facing'"
            self._fail("CKT605", word.span, f"{_one(matter)} faces no way", hint)
            return None
        return self._direction(word, allowed.value, f"where {_one(matter)} faces")

    def _on(self, matter: BlockType) -> Direction | None:
        word = self._entry.on
        if word is None:
            return matter.held[0] if matter.held else None
        if not matter.held:
            self._fail("CKT605", word.span, f"nothing holds {_one(matter)}", "leave out 'on'")
            return None
        return self._direction(word, matter.held, f"the side on which {_one(matter)} is held")

    def _shape(self, matter: BlockType) -> str:
        old = {**renamed.OPTIONS, **(renamed.ENDS if matter.ends else {})}
        for word in self._entry.shapes:
            if word.text in old:
                self._mistakes.append(renamed.renamed(word.text, old[word.text], word.span))
            elif word.text not in matter.shapes:
                hint = did_you_mean(word.text, matter.shapes)
                hint = hint or (f"it can be {either(matter.shapes)}" if matter.shapes else "leave it out")
                self._fail("CKT605", word.span, f"'{word.text}' says nothing of {matter.word}", hint)
        shapes = [word.text for word in self._entry.shapes if word.text in matter.shapes]
        return shapes[0] if shapes else ""

    def _end(self, matter: BlockType) -> str:
        """Where in its place it stands, of what fills only half of one."""
        word = self._entry.at
        hint = "say " + either(f"'at {end}'" for end in matter.ends) if matter.ends else "leave it out"
        if word is not None and word.text in matter.ends:
            return word.text
        if word is not None:
            self._fail("CKT605", word.span, f"{_one(matter)} can't be at '{word.text}'", hint)
        elif matter.ends and not any(shape.text in renamed.ENDS for shape in self._entry.shapes):
            self._fail("CKT605", self._entry.thing.span, f"where in its place is {_one(matter)}?", hint)
        return ""

    def _when(self, matter: BlockType) -> Condition | None:
        word = self._entry.when
        if word is None:
            return None
        if matter.word not in COMES_AND_GOES:
            self._fail(
                "CKT605", word.span, f"{matter.word} can't come and go", f"only {either(sorted(COMES_AND_GOES))} can"
            )
            return None
        return Condition(word.text, self._entry.only is None or self._entry.only.text == "on")

    def _with_options(self, matter: BlockType, kind: Kind | None) -> Request:
        """The options of a line, as a request without sources: those come from where the thing is drawn."""
        entry = self._entry
        request = Request(entry.letter.text, entry.thing.span, {}, {}, None, frozenset(), {})
        reader = Reader({}, self._mistakes)
        for written in entry.options:
            word = written.word
            option = kind.option(word.text) if kind is not None else None
            if kind is None or option is None or option.takes in (Takes.PLACE, Takes.COUNT):
                self._fail("CKT605", word.span, f"'{word.text}' says nothing of {_one(matter)} here", "leave it out")
                continue
            if word.text in request.spans and option.takes is not Takes.CHANGE:
                self._fail("CKT302", word.span, f"'{word.text}' stands twice", "keep one of them")
                continue
            request.spans[word.text] = word.span
            if written.amount is not None:
                number = number_of(option, written.amount, reader, self._mistakes)
                request.numbers |= {} if number is None else {word.text: number}
            elif written.start is not None:
                request.start = start_of(kind, option, written.start, self._mistakes)
            elif written.change is not None:
                change = change_of(written.change, self._mistakes)
                request.changes += [change] if change is not None else []
            else:
                request.flags |= {word.text}
        if kind is not None:
            self._try_out(kind, request)
        return request

    def _try_out(self, kind: Kind, request: Request) -> None:
        """Lets the kind judge what is said of it, with something wired to each input that it must have."""
        usual = {option.word: option.default for option in kind.options if option.default is not None}
        read = MATTERS[kind.word].reads
        sources: dict[str, tuple[str, ...]] = {word: ("x",) for word, how, _ in read if how in FED | {Reads.WATCHED}}
        trial = Request(
            "x",
            request.span,
            sources,
            {**usual, **request.numbers},
            request.start,
            request.flags,
            request.spans,
            {word: "x" for word, how, _ in read if how is Reads.LIGHT},
            request.changes,
        )
        kind.build(trial)
        self._mistakes += trial.mistakes

    def _fail(self, code: str, span: Span, message: str, hint: str) -> None:
        _fail(self._mistakes, code, span, message, hint)
