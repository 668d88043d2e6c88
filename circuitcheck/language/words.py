"""Cuts text into the words of the grammar, which alone says what they are.

A lexer of our own over the grammar's terminals, because a letter that means nothing must become a word of its own (so
that one bad letter costs one line and not the rest of the file), because one expression of eight forms with a
table of keywords is faster to build and to run than one of a hundred, and because lines of a legend and of a drawn
layer begin with letters of the author's own, whatever these would mean elsewhere.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from lark import Token
from lark.common import LexerConf
from lark.lexer import Lexer, PatternStr

STRAY = "STRAY"
"""The type of a word for a letter that means nothing."""
DRAWN = {"LEGEND": ("LETTER", re.compile(r"[^\s#](?=[ \t])")), "LAYER": ("ROW", re.compile(r"[^\n#,]*[^\s#,]"))}
"""For each word that opens a block of the author's own letters, what its lines begin with, and its form."""
CLOSED = re.compile(r"end[ \t]*(#|\n|$)")
FORGOTTEN = re.compile(
    r"(named|put)[ \t]+\S+[ \t]+\w|(layer|piece|check|define)[ \t]+[\w\"]"
    r"|(legend|drawing)[ \t]*(#|\n|$)|drawing[ \t]+of[ \t]"
)
"""A line that no row of letters looks like: the end of the layer before it was forgotten."""


class WordLexer(Lexer):
    """Words of a text, with their places; blanks and comments between them are dropped."""

    def __init__(self, lexer_conf: LexerConf) -> None:
        forms = []
        self._keywords: dict[str, str] = {}
        for terminal in lexer_conf.terminals:
            if isinstance(terminal.pattern, PatternStr):
                self._keywords[terminal.pattern.value] = terminal.name
            else:
                forms.append(f"(?P<{terminal.name}>{terminal.pattern.to_regexp()})")
        # These begin like a number, a line's end like a blank: the longer form is tried first.
        first = ("DURATION", "PERCENT", "FRACTION", "_NEWLINE")
        forms.sort(key=lambda form: not form.startswith(tuple(f"(?P<{name}>" for name in first)))
        self._expression = re.compile("|".join([*forms, f"(?P<{STRAY}>.)"]), re.DOTALL)
        self._ignored = frozenset(lexer_conf.ignore)

    def lex(self, data: str) -> Iterator[Token]:  # type: ignore[override]
        """The words of a text. Lines and columns count from 1."""
        keywords, ignored = self._keywords, self._ignored
        line, line_start, position = 1, 0, 0
        opened, begins = "", True  # the block of the author's own letters that is open; whether a line begins here
        while position < len(data):
            if opened and begins:
                form, expression = DRAWN[opened]
                own = expression.match(data, position)
                if CLOSED.match(data, position) or FORGOTTEN.match(data, position):
                    opened = ""
                elif own is not None:
                    column, position = position - line_start + 1, own.end()
                    yield Token(form, own.group(), own.start(), line, column, line, column + len(own[0]), position)
            for match in self._expression.finditer(data, position):
                form = match.lastgroup or STRAY
                text = match.group()
                start, position = match.span()
                kind = keywords.get(text, form)
                if form not in ignored:
                    yield Token(
                        kind, text, start, line, start - line_start + 1, line, position - line_start + 1, position
                    )
                    opened = kind if begins and not opened and kind in DRAWN else opened
                    begins = False
                breaks = text.count("\n")
                if breaks:
                    line += breaks
                    line_start = start + text.rindex("\n") + 1
                    begins = form == "_NEWLINE"
                    if opened and begins:
                        break
