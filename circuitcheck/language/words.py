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
DRAWN = {"LEGEND": "LETTER", "LAYER": "ROW"}
"""For each word that opens a block of the author's own letters, the form that its lines begin with."""
CLOSED = re.compile(r"end[ \t]*(#|\n|$)")


class WordLexer(Lexer):
    """Words of a text, with their places; blanks and comments between them are dropped."""

    def __init__(self, lexer_conf: LexerConf) -> None:
        forms = []
        self._drawn: dict[str, re.Pattern[str]] = {}
        self._keywords: dict[str, str] = {}
        for terminal in lexer_conf.terminals:
            if isinstance(terminal.pattern, PatternStr):
                self._keywords[terminal.pattern.value] = terminal.name
            elif terminal.name in DRAWN.values():
                self._drawn[terminal.name] = re.compile(terminal.pattern.to_regexp())
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
        drawn, begins = "", True  # the block of the author's own letters that is open; whether a line begins here
        while position < len(data):
            if drawn and begins:
                if CLOSED.match(data, position):
                    drawn = ""
                else:
                    own = self._drawn[drawn].match(data, position)
                    if own is not None:
                        column, position = position - line_start + 1, own.end()
                        yield Token(drawn, own.group(), own.start(), line, column, line, column + len(own[0]), position)
            for match in self._expression.finditer(data, position):
                form = match.lastgroup or STRAY
                text = match.group()
                start, position = match.span()
                kind = keywords.get(text, form)
                if form not in ignored:
                    yield Token(
                        kind, text, start, line, start - line_start + 1, line, position - line_start + 1, position
                    )
                    drawn = DRAWN.get(kind, "") if begins and not drawn else drawn
                    begins = False
                breaks = text.count("\n")
                if breaks:
                    line += breaks
                    line_start = start + text.rindex("\n") + 1
                    begins = form == "_NEWLINE"
                    if drawn and begins:
                        break
