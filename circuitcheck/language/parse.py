"""From text to a syntax tree, and from every mistake on the way to one diagnostic.

A mistake costs its line: the parser is put back to where it stood when the line began and goes on with the next, so
that a file's mistakes come out together; `slips` has the words for them. Nothing of lark leaves this package.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import islice
from typing import Any, NamedTuple

from lark import Lark, Token
from lark.exceptions import UnexpectedToken
from lark.parsers.lalr_interactive_parser import InteractiveParser

from circuitcheck.diagnostics import Diagnostic, error, nearest
from circuitcheck.language import tree
from circuitcheck.language.builder import Builder
from circuitcheck.language.grammar import grammar
from circuitcheck.language.shipped import shipped
from circuitcheck.language.syntax_hints import SURE, SyntaxHints
from circuitcheck.language.tables import parser_of
from circuitcheck.language.words import STRAY, WordLexer

MOST_MISTAKES = 20
"""How many mistakes of one file are reported at once."""
MOST_WORDS = 200_000
"""How many words a file may have together with all it uses: some 40,000 lines of parts."""
DEEPEST = 40
"""How deep brackets and `not` may be nested."""
MOST_TERMS = 10_000
"""How many terms the conditions of one line may have."""
OPENERS = {
    "CHECK": 'check "?"',
    "FOR": "for x in 1",
    "DEFINE": "define x (x) gives x",
    "LEGEND": "legend",
    "PIECE": "piece x",
    "DRAWING": "drawing",
    "LAYER": "layer 1",
}
"""For each word that opens a block, a line that opens it without a mistake."""

CLOSES = frozenset({"LEGEND", "PIECE", "DRAWING", "LAYER", "NAMED", "PUT", "CHECK", "DEFINE", "FOR"})
"""What no block of letters holds: where such a line stands in one, its end was forgotten."""


@lru_cache(maxsize=1)
def _parser() -> tuple[Lark, WordLexer, Builder]:
    builder = Builder()
    lark = parser_of(grammar(), shipped("tables.json"), WordLexer, builder)
    # Not `lark.lex`: that builds a lexer of lark's own at each call, which stops at a letter it doesn't know.
    return lark, WordLexer(lark.parser.lexer_conf), builder


def keywords() -> dict[str, str]:
    """Every reserved word, by the name of its terminal."""
    return {
        terminal.name: terminal.pattern.value
        for terminal in _parser()[0].terminals
        if terminal.pattern.type == "str" and terminal.pattern.value.replace("_", "").isalpha()
    }


def forms() -> dict[str, str]:
    """The regular expression of every word that is not reserved, by the name of its terminal."""
    return {
        terminal.name: terminal.pattern.to_regexp()
        for terminal in _parser()[0].terminals
        if terminal.pattern.type == "re"
    }


def words_of(text: str) -> list[Token]:
    """The words of a text, each line's last being its line end with the comment before it."""
    return list(_parser()[1].lex(_ended(text)))


def _ended(text: str) -> str:
    return text if text.endswith("\n") else text + "\n"


class Place(NamedTuple):
    """A place in a text, for going on writing there."""

    accepted: frozenset[str]
    """The terminals of the grammar that may come next."""
    line: tuple[Token, ...]
    """The words of the statement that has been begun, so far."""
    definition: str
    """The name of the definition whose block is open, or ""."""


def place_behind(text: str) -> Place:
    """What may follow a text: whatever is wrong before the line that it ends in is passed over."""
    lark, lexer, _ = _parser()
    blocks: list[list[Token]] = []
    line: list[Token] = []
    for word in lexer.lex(text):
        if word.type != "_NEWLINE":
            line.append(word)
            continue
        if line and line[0].type in OPENERS:
            blocks.append(line)
        elif line and line[0].type == "END" and blocks:
            blocks.pop()
        line = []
    walk = lark.parse_interactive("")
    opened = [word for block in blocks for word in lexer.lex(OPENERS[block[0].type] + "\n")]
    try:
        for word in (*opened, *line):
            walk.feed_token(word)
    except UnexpectedToken:
        return Place(frozenset(), tuple(line), "")
    names = [block[1] for block in blocks if block[0].type == "DEFINE" and len(block) > 1]
    return Place(frozenset(_accepted_by(walk)), tuple(line), str(names[-1]) if names else "")


def parse(text: str, path: str, most: int = MOST_WORDS) -> tuple[tree.File | None, list[Diagnostic]]:
    """Reads a file's text of at most so many words. Without mistakes there is a tree; with mistakes there is none."""
    lark, lexer, builder = _parser()
    builder.file = path
    reading = _Reading(lark, lexer, builder, _ended(text), most)
    return reading.run()


def _accepted_by(parser: InteractiveParser) -> set[str]:
    return set(parser.accepts())  # type: ignore[no-untyped-call]


@dataclass(slots=True)
class _Block:
    opener: Token
    word: str


class _Reading:
    """One pass over one text."""

    def __init__(self, lark: Lark, lexer: WordLexer, builder: Builder, text: str, most: int) -> None:
        self._lark = lark
        self._lexer = lexer
        self._builder = builder
        self._words = list(islice(lexer.lex(text), most + 1))
        self._most = most
        self._interactive: InteractiveParser = lark.parse_interactive("")
        self._mistakes: list[Diagnostic] = []
        self._open: list[_Block] = []
        self._slips = SyntaxHints(builder.span, keywords(), self._starters)
        self._foreign = 0
        """How deep it is inside blocks that can't stand where they are; their lines are passed over."""

    def run(self) -> tuple[tree.File | None, list[Diagnostic]]:
        if len(self._words) > self._most:
            return None, [self._too_many_words(self._words[-1])]
        line: list[Token] = []
        for token in self._words:
            line.append(token)
            if token.type == "_NEWLINE":
                self._read_line(line)
                line = []
                if len(self._mistakes) >= MOST_MISTAKES:
                    break
        if self._mistakes:
            return None, self._mistakes
        if self._open:
            return None, [self._unclosed(self._open[-1])]
        return self._finish(), self._mistakes

    def _finish(self) -> tree.File:
        last = self._words[-1] if self._words else None
        result: tree.File = self._interactive.feed_eof(last)  # type: ignore[no-untyped-call]
        return result._replace(words=len(self._words))

    def _too_many_words(self, word: Token) -> Diagnostic:
        message = f"with all it uses, a file has at most {MOST_WORDS:,} words"
        return error("CKT503", self._builder.span(word), message, "split it, or write rows, as in pond.1 to pond.7")

    def _read_line(self, line: list[Token]) -> None:
        if self._foreign:
            self._foreign += 1 if line[0].type in OPENERS else -1 if line[0].type == "END" else 0
            return
        saved = self._stacks()
        mistake = self._nesting(line)
        if mistake is None:
            for position, token in enumerate(line):
                try:
                    self._interactive.feed_token(token)
                except UnexpectedToken as unexpected:
                    mistake = self._explain(line, position, unexpected)
                    break
        if mistake is not None:
            self._mistakes.append(mistake)
            self._restore(saved)
            # The tree is lost anyhow; what is left of it must not be built upon (lark reuses the lists restored here).
            self._interactive.parser_state.parse_conf.callbacks = {}
            self._foreign = int(self._opens(line[0]) and not self._reopen(line[0]))
        if not self._foreign:
            self._track(line[0])
        # Behind a comma a line goes on in the next: after a row of letters that is a slip, and an 'end' still closes.
        later = [token for token in line if token.line != line[0].line]
        if mistake is not None and line[0].type == "ROW" and later and later[0].type == "END":
            self._read_line(later)

    def _stacks(self) -> tuple[list[Any], list[Any]]:
        state = self._interactive.parser_state
        return list(state.state_stack), list(state.value_stack)

    def _restore(self, saved: tuple[list[Any], list[Any]]) -> None:
        state = self._interactive.parser_state
        state.state_stack[:], state.value_stack[:] = saved

    @staticmethod
    def _opens(first: Token) -> bool:
        """Whether a line is to open a block, be it with a word that is nearly the one that does."""
        words = [word for name, word in keywords().items() if name in OPENERS]
        return first.type in OPENERS or (first.type == "NAME" and bool(nearest(str(first).lower(), words, SURE)))

    def _reopen(self, first: Token) -> bool:
        """Opens the block that a faulty line was to open, so that its lines are still read as what they are.

        Blocks of letters that are still open are closed first: their end is what was forgotten. False where no such
        block can stand there.
        """
        for _ in range(self._forgotten_ends(first) or 0):
            self._close()
            self._open.pop()
        if first.type in OPENERS:
            for token in self._lexer.lex(OPENERS[first.type] + "\n"):
                if token.type not in _accepted_by(self._interactive):
                    return False
                self._interactive.feed_token(token)
            return True
        return False

    def _forgotten_ends(self, first: Token) -> int | None:
        """How many open blocks must be closed for a line to stand here; None where that does not help."""
        if first.type not in CLOSES:
            return None
        saved = self._stacks()
        closed = 0
        while first.type not in _accepted_by(self._interactive) and closed < len(self._open):
            if "END" not in _accepted_by(self._interactive):
                break
            self._close()
            closed += 1
        helped = first.type in _accepted_by(self._interactive)
        self._restore(saved)
        return closed if helped else None

    def _close(self) -> None:
        for token in self._lexer.lex("end\n"):
            self._interactive.feed_token(token)

    def _track(self, first: Token) -> None:
        if first.type in OPENERS:
            self._open.append(_Block(first, str(first)))
        elif first.type == "END" and self._open:
            self._open.pop()

    def _nesting(self, line: list[Token]) -> Diagnostic | None:
        depth, terms = 0, 1
        for token in line:
            terms += token.type in ("AND", "OR")
            if terms > MOST_TERMS:
                message = f"the conditions of one line have at most {MOST_TERMS:,} terms"
                return error("CKT105", self._builder.span(token), message, "split the condition")
            if token.type in ("LPAR", "NOT"):
                depth += 1
            elif token.type == "RPAR":
                depth -= 1
            if depth > DEEPEST:
                where = self._builder.span(token)
                return error(
                    "CKT105", where, f"brackets and 'not' are nested deeper than {DEEPEST}", "split the condition"
                )
        return None

    def _unclosed(self, block: _Block) -> Diagnostic:
        where = self._builder.span(block.opener)
        return error("CKT104", where, f"this '{block.word}' has no 'end'", "close it with a line 'end'")

    # Saying what is wrong

    def _explain(self, line: list[Token], position: int, unexpected: UnexpectedToken) -> Diagnostic:
        # An expected set is only exact before reductions; `accepts` tries each word out.
        expected = set(unexpected.accepts or unexpected.expected)
        return (
            self._misplaced(line, position)
            or self._slips.misspelt(line, position)
            or self._slips.crowded(line, position)
            or self._slips.unfitting(line, position, expected)
        )

    def _misplaced(self, line: list[Token], position: int) -> Diagnostic | None:
        """A letter that means nothing, a block that is open or not, a row of letters cut short."""
        token = line[position]
        where = self._builder.span(token)
        if token.type == STRAY:
            return self._slips.stray(token)
        if token.type == "END" and not self._open:
            return error("CKT104", where, "no block is open here for this 'end' to close", "take the line out")
        if not position and self._open and self._forgotten_ends(token) and self._is_cut_short(token):
            opener = self._open[-1].opener
            message = f"the '{opener}' of line {opener.line} is still open here"
            return error("CKT104", where, message, "close it with a line 'end' before this one")
        if line[0].type == "ROW" and position > 1 and (token.type == "_NEWLINE" or token.line != line[0].line):
            message = "the line ends too early: a comma behind a row's letters says how often the row comes"
            comma = self._builder.span(line[1])
            # The comma's word goes on to where the next line begins.
            where = (
                replace(comma, end_column=comma.column + 1) if position == 2 else self._slips.after(line[position - 1])
            )
            return error("CKT101", where, message, "write for example: S.S, 4 times")
        return None

    def _is_cut_short(self, token: Token) -> bool:
        """Whether the end of the innermost block is missing, and not only a word out of place."""
        return token.type in OPENERS or self._open[-1].opener.type in ("LEGEND", "LAYER")

    def _starters(self) -> list[str]:
        accepted = _accepted_by(self._lark.parse_interactive(""))
        inside = {"AT", "BY", "FROM", "THROUGHOUT", "UNTIL", "END"}
        return [word for name, word in keywords().items() if name in accepted | inside]
