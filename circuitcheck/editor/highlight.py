"""Colours for circuit files: a lexer for Pygments, and a TextMate grammar for editors, both made from the grammar.

`python -m circuitcheck.editor.highlight` writes the TextMate grammar again, to standard output.
"""

from __future__ import annotations

import json
import re
from typing import Any, ClassVar

from pygments.lexer import RegexLexer, bygroups, include
from pygments.token import Comment, Keyword, Name, Number, Punctuation, String, Whitespace

from circuitcheck.language.parse import OPENERS, forms, keywords
from circuitcheck.language.words import DRAWN
from circuitcheck.model.parts import KINDS

CLAIMS = ("always", "never", "assume", "response")
STATES = ("on", "off", "set", "reset", "forbidden", "unknown", "burnt")

GROUPS = {
    "kind of part": (tuple(KINDS), Keyword.Type, "storage.type.circuit"),
    "block": (("end", *(keywords()[name] for name in OPENERS)), Keyword.Declaration, "keyword.control.circuit"),
    "claim": (CLAIMS, Keyword.Declaration, "keyword.control.circuit"),
    "state": (STATES, Keyword.Constant, "constant.language.circuit"),
}
"""The reserved words that look otherwise than the rest: the words, their token in Pygments, their scope in TextMate."""


def _word(words: tuple[str, ...]) -> str:
    """An expression for some reserved words where they are words and no part of a name."""
    name = forms()["NAME"].removeprefix(r"[^\W\d]")
    inside = name[: name.index("]*") + 1]
    return rf"(?:{'|'.join(sorted(words, key=len, reverse=True))})(?!{inside}|\.\w|\.\*)"


def _others() -> tuple[str, ...]:
    grouped = {word for words, _, _ in GROUPS.values() for word in words}
    return tuple(word for word in keywords().values() if word not in grouped)


GOES_ON = r"(?=[ \t]*(?:,|#|$))"
"""Behind a text that a line of a layer's words begins with: nothing more, or another text after a comma."""


def _groups(*tokens: Any) -> Any:
    """What each group of an expression looks as."""
    return bygroups(*tokens)  # type: ignore[no-untyped-call]


def _drawn_block(form: re.Pattern[str]) -> list[Any]:
    """The rules inside a legend or a layer: its lines begin with letters of the author's own."""
    return [
        (r"^([ \t]*)(end)(?=[ \t]*(?:#|$))", _groups(Whitespace, Keyword.Declaration), "#pop"),
        (rf"^([ \t]*)({forms()['TEXT']}){GOES_ON}", _groups(Whitespace, String.Double)),
        (rf"^([ \t]*)(?![ \t])({form.pattern})", _groups(Whitespace, String.Symbol)),
        include("words"),
    ]


class CircuitLexer(RegexLexer):
    """Colours circuit files in pages and terminals that Pygments is used for."""

    name = "Circuit"
    aliases: ClassVar[list[str]] = ["circuit"]
    filenames: ClassVar[list[str]] = ["*.circuit"]
    mimetypes: ClassVar[list[str]] = []
    url = ""

    tokens: ClassVar[dict[str, Any]] = {
        "root": [
            *(
                (rf"^([ \t]*)({keywords()[name]})(?=[ \t]|$)", _groups(Whitespace, Keyword.Declaration), name)
                for name in DRAWN
            ),
            include("words"),
        ],
        **{name: _drawn_block(form) for name, (_, form) in DRAWN.items()},
        "words": [
            (r"[^\S\n]+|\n", Whitespace),
            (forms()["COMMENT"], Comment.Single),
            (forms()["TEXT"], String.Double),
            *((forms()[name], Number) for name in ("PERCENT", "FRACTION", "DURATION")),
            (forms()["NUMBER"], Number.Integer),
            *((_word(words), token) for words, token, _ in GROUPS.values()),
            (_word(_others()), Keyword),
            (forms()["NAME"], Name),
            (r"[(),:]", Punctuation),
        ],
    }


def textmate() -> dict[str, Any]:
    """The TextMate grammar, as plain data."""
    rules = [
        ("comment.line.number-sign.circuit", forms()["COMMENT"]),
        ("string.quoted.double.circuit", forms()["TEXT"]),
        ("constant.numeric.percent.circuit", forms()["PERCENT"]),
        ("constant.numeric.fraction.circuit", forms()["FRACTION"]),
        ("constant.numeric.duration.circuit", forms()["DURATION"]),
        ("constant.numeric.integer.circuit", forms()["NUMBER"]),
        *((scope, _word(words)) for words, _, scope in GROUPS.values()),
        ("keyword.other.circuit", _word(_others())),
        ("variable.other.circuit", forms()["NAME"]),
        ("punctuation.separator.circuit", "[(),:]"),
    ]
    words: list[dict[str, Any]] = [{"name": scope, "match": expression} for scope, expression in rules]
    return {
        "name": "Circuit",
        "scopeName": "source.circuit",
        "fileTypes": ["circuit"],
        "patterns": [*(_block(keywords()[name], form.pattern, words) for name, (_, form) in DRAWN.items()), *words],
    }


def _block(word: str, form: str, words: list[dict[str, Any]]) -> dict[str, Any]:
    """A legend or a layer: its lines begin with letters of the author's own."""
    captured = {"1": {"name": "keyword.control.circuit"}}
    own = {
        "name": "",
        "match": rf"^[ \t]*(?![ \t])(?!{forms()['TEXT']}{GOES_ON})({form})",
        "captures": {"1": {"name": "string.unquoted.circuit"}},
    }
    return {
        "begin": rf"^[ \t]*({word})(?=[ \t]|$)",
        "beginCaptures": captured,
        "end": r"^[ \t]*(end)(?=[ \t]*(?:#|$))",
        "endCaptures": captured,
        "patterns": [own, *words],
    }


if __name__ == "__main__":
    print(json.dumps(textmate(), indent=2))
