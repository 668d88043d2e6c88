"""Whatever a file holds, the program says what is wrong with it and never raises.

`CIRCUITCHECK_FUZZ=N` runs N examples of each test in place of the usual few, for example

    CIRCUITCHECK_FUZZ=20000 pytest tests/language/test_fuzz.py

Mutated circuits are read and not run: a mutation may well ask for a day of gt.
"""

from __future__ import annotations

import os
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import circuitcheck
from circuitcheck.language.load import load_text
from circuitcheck.language.parse import keywords

EXAMPLES = int(os.environ.get("CIRCUITCHECK_FUZZ", "150"))
FOLDER = Path(__file__).parents[2] / "circuits"
FILES = [path.read_text(encoding="utf-8") for path in sorted(FOLDER.glob("*.circuit"))]
WORDS = [
    *sorted(keywords().values()),
    *["rope", "pond.1", "pond.3", "pond.*", "gate", "gate.inverse", "race", "T3", "C5"],
    *["0", "1", "7", "15", "99999999999", "0gt", "1gt", "2t", "1.5t", "0.33t", "1s", "9999999s"],
    *['"a title"', '"b"', '""', ",", "(", ")", ":", "\n", "\n", "\n", "\nend\n", "# a remark\n", '"', ";", "\u202e"],
]
LINES = [line for text in FILES for line in text.split("\n")]

quick = settings(max_examples=EXAMPLES, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow])


def is_told(text: str) -> None:
    report = circuitcheck.verify_text(text, folder=FOLDER)
    assert (int(report.exit) == 2) is bool(report.diagnostics)


@quick
@given(st.text())
def test_any_text_is_read_or_told(text: str) -> None:
    is_told(text)


@quick
@given(st.lists(st.sampled_from(WORDS), max_size=40))
def test_any_words_of_the_language_are_read_or_told(words: list[str]) -> None:
    is_told(" ".join(words))


@quick
@given(st.lists(st.sampled_from(LINES), max_size=15))
def test_any_lines_of_good_files_are_read_or_told(lines: list[str]) -> None:
    loaded = load_text("\n".join(lines), folder=FOLDER)
    assert loaded.valid is not bool(loaded.diagnostics)


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """A good file with a few of its letters, words or lines taken out, doubled, exchanged or replaced."""
    text = draw(st.sampled_from(FILES))
    for _ in range(draw(st.integers(1, 4))):
        unit = draw(st.sampled_from(["", " ", "\n"]))
        pieces = list(text) if not unit else text.split(unit)
        one, other = draw(st.integers(0, len(pieces) - 1)), draw(st.integers(0, len(pieces) - 1))
        how = draw(st.sampled_from(["delete", "double", "swap", "replace"]))
        if how == "delete":
            del pieces[one]
        elif how == "double":
            pieces.insert(other, pieces[one])
        elif how == "swap":
            pieces[one], pieces[other] = pieces[other], pieces[one]
        else:
            pieces[one] = draw(st.characters()) if not unit else draw(st.sampled_from(WORDS))
        text = unit.join(pieces) or " "
    return text


@quick
@given(mutated())
def test_any_mutation_of_a_good_file_is_read_or_told(text: str) -> None:
    loaded = load_text(text, folder=FOLDER)
    assert loaded.valid is not bool(loaded.diagnostics)
    assert not (loaded.diagnostics and loaded.studies)
