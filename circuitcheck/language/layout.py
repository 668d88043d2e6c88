"""The one canonical layout of a circuit file: words in columns, blocks indented, comments kept.

Works on words, not on the syntax tree, since comments stand between words. Only blanks and line ends are changed, so
the meaning can't be; where a statement goes on after a comma stays its author's choice.

Lines that follow each other without a gap form a group, and the cells of a group stand in columns. The first column,
that of the kinds of part, is the same in a whole block.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import groupby, pairwise

from lark import Token

from circuitcheck.diagnostics import Diagnostic
from circuitcheck.language.parse import OPENERS, parse, words_of
from circuitcheck.model.parts import KINDS

INDENT = "  "
GAP = 2
"""Blanks between two columns."""
GOES_ON = "    "
"""How much further in a statement goes on after a comma at a line's end."""
WIDEST = {"part": 28, "claim": 60, "line": 28, "letter": 28, "": 0}
"""For each family of rows, a cell wider than this does not push the column behind it away."""

NO_OPTION_BEHIND = frozenset({"STARTS", "GROWS"})
"""What follows these words belongs to them, though it may look like another option."""
FEATURES = frozenset({"FACING", "ON", "AT", "NAMED", "WHEN"})
"""The words with which something new begins that is said of a letter's thing."""
CLAUSES = {
    "CHECK": frozenset({"GIVEN", "FAILS", "SKIPPED"}),
    "ALWAYS": frozenset({"FAILS", "SKIPPED", "FOR"}),
    "NEVER": frozenset({"FAILS", "SKIPPED", "FOR"}),
}
"""The words with which a new cell begins behind the title of a check or claim."""


@dataclass(slots=True)
class _Row:
    """A statement's line, or a line with nothing but a comment."""

    depth: int
    family: str
    """Rows of one family stand in columns together: parts, claims, a check's lines; empty for all others."""
    cells: list[str] = field(default_factory=list)
    comment: str = ""
    gap_before: bool = False


def laid_out(text: str, path: str) -> tuple[str, list[Diagnostic]]:
    """The text in the canonical layout; with mistakes of form in it, the text as it is, and the mistakes."""
    _, mistakes = parse(text, path)
    if mistakes:
        return text, mistakes
    rows = list(_rows(words_of(text)))
    return "".join(line + "\n" for line in _lines(rows)), []


# From words to rows


def _rows(words: Sequence[Token]) -> Iterator[_Row]:
    depth, gap = 0, False
    line: list[Token] = []
    for word in words:
        if word.type != "_NEWLINE":
            line.append(word)
            continue
        first, *others = str(word).split("\n")
        if line:
            if line[0].type == "END":
                depth -= 1
            yield _Row(depth, _family(line[0], depth), _cells(line), first.strip(), gap and line[0].type != "END")
            gap = False
            if line[0].type in OPENERS and not _is_loop_of_claim(line):
                depth += 1
        else:
            others.insert(0, first)
        # What stands behind the last line end only indents the next line.
        for each in others[:-1]:
            comment = each.strip()
            if comment:
                yield _Row(depth, "", [], comment, gap)
            gap = not comment
        line = []


def _is_loop_of_claim(line: Sequence[Token]) -> bool:
    return line[0].type == "FOR" and len(line) > 1 and line[1].type == "EACH"


def _family(first: Token, depth: int) -> str:
    if first in KINDS or first.type in ("GIVEN", "OUTPUT", "NAME", "PLACE"):
        return "part"
    if first.type in ("ALWAYS", "NEVER"):
        return "claim"
    if first.type == "LETTER":
        return "letter"
    return "line" if depth and first.type in ("AT", "BY", "FROM", "THROUGHOUT", "UNTIL") else ""


def _cells(line: Sequence[Token]) -> list[str]:
    return [_joined(cell) for cell in _split(line)]


def _split(line: Sequence[Token]) -> list[list[Token]]:
    """The words of a statement, cell by cell."""
    first = line[0].type
    if first == "LETTER":
        return _cut(line, (1, *(place for place in range(2, len(line)) if _begins_feature(line, place))))
    if first == "ROW":
        return [list(line)]
    if line[0] in KINDS:
        return _cut(line, (1, *(place for place in range(2, len(line)) if _begins_option(line, place))))
    if first in ("GIVEN", "OUTPUT"):
        return _cut(line, (1, *(place for place, word in enumerate(line) if word.type == "FROM")))
    if first == "PLACE":
        return _cut(line, (1, *(place for place, word in enumerate(line) if word.type == "GETS")))
    if first == "NAME":
        return _cut(line, (1, *(place for place, word in enumerate(line) if word.type == "GIVEN")))
    if first in CLAUSES:
        return _cut(line, _clauses(line))
    if first in ("AT", "BY", "UNTIL"):
        return _cut(line, (2,))
    if first == "FROM":
        return _cut(line, (4,))
    return _cut(line, (1,)) if first == "THROUGHOUT" else [list(line)]


@lru_cache(maxsize=1)
def _options(kinds: tuple[str, ...]) -> frozenset[str]:
    """The words of the options that some kinds take."""
    return frozenset(option.word for word in kinds for option in KINDS[word].options)


def _is_option(word: str) -> bool:
    return word in _options(tuple(KINDS))


def _begins_option(line: Sequence[Token], place: int) -> bool:
    return _is_option(line[place]) and line[place - 1].type not in NO_OPTION_BEHIND


def _begins_feature(line: Sequence[Token], place: int) -> bool:
    """Whether a word of a legend's line begins something new that is said of its thing."""
    begins = line[place].type in FEATURES or _is_option(line[place])
    return begins and line[place - 1].type not in (*NO_OPTION_BEHIND, "FACING", "ON", "WHEN", "BECOMES")


def _clauses(line: Sequence[Token]) -> tuple[int, ...]:
    """Where the cells of a check's first line, or of a claim, begin."""
    claims = line[0].type != "CHECK"
    found = [1] if claims else []
    place = 2
    while place < len(line) and line[place].type in CLAUSES[line[0].type]:
        found.append(place)
        ends = {"FAILS": 3, "SKIPPED": 3, "FOR": 4}.get(line[place].type)
        place = place + ends if ends else _end_of_values(line, place)
    return (*found, place) if claims else tuple(found)


def _end_of_values(line: Sequence[Token], place: int) -> int:
    return next((each for each in range(place + 1, len(line)) if line[each].type in ("FAILS", "SKIPPED")), len(line))


def _cut(line: Sequence[Token], places: Iterable[int]) -> list[list[Token]]:
    borders = [0, *(place for place in places if place < len(line)), len(line)]
    return [list(line[start:end]) for start, end in pairwise(borders)]


def _joined(cell: Sequence[Token]) -> str:
    text = ""
    for word in cell:
        if word.type == "_COMMA":
            text += _comma(str(word))
        elif word.type in ("RPAR", "COLON") or not text or text.endswith(("(", GOES_ON)):
            text += str(word)
        else:
            text += f" {word}"
    return text


def _comma(text: str) -> str:
    """A comma, with the comments and the line end behind it, if there are any."""
    if "\n" not in text:
        return ","
    first, *others = (piece.strip() for piece in text[1:].split("\n"))
    comments = "".join(f"\n{GOES_ON}{comment}" for comment in others if comment)
    return f",{INDENT}{first}{comments}\n{GOES_ON}" if first else f",{comments}\n{GOES_ON}"


# From rows to lines


def _lines(rows: Sequence[_Row]) -> Iterator[str]:
    kinds = _widths_of_kinds(rows)
    written = False
    for _, group in groupby(_numbered(rows), key=lambda each: each[0]):
        together = [row for _, row in group]
        widths = _widths(together)
        for row in together:
            if row.gap_before and written:
                yield ""
            first = kinds.get(id(row), widths[0] if widths else 0)
            yield from _line(row, [first, *widths[1:]])
            written = True


def _numbered(rows: Sequence[_Row]) -> Iterator[tuple[int, _Row]]:
    """Each row with the number of its group."""
    number = 0
    before: _Row | None = None
    for row in rows:
        if before is None or row.gap_before or row.family != before.family or row.depth != before.depth:
            number += 1
        yield number, row
        before = row


def _widths_of_kinds(rows: Sequence[_Row]) -> dict[int, int]:
    """For each row of parts, how wide the first column is in its block."""
    open_blocks: list[list[_Row]] = [[]]
    closed: list[list[_Row]] = []
    for row in rows:
        while len(open_blocks) - 1 > row.depth:
            closed.append(open_blocks.pop())
        while len(open_blocks) - 1 < row.depth:
            open_blocks.append([])
        if row.family == "part":
            open_blocks[-1].append(row)
    found: dict[int, int] = {}
    for block in (*closed, *open_blocks):
        width = max((len(row.cells[0]) for row in block if len(row.cells[0]) <= WIDEST[row.family]), default=0)
        found |= {id(row): width for row in block}
    return found


def _widths(rows: Sequence[_Row]) -> list[int]:
    """How wide each column of a group is; what is last in its row, too wide or broken over lines does not count."""
    most = max((len(row.cells) for row in rows), default=0)
    return [max((len(row.cells[place]) for row in rows if _counts(row, place)), default=0) for place in range(most)]


def _counts(row: _Row, place: int) -> bool:
    return place < len(row.cells) - 1 and len(row.cells[place]) <= WIDEST[row.family] and "\n" not in row.cells[place]


def _line(row: _Row, widths: Sequence[int]) -> Iterator[str]:
    indent = INDENT * row.depth
    text = ""
    for place, cell in enumerate(row.cells):
        gap = 1 if row.family == "claim" and place == 0 else GAP
        last = place == len(row.cells) - 1
        text += cell if last else f"{cell:<{widths[place]}}{' ' * gap}"
    if row.comment:
        text += f"{INDENT}{row.comment}" if text else row.comment
    yield from ((indent + line).rstrip() for line in text.split("\n"))
