"""Highlighting agrees with the grammar, word for word: in Pygments, and by the TextMate grammar that is shipped."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from pygments.lexers import get_lexer_by_name, get_lexer_for_filename
from pygments.token import Comment, Error, Keyword, Name, Number, Punctuation, String, Whitespace, _TokenType

from circuitcheck.editor.highlight import CircuitLexer, textmate
from circuitcheck.language.parse import keywords, words_of
from circuitcheck.language.shipped import shipped

ROOT = Path(__file__).parents[2]
TEXTS = [path.read_text(encoding="utf-8") for path in sorted((ROOT / "circuits").glob("*.circuit"))]
PAGE = (ROOT / "grammar" / "README.md").read_text(encoding="utf-8")
TEXTS += re.findall(r"^```circuit(?:-fails)?\n(.*?)^```$", PAGE, re.MULTILINE | re.DOTALL)
TEXTS += [
    'lever on.2, set_up, gate.set, ends, öffnen, of\u0301f\ncheck "# no remark"  # "no text"\n  at 2t on.2 is 7\nend\n'
]

LOOKS: dict[str, tuple[_TokenType, str]] = {
    "NAME": (Name, "variable"),
    "NUMBER": (Number, "constant.numeric"),
    "DURATION": (Number, "constant.numeric"),
    "PERCENT": (Number, "constant.numeric"),
    "FRACTION": (Number, "constant.numeric"),
    "TEXT": (String, "string"),
    "LETTER": (String, "string"),
    "ROW": (String, "string"),
}
"""How words look that are not reserved: their token in Pygments, and their scope in TextMate."""


def words(text: str) -> Iterator[tuple[int, str, str]]:
    """Every word of a text but its line ends and commas: where it begins, the word, its terminal."""
    for word in words_of(text):
        if word.type not in ("_NEWLINE", "_COMMA"):
            yield word.start_pos or 0, str(word), word.type


def by_pygments(text: str) -> dict[int, tuple[str, _TokenType]]:
    return {at: (word, kind) for at, kind, word in CircuitLexer().get_tokens_unprocessed(text) if kind != Whitespace}


def by_textmate(text: str) -> dict[int, tuple[str, str]]:
    """What an editor makes of the grammar: at each place the first rule that matches there, else the next letter.

    A rule with a beginning and an end opens rules of its own; where one captures a group, that is what looks so.
    """
    found: dict[int, tuple[str, str]] = {}
    at, open_rules = 0, [textmate()["patterns"]]
    ends: list[dict[str, Any]] = []
    while at < len(text):
        closing = [{**ends[-1], "match": ends[-1]["end"], "captures": ends[-1]["endCaptures"]}] if ends else []
        met = next((each for each in map(_matching(text, at), (*closing, *open_rules[-1])) if each is not None), None)
        if met is None or not met[1].group():
            at += 1
            continue
        rule, match = met
        captured = rule.get("captures") or rule.get("beginCaptures")
        found[match.start(1) if captured else at] = (match[1] if captured else match[0], _scope(rule, captured))
        at = match.end()
        if closing and rule is closing[0]:
            open_rules.pop()
            ends.pop()
        elif "begin" in rule:
            open_rules.append(rule["patterns"])
            ends.append(rule)
    return found


def _scope(rule: dict[str, Any], captured: dict[str, Any] | None) -> str:
    return str(captured["1"]["name"] if captured else rule["name"])


def _matching(text: str, at: int) -> Callable[[dict[str, Any]], tuple[dict[str, Any], re.Match[str]] | None]:
    def matching(rule: dict[str, Any]) -> tuple[dict[str, Any], re.Match[str]] | None:
        match = re.compile(rule.get("match") or rule["begin"], re.MULTILINE).match(text, at)
        return None if match is None else (rule, match)

    return matching


def _within(kind: _TokenType, wider: _TokenType) -> bool:
    return kind[: len(wider)] == wider


@pytest.mark.parametrize("text", TEXTS)
def test_every_word_looks_as_what_it_is(text: str) -> None:
    pygments, editor = by_pygments(text), by_textmate(text)
    assert not [word for word, kind in pygments.values() if kind is Error]
    for at, word, terminal in words(text):
        token, scope = LOOKS.get(terminal, (Punctuation if word in "():" else Keyword, ""))
        assert pygments[at][0] == word
        assert _within(pygments[at][1], token)
        assert editor[at][0] == word
        assert editor[at][1].startswith(
            scope or ("punctuation" if word in "():" else ("keyword", "storage", "constant.language"))
        )


def test_remarks_look_like_remarks() -> None:
    assert by_pygments("lever a  # if\n")[9] == ("# if", Comment.Single)
    assert by_textmate("lever a  # if\n")[9][1].startswith("comment")


def test_every_reserved_word_is_highlighted() -> None:
    for word in keywords().values():
        assert _within(by_pygments(word)[0][1], Keyword)
        assert by_textmate(word)[0] == (word, by_textmate(word)[0][1])


def test_pygments_finds_the_lexer_once_the_program_is_installed() -> None:
    assert isinstance(get_lexer_by_name("circuit"), CircuitLexer)
    assert isinstance(get_lexer_for_filename("mill.circuit"), CircuitLexer)


def test_the_grammar_for_editors_that_is_shipped_is_made_from_the_grammar() -> None:
    assert json.loads(shipped("circuit.tmLanguage.json")) == textmate()
