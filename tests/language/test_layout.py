"""The canonical layout changes how a file looks and nothing else, and what is in it stays in it."""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lark import Lark
from lark.parsers.lalr_interactive_parser import InteractiveParser

from circuitcheck.diagnostics import Span
from circuitcheck.language.layout import laid_out
from circuitcheck.language.parse import keywords, parse, words_of
from circuitcheck.language.shipped import shipped

ROOT = Path(__file__).parents[2]
CIRCUITS = sorted((ROOT / "circuits").glob("*.circuit"))
PAGES = "".join((ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "grammar/README.md"))
EXAMPLES = re.findall(r"^```circuit(?:-fails)?\n(.*?)^```$", PAGES, re.MULTILINE | re.DOTALL)

SAMPLES = {
    "NAME": ["rope", "pond.1", "pond.*", "gate.inverse", "söll", "x" * 40],
    "NUMBER": ["0", "7", "15"],
    "DURATION": ["2t", "3gt", "1.5s"],
    "PERCENT": ["99%", "0.1%"],
    "FRACTION": ["3/4096", "80/32768"],
    "TEXT": ['"a  title"', '"# no comment"', '""'],
    "LPAR": ["("],
    "RPAR": [")"],
    "COLON": [":"],
    "LETTER": [".", "S", "e", "~", "1"],
    "ROW": ["S..-", "S . .  -", "ends", "1-1"],
    "_COMMA": [",", " ,  ", ",\n", ", # why\n\n  # more\n\t"],
    "_NEWLINE": ["\n", " # behind\n", "\n\n\n", "\n  # alone\n", "#\n\n# two\n\n  # three\n  "],
}


def bare(value: object) -> object:
    """A syntax tree without the places of its words."""
    if isinstance(value, Span):
        return None
    return (type(value).__name__, *map(bare, value)) if isinstance(value, tuple) else value


def tree_of(text: str) -> object:
    file, mistakes = parse(text, "mill.circuit")
    assert not mistakes
    assert file is not None
    return bare(file.statements)


def comments_of(text: str) -> list[str]:
    found = [word for word in words_of(text) if word.type in ("_NEWLINE", "_COMMA")]
    return [each.strip() for word in found for each in re.findall(r"#[^\n]*", str(word))]


@pytest.fixture(scope="session")
def parser() -> Lark:
    return Lark(shipped("circuit.lark"), parser="lalr")


def walked(parser: Lark, choices: random.Random) -> str:
    """A text of the language, made by walking its parser and taking any word that it accepts."""
    walk = parser.parse_interactive("")
    known, text = keywords(), ""
    for _ in range(choices.randint(1, 60)):
        accepted = sorted(_accepted(walk) - {"$END"})
        # Options and conditions may go on for ever: without a push onwards, most lines would be of one kind.
        if choices.random() < 0.6:
            accepted = [kind for kind in accepted if kind not in ("AND", "OR", "LPAR", "NOT")] or accepted
        # What may stand at a line's end alone would seldom be come to.
        late = [kind for kind in accepted if kind in ("WITHIN", "UNLESS")]
        accepted = late if late and choices.random() < 0.4 else accepted
        kind = "_NEWLINE" if "_NEWLINE" in accepted and choices.random() < 0.4 else choices.choice(accepted)
        _feed(walk, kind)
        text += choices.choice(SAMPLES.get(kind) or [known.get(kind, "")]) + choices.choice([" ", "  ", "\t"])
    return _ended(walk, known, text)


ACCEPTED: dict[tuple[int, ...], frozenset[str]] = {}
"""What the parser of the session accepts, by its stack of states: it tries each word on a copy of itself."""


def _accepted(walk: InteractiveParser) -> frozenset[str]:
    stack = tuple(walk.parser_state.state_stack)
    if stack not in ACCEPTED:
        ACCEPTED[stack] = frozenset(walk.accepts())  # type: ignore[no-untyped-call]
    return ACCEPTED[stack]


def _feed(walk: InteractiveParser, kind: str) -> None:
    from lark import Token

    walk.feed_token(Token(kind, ""))


def _ended(walk: InteractiveParser, known: dict[str, str], text: str) -> str:
    """The text brought to an end on a shortest way: what is half said is finished, blocks are closed."""
    first = ("$END", "END", "_NEWLINE", "RPAR", "NAME", "DURATION", "NUMBER", "TEXT", "LPAR")
    for _ in range(60):
        accepted = _accepted(walk)
        kind = next((each for each in first if each in accepted), None) or min(accepted - {"AND", "OR"} or accepted)
        if kind == "$END":
            return text
        _feed(walk, kind)
        text += {"_NEWLINE": "\n"}.get(kind, SAMPLES.get(kind, [known.get(kind, "")])[0]) + " "
    raise AssertionError(f"no end found for {text!r}")


@settings(max_examples=400, deadline=None, database=None)
@given(seed=st.integers(0, 10**9))
def test_any_text_of_the_language_means_the_same_in_the_layout(parser: Lark, seed: int) -> None:
    """Parse, print, parse: the same tree; the same comments in the same order; and once is enough."""
    text = walked(parser, random.Random(seed))
    laid, mistakes = laid_out(text, "mill.circuit")
    assert not mistakes
    assert tree_of(laid) == tree_of(text)
    assert comments_of(laid) == comments_of(text)
    assert laid_out(laid, "mill.circuit") == (laid, [])


def test_the_walk_comes_to_every_word_of_the_language(parser: Lark) -> None:
    """Without this, the test above might pass over half of the language."""
    lacking, seeds = set(keywords()), iter(range(2_400))
    while lacking:
        seed = next(seeds, None)
        assert seed is not None, lacking
        lacking -= {word.type for word in words_of(walked(parser, random.Random(seed)))}


@pytest.mark.parametrize("path", CIRCUITS, ids=lambda path: path.name)
def test_the_demo_circuits_stand_in_the_layout(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert laid_out(text, str(path)) == (text, [])


@pytest.mark.parametrize("text", EXAMPLES)
def test_every_example_of_the_pages_stands_in_the_layout(text: str) -> None:
    assert laid_out(text, "mill.circuit") == (text, [])


@pytest.mark.parametrize("text", EXAMPLES)
def test_an_example_with_every_blank_doubled_and_no_indents_comes_back_to_the_layout(text: str) -> None:
    lines = [line.lstrip() for line in text.split("\n")]
    loose = "\n".join(re.sub(r'("[^"]*"|#.*)| ', lambda met: met[1] or "  ", line) for line in lines)
    assert laid_out(loose, "mill.circuit")[0] == text


def test_columns_blocks_and_comments() -> None:
    text = (
        "\n\nlever rope\nrepeater   winch from rope delay 2t # slow\n lamp open from winch\n\n\n\n# done\n"
        'check "a" given w 2t fails because T3\nat 5t rope on,\n   press bell\n'
        "from 8t to 10t expect open\n# late\nend\n"
        'never "x" open\nalways "longer" for each pond: not (open and  rope)'
    )
    assert laid_out(text, "mill.circuit")[0] == (
        "lever     rope\n"
        "repeater  winch  from rope  delay 2t  # slow\n"
        "lamp      open   from winch\n"
        "\n"
        "# done\n"
        'check "a"  given w 2t  fails because T3\n'
        "  at 5t           rope on,\n"
        "      press bell\n"
        "  from 8t to 10t  expect open\n"
        "  # late\n"
        "end\n"
        'never  "x"       open\n'
        'always "longer"  for each pond:  not (open and rope)\n'
    )


def test_a_text_with_mistakes_is_left_as_it_is() -> None:
    text = "lever   rope\nlamp bell form rope\n"
    laid, mistakes = laid_out(text, "mill.circuit")
    assert laid == text
    assert [each.code for each in mistakes] == ["CKT101"]
