"""The tables of the grammar that come with the program are those of its grammar; without them all comes to the same."""

import json
import os
import subprocess
import sys
from pathlib import Path

import lark
import pytest

from circuitcheck.language.builder import Builder
from circuitcheck.language.shipped import shipped
from circuitcheck.language.tables import parser_of, tables_of
from circuitcheck.language.words import WordLexer

ROOT = Path(__file__).parents[2]
GRAMMAR = shipped("circuit.lark")
TABLES = shipped("tables.json")
SLUICE = (ROOT / "circuits" / "sluice.circuit").read_text(encoding="utf-8")


@pytest.fixture
def worked_out(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Each grammar that tables are calculated of from now on."""
    worked_out: list[str] = []
    made = lark.Lark.__init__

    def init(self: lark.Lark, grammar: str, **options: object) -> None:
        worked_out.append(grammar)
        made(self, grammar, **options)

    monkeypatch.setattr(lark.Lark, "__init__", init)
    return worked_out


def test_the_tables_are_those_of_the_grammar() -> None:
    """After a change of the grammar: python -m circuitcheck.language.tables > grammar/tables.json."""
    assert tables_of(GRAMMAR, WordLexer) + "\n" == TABLES


def test_nothing_is_calculated_at_a_start(worked_out: list[str]) -> None:
    parser_of(GRAMMAR, TABLES, WordLexer, Builder()).parse(SLUICE)
    assert worked_out == []


def test_tables_of_another_grammar_are_not_used(worked_out: list[str]) -> None:
    other = GRAMMAR.replace('THROW: "throw"', 'THROW: "toss"')
    parser_of(other, TABLES, WordLexer, Builder())
    assert worked_out == [other]


@pytest.mark.parametrize("change", [("states", 7), ("rules", [{"@": 10**6}]), ("words and rules", [{}] * 10)])
def test_tables_that_lark_does_not_take_are_calculated_again(
    worked_out: list[str], monkeypatch: pytest.MonkeyPatch, change: tuple[str, object]
) -> None:
    parser_of(GRAMMAR, json.dumps({**json.loads(TABLES), change[0]: change[1]}), WordLexer, Builder())
    assert worked_out == [GRAMMAR]


def test_the_tables_say_what_lark_says_of_every_mistake() -> None:
    script = (
        "import sys\n"
        "from circuitcheck.language import parse\n"
        "from circuitcheck.language.load import load_text\n"
        "real = parse.shipped\n"
        "parse.shipped = lambda name: '' if sys.argv[1] == 'fresh' and name == 'tables.json' else real(name)\n"
        "words = open('circuits/sluice.circuit', encoding='utf-8').read().split(' ')\n"
        "for place in range(0, len(words), 9):\n"
        "    print(load_text(' '.join(words[:place] + words[place + 1:])).diagnostics)"
    )
    fresh, kept = (
        subprocess.run(
            [sys.executable, "-c", script, manner],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": "1"},
        ).stdout
        for manner in ("fresh", "kept")
    )
    assert fresh == kept
    assert fresh.count("\n") > 25
