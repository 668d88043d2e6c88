"""Drawings and pieces: from rows of letters to things at places."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import NamedTuple

from circuitcheck.diagnostics import Diagnostic, Span, did_you_mean, error
from circuitcheck.language import drawn_tree, tree
from circuitcheck.language.drawn_sheet import TURNS, Sheet, mirrored, quarter
from circuitcheck.language.legend import Legend, is_unseen, one_name
from circuitcheck.language.options import start_of
from circuitcheck.model.drawing import At, Drawing, Thing, placed_name, said
from circuitcheck.model.parts import KINDS

MOST_PLACES = 300_000
"""How many places a drawing may have, air among them."""
LONGEST_SIDE = 256
DEEPEST_PIECE = 20
TIMES = re.compile(r"\s+[0-9]+\s+times$")


class Piece(NamedTuple):
    """A piece with the legend of its own file."""

    block: drawn_tree.PieceBlock
    legend: Legend


Pieces = Mapping[str, Piece]


def drawing_of(block: drawn_tree.DrawingBlock, legend: Legend, pieces: Pieces, mistakes: list[Diagnostic]) -> Drawing:
    """The drawing of a block; with mistakes recorded it is not to be used."""
    sheet = DrawingBuilder(legend, pieces, mistakes).sheet(block.lines, block.drawing.span)
    return Drawing(
        dict(sorted(sheet.things.items())),
        _names(sheet, mistakes),
        sheet.starts,
        sheet.spans,
        sheet.size,
        block.drawing.span,
        {layer: tuple(words) for layer, words in sorted(sheet.words.items()) if words},
    )


def _names(sheet: Sheet, mistakes: list[Diagnostic]) -> dict[At, str]:
    """The names of things: by their place, else by their letter, which numbers them if there are several."""
    found: dict[At, str] = {}
    by_letter = sorted((word.text, place) for place, word in sheet.legend_names.items() if place not in sheet.names)
    for name, group in groupby(by_letter, key=lambda each: each[0]):
        places = [place for _, place in group]
        other = next((at for at in places if sheet.things[at].word != sheet.things[places[0]].word), None)
        if other is not None:
            kinds = f"{sheet.things[places[0]].one} and {sheet.things[other].one}"
            message = f"'{name}' is the name of {kinds}: what shares a name is of one kind"
            mistakes.append(error("CKT202", sheet.legend_names[other].span, message, "call one of them otherwise"))
        found |= {place: f"{name}.{number}" if len(places) > 1 else name for number, place in enumerate(places, 1)}
    found |= {place: word.text for place, word in sheet.names.items()}
    taken = {placed_name(thing.word, at): at for at, thing in sheet.things.items() if at not in found}
    blocks = {placed_name("block", at): at for at, thing in sheet.things.items() if thing.block_type.solid}
    taken |= {name: at for name, at in blocks.items() if found.get(at) != name}
    for at, thing in sheet.things.items():
        members = thing.kind.members(thing.flags) if thing.kind is not None else ()
        taken |= {f"{found.get(at) or placed_name(thing.word, at)}.{member}": at for member in members}
    for place, name in sorted(found.items()):
        if name in taken:
            span = (sheet.names.get(place) or sheet.legend_names[place]).span
            message = f"'{name}' is named twice (first at {said(taken[name])})"
            mistakes.append(error("CKT202", span, message, "give one of them another name"))
        taken.setdefault(name, place)
    return found


class DrawingBuilder:
    """Puts sheets together; mistakes are gathered."""

    def __init__(
        self,
        legend: Legend,
        pieces: Pieces,
        mistakes: list[Diagnostic],
        inside: tuple[str, ...] = (),
        made: dict[str, Sheet] | None = None,
    ) -> None:
        self._legend = legend
        self._pieces = pieces
        self._mistakes = mistakes
        self._inside = inside
        self._made = {} if made is None else made
        """Pieces that have been drawn already, by their names."""
        self._placed = 0
        self._uncounted = False
        """Whether it is not known of some row how often it comes, and so how many rows there are."""
        self._unknown: set[str] = set()
        """Letters that no legend knows, each of which is reported once."""

    def sheet(self, lines: Sequence[drawn_tree.Drawn], span: Span) -> Sheet:
        """The sheet that some lines make: its layers, then what is put down on them, then the names."""
        sheet = Sheet()
        self._layers(sheet, [line for line in lines if isinstance(line, drawn_tree.DrawnLayer)], span)
        for line in lines:
            if isinstance(line, drawn_tree.Putting):
                self._put(sheet, line)
        named: dict[At, str] = {}
        for line in lines:
            if isinstance(line, drawn_tree.Naming):
                self._name(sheet, line, named)
        return sheet

    # Layers

    def _layers(self, sheet: Sheet, layers: Sequence[drawn_tree.DrawnLayer], span: Span) -> None:
        drawn: dict[int, drawn_tree.DrawnLayer] = {}
        all_numbered = True
        for layer in layers:
            first = self._number(layer.first, LONGEST_SIDE)
            last = self._number(layer.last, LONGEST_SIDE) if layer.last is not None else first
            if first is None or last is None:
                all_numbered = False
                continue
            if last < first:
                hint = "layers are numbered from the bottom up"
                self._fail("CKT608", (layer.last or layer.first).span, f"layer {last} lies below layer {first}", hint)
                all_numbered = False
            for number in range(first, last + 1):
                if number in drawn:
                    self._fail("CKT608", layer.first.span, f"layer {number} is drawn twice", "keep one of them")
                drawn.setdefault(number, layer)
                sheet.say(number, (word.text for word in layer.words if word.text.strip()))
        missing = next((number for number in range(1, max(drawn, default=0)) if number not in drawn), None)
        empty = next((layer for layer in layers if not layer.rows), None)
        if not layers:
            self._fail("CKT608", span, "no layer is drawn", "add 'layer 1', its rows, and 'end'")
        elif empty is not None:
            self._fail("CKT608", empty.first.span, "this layer has no rows", "draw it, if only of air")
        elif missing is not None and all_numbered:
            self._fail("CKT608", span, f"layer {missing} is not drawn", "draw it, if only of air")
        self._fill(sheet, drawn)

    def _fill(self, sheet: Sheet, drawn: Mapping[int, drawn_tree.DrawnLayer]) -> None:
        width, height = 0, 0
        told: set[int] = set()
        for number, layer in sorted(drawn.items()):
            rows = self._rows(layer)
            if rows and not width:
                # Of rows that differ, the one that differs from most is taken to be the mistake.
                width, height = Counter(map(len, rows)).most_common(1)[0][0], len(rows)
                if width * height * len(drawn) > MOST_PLACES or max(width, height) > LONGEST_SIDE:
                    message = f"the drawing has more than {MOST_PLACES:,} places, or a side over {LONGEST_SIDE}"
                    self._fail("CKT611", layer.first.span, message, "draw it in smaller pieces")
                    return
            if id(layer) not in told and rows:
                told.add(id(layer))
                self._even(layer, rows, width, height)
            if len(rows) > height or any(len(row) > width for row in rows):
                continue  # a mistake that was reported; what is too large is not drawn
            for row, places in enumerate(rows, 1):
                for column, (letter, span) in enumerate(places, 1):
                    self._draw(sheet, (number, row, column), letter, span)
        sheet.size = (len(drawn), height, width)

    def _rows(self, layer: drawn_tree.DrawnLayer) -> list[list[tuple[str, Span]]]:
        found: list[list[tuple[str, Span]]] = []
        for row in layer.rows:
            count = 1
            if row.number is not None and row.times is not None:
                told = self._number(row.number, LONGEST_SIDE)
                self._uncounted |= told is None
                count = told or 1
                if row.times.text != "times":
                    self._fail(
                        "CKT608", row.times.span, f"'{row.times.text}' can't stand here", "write for example: 4 times"
                    )
            at, text = row.letters.span, row.letters.text
            forgotten = TIMES.search(text)
            if forgotten is not None:
                hint = f"write {text[: forgotten.start()]}, {forgotten[0].strip()}"
                self._fail("CKT608", at, "a comma ends a row's letters before the number of repetitions", hint)
                text = text[: forgotten.start()]
            letters = [
                (letter, Span(at.file, at.line, at.column + place, at.column + place + 1))
                for place, letter in enumerate(text)
                if not letter.isspace()
            ]
            found += [letters] * count
        return found[: LONGEST_SIDE + 1]

    def _even(self, layer: drawn_tree.DrawnLayer, rows: list[list[tuple[str, Span]]], width: int, height: int) -> None:
        uneven = dict.fromkeys(id(row) for row in rows if len(row) != width)
        for row in rows:
            if id(row) in uneven:
                del uneven[id(row)]
                stray = next((each for each in row if each[0] not in self._legend), None)
                if stray is not None:
                    self._no_letter(*stray)  # what may have made the row uneven
                    continue
                last = row[width][1] if len(row) > width else row[-1][1]
                letters = "1 letter" if len(row) == 1 else f"{len(row)} letters"
                hint = "all rows are equally long; blanks between letters don't count, and # begins a remark"
                self._fail("CKT607", last, f"this row has {letters}, and others have {width}", hint)
        if len(rows) != height and not self._uncounted:
            hint = "every layer of a drawing has as many rows as its first"
            self._fail("CKT607", layer.first.span, f"this layer has {len(rows)} rows, and the first has {height}", hint)

    def _draw(self, sheet: Sheet, place: At, letter: str, span: Span) -> None:
        known = self._legend.get(letter)
        if known is None:
            self._no_letter(letter, span)
            return
        sheet.spans[place] = span
        if known.thing is not None:
            sheet.things[place] = known.thing
        if known.named is not None:
            sheet.legend_names[place] = known.named

    def _no_letter(self, letter: str, span: Span) -> None:
        if letter not in self._unknown and (self._legend or not self._unknown):
            letters = "".join(self._legend)
            hint = f"its letters are {' '.join(letters[:24])}" if letters else "say in a 'legend' what each letter is"
            unseen = f" ({unicodedata.name(letter, 'a letter without a name').lower()})" if is_unseen(letter) else ""
            self._fail("CKT606", span, f"no legend says what '{letter}'{unseen} is", hint)
        self._unknown.add(letter)

    # Names by place

    def _name(self, sheet: Sheet, line: drawn_tree.Naming, named: dict[At, str]) -> None:
        place = self._spot(line.spot)
        if place is None or not one_name(line.name, self._mistakes):
            return
        thing = sheet.things.get(place)
        if any(not 1 <= here <= most for here, most in zip(place, sheet.size, strict=True)):
            layers, rows, columns = sheet.size
            hint = f"there are {layers} layers, {rows} rows and {columns} columns"
            self._fail("CKT609", line.spot.layer.span, f"{said(place)} lies outside the drawing", hint)
        elif thing is None or not thing.is_signal:
            what = "air" if thing is None else thing.one
            self._fail(
                "CKT609", line.name.span, f"at {said(place)} is {what}, which has no signal", "name another place"
            )
        elif place in named:
            message = f"what is at {said(place)} has a name already, '{named[place]}'"
            self._fail("CKT202", line.name.span, message, "keep one of them")
        else:
            named[place] = line.name.text
            sheet.names[place] = line.name
            if line.start is not None:
                self._start(sheet, line.start, place, thing)

    def _start(self, sheet: Sheet, word: tree.Word, place: At, thing: Thing) -> None:
        kind = KINDS[thing.word]
        option = kind.option("starts")
        if option is None:
            self._fail("CKT301", word.span, f"{thing.one} takes no 'starts'", "leave it out")
            return
        level = start_of(kind, option, word, self._mistakes)
        if level is not None:
            sheet.starts[place] = level

    def _spot(self, spot: drawn_tree.SpotItem) -> At | None:
        for word, wanted in ((spot.row_word, "row"), (spot.column_word, "column")):
            if word.text != wanted:
                hint = "a place is written as: layer 2 row 3 column 5"
                self._fail("CKT609", word.span, f"'{word.text}' can't stand here", hint)
                return None
        numbers = [self._number(word, LONGEST_SIDE) for word in (spot.layer, spot.row, spot.column)]
        layer, row, column = numbers
        return None if layer is None or row is None or column is None else (layer, row, column)

    def _number(self, word: tree.Word, most: int) -> int | None:
        number = int(word.text) if len(word.text) < 5 else most + 1
        if not 1 <= number <= most:
            self._fail("CKT608", word.span, f"{word.text[:20]} is out of range", f"from 1 to {most}")
            return None
        return number

    # Pieces

    def _put(self, sheet: Sheet, line: drawn_tree.Putting) -> None:
        name = line.piece.text
        piece, corner = self._pieces.get(name), self._spot(line.spot)
        if piece is None:
            hint = did_you_mean(name, self._pieces) or "a piece is made as in: piece arch, its layers, end"
            self._fail("CKT610", line.piece.span, f"no piece is called '{name}'", hint)
        elif name in self._inside:
            self._fail("CKT610", line.piece.span, f"the piece '{name}' contains itself", "break the circle")
        elif len(self._inside) >= DEEPEST_PIECE:
            self._fail(
                "CKT610", line.piece.span, "pieces are put into pieces too deep", f"{DEEPEST_PIECE} deep at most"
            )
        elif corner is not None:
            before = len(self._mistakes)
            made = self._made.get(name)
            if made is None:
                inner = DrawingBuilder(piece.legend, self._pieces, self._mistakes, (*self._inside, name), self._made)
                made = self._made[name] = inner.sheet(piece.block.lines, piece.block.name.span)
            self._placed += len(made.spans)
            if self._placed > MOST_PLACES:
                message = f"more than {MOST_PLACES:,} places are put down in pieces here"
                self._fail("CKT611", line.piece.span, message, "draw it in smaller pieces")
            if len(self._mistakes) == before:
                self._set_down(sheet, self._turned(made, line), corner, line)

    def _turned(self, made: Sheet, line: drawn_tree.Putting) -> Sheet:
        for word, behind in line.turns:
            if word.text == "mirrored" and behind is None:
                made = mirrored(made)
            elif word.text == "turned" and behind is not None and behind.text in TURNS:
                for _ in range(TURNS[behind.text]):
                    made = quarter(made)
            else:
                span = (behind or word).span
                message = f"'{(behind or word).text}' does not say how to turn a piece"
                self._fail("CKT610", span, message, "turned right, turned left, turned around, or mirrored")
        return made

    def _set_down(self, sheet: Sheet, made: Sheet, corner: At, line: drawn_tree.Putting) -> None:
        prefix = f"{line.name.text}." if line.name is not None else ""
        for layer, words in made.words.items():
            sheet.say(corner[0] + layer - 1, words)
        for place, span in made.spans.items():
            there: At = (corner[0] + place[0] - 1, corner[1] + place[1] - 1, corner[2] + place[2] - 1)
            if any(number > most for number, most in zip(there, sheet.size, strict=True)):
                layers, rows, columns = sheet.size
                hint = f"move it, or draw more air: there are {layers} layers, {rows} rows and {columns} columns"
                message = f"the piece reaches out of the drawing, to {said(there)}"
                self._fail("CKT610", line.spot.layer.span, message, hint)
                return
            thing = made.things.get(place)
            if thing is None:
                continue
            if there in sheet.things:
                message = f"the piece falls on {sheet.things[there].one} at {said(there)}"
                self._fail("CKT610", line.spot.layer.span, message, "leave room for it")
                return
            sheet.things[there], sheet.spans[there] = thing, span
            for mine, theirs in ((sheet.legend_names, made.legend_names), (sheet.names, made.names)):
                if place in theirs:
                    word = theirs[place]
                    mine[there] = word._replace(text=f"{prefix}{word.text}")
            if place in made.starts:
                sheet.starts[there] = made.starts[place]

    def _fail(self, code: str, span: Span, message: str, hint: str) -> None:
        self._mistakes.append(error(code, span, message, hint))
