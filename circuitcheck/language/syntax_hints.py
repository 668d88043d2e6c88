"""What is wrong in a line that can't be read, in words, and how to fix it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from lark import Token

from circuitcheck.diagnostics import Diagnostic, Span, did_you_mean, error
from circuitcheck.language.renamed import OPTIONS, renamed
from circuitcheck.model.duration import UNITS

SURE = 0.75
"""How like two words must be (0 to 1) before one is offered where the other may well be a name."""
SYNONYMS = {
    "if": "say 'when'",
    "inverter": "say 'torch'",
    "switch": "say 'lever'",
    "wire": "say 'dust' for a line, 'junction' for where lines meet",
}
"""Words that one may reach for, with the language's own."""
STRAY_LETTERS = {
    **dict.fromkeys("“”„«»'‘’", 'texts stand in straight quotes: "…"'),
    **dict.fromkeys("<>=≥≤", "levels are compared in words: 'at least 7', 'at most 7', 'is 7'"),
    **dict.fromkeys("&|!", "conditions are joined in words: 'and', 'or', 'not'"),
    ".": "a dot stands inside a name only, as in pond.1",
    "-": "names are joined with _, and no amount is below 0",
}
RELATIONS = {"FOLLOWS": ("", " off"), "INVERTS": (" off", "")}
"""For each word with one signal on either side, what one of them is while the other is on, and while it is off."""
TESTS = ("ON", "OFF", "AT", "IS", "SET", "RESET", "RISES", "FALLS", "CHANGES")
CONDITION = frozenset({"AND", "OR", "NOT", "LPAR", *TESTS})
"""What makes more than a signal of a name."""
LONGEST = 60
"""How many letters of a condition are repeated in a message."""
FRIENDLY = {
    "LETTER": "a letter",
    "ROW": "a row of letters",
    "NAME": "a name",
    "NUMBER": "a number",
    "DURATION": "a duration",
    "TEXT": 'a text in "quotes"',
}


class SyntaxHints:
    """Words for slips. `starters` says which words may begin a line; it is asked only once one is looked for."""

    def __init__(
        self, span: Callable[[Token], Span], keywords: Mapping[str, str], starters: Callable[[], list[str]]
    ) -> None:
        self._span = span
        self._keywords = keywords
        self._starters = starters

    def misspelt(self, line: list[Token], position: int) -> Diagnostic | None:
        """An amount that is none, or a line that begins with nearly a word of the language."""
        token = line[position]
        if position and token.type != "_NEWLINE" and line[position - 1].type in ("DURATION", "NUMBER"):
            if line[position - 1].end_pos == token.start_pos:
                return self._misspelt_amount(line[position - 1], token)
            if token in UNITS:
                return error(
                    "CKT102",
                    self._span(token),
                    "a unit follows its number without a blank",
                    f"write {line[position - 1]}{token}",
                )
        if line[0].type == "NAME" and position > 0:
            near = SYNONYMS.get(str(line[0])) or did_you_mean(str(line[0]).lower(), self._starters(), SURE)
            if near or line[1].type != "NAME":
                return error("CKT101", self._span(line[0]), f"no line begins with '{line[0]}'", near)
        return None

    def crowded(self, line: list[Token], position: int) -> Diagnostic | None:
        """A condition where `follows` or `inverts` takes one signal, with the claims that say it of a condition."""
        middle = next((place for place, word in enumerate(line) if word.type in RELATIONS), None)
        if middle is None:
            return None
        ends = ("SETTLED", "WITHIN", "_COMMA", "_NEWLINE")
        end = next(place for place in range(middle, len(line)) if line[place].type in ends)
        sides = (line[_body_begins(line, middle) : middle], line[middle + 1 : end])
        side, other = sides if position <= middle else sides[::-1]
        if not (middle <= position < end and CONDITION & {word.type for word in side}):
            return None
        condition = _joined(side)
        limit = next((str(line[at + 1]) for at in range(end, len(line) - 1) if line[at].type == "WITHIN"), "T")
        while_on, while_off = RELATIONS[line[middle].type]
        said, signal, negation = condition, _joined(other), f"not ({condition})"
        if len(condition) > LONGEST or [word.type for word in other] != ["NAME"]:
            said, signal, limit, negation = "CONDITION", "X", "T", "not (CONDITION)"
        hint = (
            f"claim it in two lines: when {said} then {signal}{while_on} within {limit} unless {negation}; "
            f"when {negation} then {signal}{while_off} within {limit} unless {said}"
        )
        where = replace(self._span(side[0]), end_column=self._span(side[-1]).end_column)
        shown = condition if len(condition) <= LONGEST else condition[: LONGEST - 1] + "…"
        message = f"one signal belongs on each side of '{line[middle]}', and '{shown}' is a condition"
        return error("CKT304", where, message, hint)

    def unfitting(self, line: list[Token], position: int, expected: set[str]) -> Diagnostic:
        """A word that can't stand there, with what could."""
        token = line[position]
        where = self._span(token)
        if token.type == "_NEWLINE":
            where = self.after(line[position - 1]) if position else where
            return error("CKT101", where, "the line ends too early", self._near_before(line, position, expected))
        if token in OPTIONS:
            return renamed(str(token), OPTIONS[token], where)
        if token.type == "NUMBER" and "DURATION" in expected:
            return error("CKT306", where, f"'{token}' needs a unit", f"write {token}t, {token}gt or {token}s")
        if token.type == "NUMBER" and "NAME" in expected:
            return error("CKT103", where, "a name does not begin with a digit", "begin it with a letter")
        if line[0].type == "LETTER" and line[position - 1].type != "NAMED" and token in self._keywords.values():
            # A shape, as that of dust, is all that a name could be here.
            return error("CKT101", where, f"'{token}' says nothing of what is drawn", "leave it out")
        if "NAME" in expected and token in self._keywords.values():
            return error(
                "CKT103", where, f"'{token}' is a word of the language and can't be a name", "choose another name"
            )
        if {token.type, *(word.type for word in line[:position])} >= {"AND", "OR"}:
            return error(
                "CKT106", where, "'and' and 'or' are mixed, which reads two ways", "put brackets around one of them"
            )
        near = SYNONYMS.get(str(token)) or did_you_mean(str(token), [self._keywords.get(name, "") for name in expected])
        shown = "," if token.type == "_COMMA" else token
        where = replace(where, end_column=where.column + 1) if token.type == "_COMMA" else where
        return error(
            "CKT101", where, f"'{shown}' can't stand here", near or self._near_before(line, position, expected)
        )

    def _misspelt_amount(self, number: Token, rest: Token) -> Diagnostic:
        span = self._span(number)
        whole = replace(span, end_column=self._span(rest).end_column)
        return error(
            "CKT102",
            whole,
            f"'{number}{rest}' is neither an amount nor a name",
            "units are gt, t and s; names begin with a letter",
        )

    def _near_before(self, line: list[Token], position: int, expected: set[str]) -> str:
        """A hint: the word before the fault, if it is nearly a word of the language; else what would fit."""
        before = line[position - 1] if position else None
        if before is not None and before.type == "NAME" and len(before) > 3:
            near = SYNONYMS.get(str(before)) or did_you_mean(str(before), self._keywords.values(), SURE)
            if near:
                return near
        depth = sum((word.type == "LPAR") - (word.type == "RPAR") for word in line[:position])
        return self._wanted(expected - ({"RPAR"} if depth <= 0 else set()))

    def after(self, token: Token) -> Span:
        """The place right behind a word."""
        span = self._span(token)
        return replace(span, column=span.end_column, end_column=span.end_column + 1)

    def stray(self, token: Token) -> Diagnostic:
        """A letter that means nothing where it stands."""
        where = self._span(token)
        if token == '"':
            return error("CKT102", where, "this text is not closed", 'add a " at its end')
        hint = STRAY_LETTERS.get(str(token), "names are letters, digits and _")
        return error("CKT102", where, "this letter means nothing here", hint)

    def _wanted(self, expected: set[str]) -> str:
        names = [FRIENDLY.get(name) or self._quoted(name) for name in sorted(expected)]
        known = [name for name in dict.fromkeys(names) if name]
        if "_NEWLINE" in expected and len(known) > 8:
            return "the line could end here, and something new begins on a line of its own"
        if not known or len(known) > 8:
            return "the language reference shows how this line is made"
        return "expected " + (known[0] if len(known) == 1 else ", ".join(known[:-1]) + " or " + known[-1])

    def _quoted(self, name: str) -> str:
        signs = {"_COMMA": "a comma", "_NEWLINE": "the end of the line", "LPAR": "'('", "RPAR": "')'", "COLON": "':'"}
        if name in signs:
            return signs[name]
        word = self._keywords.get(name)
        return f"'{word}'" if word else ""


def _body_begins(line: list[Token], before: int) -> int:
    """Where what is claimed begins in a line: behind its title and what is said of its verdict, or `throughout`."""
    begins = 0
    for place, word in enumerate(line[:before]):
        if word.type in ("TEXT", "THROUGHOUT", "COLON"):
            begins = place + 1
        elif word.type == "BECAUSE":
            begins = place + 2
    return begins


def _joined(words: list[Token]) -> str:
    """Words of a condition as they would be written."""
    return " ".join(words).replace("( ", "(").replace(" )", ")")
