"""Lines of text in a few plain styles, made safe and fitted to a width; colour is added at the very end, or not at all.

`write` is the one door to the terminal, `plain` that to files; both make safe whatever comes through them. What goes
out as JSON goes through `escaped`. rich is imported in `write`, and only where colour is wanted.
"""

from __future__ import annotations

import os
import sys
import textwrap
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from enum import Enum
from typing import NamedTuple, TextIO


class Style(Enum):
    """What a piece of text is, not how it looks. Every style also differs in its words or signs."""

    PLAIN = ""
    STRONG = "bold"
    FAINT = "dim"
    GOOD = "cyan"
    BAD = "bold magenta"
    DOUBT = "yellow"


class Piece(NamedTuple):
    """Some text in one style."""

    text: str
    style: Style = Style.PLAIN


Line = Sequence[Piece]
NARROWEST, WIDEST = 40, 400
"""Between which widths is written."""

UNSAFE = ("Cc", "Cf", "Cs", "Zl", "Zp")
"""The kinds of letters that a terminal or an editor obeys: controls, marks of direction and of format, halves of
letters, ends of lines and of paragraphs (Unicode Standard, table 4-4, General Category)."""


def safe(text: str) -> str:
    """Text of a user with nothing in it that a terminal would obey or hide: such letters become a visible sign.

    So does what Unicode calls noncharacters, which no XML file may hold.
    """
    if text.isascii() and text.isprintable():  # nearly all of it, and quickly seen
        return text
    return "".join("\ufffd" if _is_unsafe(letter) else letter for letter in text)


def quoted(name: str) -> str:
    """A name in quotes; words that stand for something without a name as they are."""
    return name if " " in name else f"'{name}'"


def escaped(document: str) -> str:
    """A JSON document with each such letter as an escape (RFC 8259, 7), so that readers get the very text all the same.

    Halves of letters, which names of files may hold and no JSON should (8.2), become the visible sign.
    """
    table = {ord(letter): _escape(letter) for letter in set(document) if letter != "\n" and _is_unsafe(letter)}
    return document.translate(table)


def _escape(letter: str) -> str:
    if unicodedata.category(letter) == "Cs":
        return "\ufffd"
    units = letter.encode("utf-16-be").hex()
    return "".join(f"\\u{units[place : place + 4]}" for place in range(0, len(units), 4))


def _is_unsafe(letter: str) -> bool:
    number = ord(letter)
    nothing = number & 0xFFFE == 0xFFFE or 0xFDD0 <= number <= 0xFDEF
    return nothing or unicodedata.category(letter) in UNSAFE


def beside_or_below(first: Piece, second: str, width: int, hang: str) -> Iterator[Line]:
    """Two things in one line where they fit, else the second in lines of its own."""
    if len(first.text) + len(second) <= width:
        yield line(first, second)
        return
    yield line(first)
    yield from wrapped(second.strip(), width, hang)


def columns_of(text: str) -> int:
    """How many columns of a terminal some letters take: two for wide ones (Unicode Standard Annex 11)."""
    return sum(2 if unicodedata.east_asian_width(letter) in "WF" else 1 for letter in text)


def shortened(text: str, most: int) -> str:
    """Text made safe and cut to a length."""
    whole = safe(text)
    return whole if len(whole) <= most else f"{whole[: most - 1]}…"


def plain(lines: Iterable[Line]) -> str:
    """Lines as text without styles."""
    return "\n".join(_text(pieces) for pieces in lines)


def _text(pieces: Line) -> str:
    return safe("".join(piece.text for piece in pieces).rstrip())


def line(*pieces: Piece | str) -> Line:
    """A line out of pieces; bare text is plain."""
    return [piece if isinstance(piece, Piece) else Piece(piece) for piece in pieces]


def wrapped(text: str, width: int, indent: str, hang: str = "", style: Style = Style.PLAIN) -> list[Line]:
    """Text broken into lines of a width, the first behind `indent`, the others behind `hang`."""
    rows = textwrap.wrap(
        text, max(width, 20), initial_indent=indent, subsequent_indent=hang or indent, break_on_hyphens=False
    )
    return [[Piece(row, style)] for row in rows or [indent]]


def width_of(stream: TextIO, asked: int | None) -> int:
    """The width to write in: as asked, as `COLUMNS` says, as wide as the terminal, or 100 where there is none."""
    if asked:
        return asked
    wished = os.environ.get("COLUMNS", "")
    if wished.isdecimal() and len(wished) < 6 and int(wished):
        return min(max(int(wished), NARROWEST), WIDEST)
    try:
        return os.get_terminal_size(stream.fileno()).columns or 100
    except (OSError, ValueError):
        return 100


def can_encode(stream: TextIO, text: str) -> bool:
    """Whether a stream can show these letters."""
    try:
        text.encode(stream.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


PLAIN_SIGNS = str.maketrans({"█": "#", "·": ".", "┄": "~", "✓": "+", "✗": "x", "–": "-", "−": "-", "…": "~", "→": ">"})


def write(lines: Iterable[Line], stream: TextIO | None = None, colour: bool | None = None) -> None:
    """Writes lines; in colour if the stream is a terminal and NO_COLOR is not set."""
    out = sys.stdout if stream is None else stream
    if colour is None:
        colour = _wants_colour(out)
    if colour:
        _write_in_colour(lines, out)
        return
    for pieces in lines:
        text = _text(pieces)
        if not can_encode(out, text):
            text = text.translate(PLAIN_SIGNS)
            text = text.encode(out.encoding or "ascii", "replace").decode(out.encoding or "ascii")
        out.write(text + "\n")


def _wants_colour(out: TextIO) -> bool:
    return out.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def _write_in_colour(lines: Iterable[Line], out: TextIO) -> None:
    from rich.console import Console
    from rich.text import Text

    console = Console(file=out, highlight=False, markup=False, emoji=False, soft_wrap=True)
    for pieces in lines:
        text = Text()
        for piece in pieces:
            text.append(safe(piece.text), style=piece.style.value)
        console.print(text, soft_wrap=True)
