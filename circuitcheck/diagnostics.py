"""What is wrong with a user's file, as values: where it stands, what it is, how to fix it.

Owns the shape of a diagnostic and the search for the nearest name. Knows nothing of circuits or of printing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import islice


@dataclass(frozen=True, slots=True)
class Span:
    """A place in a file. Lines and columns count from 1; `end_column` is one past the last letter.

    >>> print(circuitcheck.Span("mill.circuit", 3, 7, 11))
    mill.circuit:3:7
    """

    file: str
    line: int
    column: int
    end_column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


NOWHERE = Span("", 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Diagnostic:
    """One mistake in a file: code, place, what is wrong, how to fix it. With any, the file can't be used.

    >>> mistake = circuitcheck.verify_text("lamp bell from rop").diagnostics[0]
    >>> mistake.code, mistake.span.line, mistake.span.column
    ('CKT201', 1, 16)
    """

    code: str
    span: Span
    message: str
    hint: str = ""


def error(code: str, span: Span, message: str, hint: str = "") -> Diagnostic:
    """A mistake in a user's file."""
    return Diagnostic(code, span, message, hint)


def article(word: str) -> str:
    """A word with its article: a lever, an analogue input."""
    return f"{'an' if word[:1] in 'aeiou' else 'a'} {word}"


def either(words: Iterable[str]) -> str:
    """Several words as a choice: a, b or c."""
    *most, last = words
    return f"{', '.join(most)} or {last}" if most else last


MOST_COMPARED = 2_000
"""How many known words one is compared with."""


def nearest(word: str, known: Iterable[str], likeness: float = 0.6) -> str:
    """The known word nearest to `word`, or an empty string where none is near; `likeness` goes from 0 to 1."""
    # A hostile word of many thousand letters is near to nothing, and comparing it is slow.
    if len(word) > 100:
        return ""
    import difflib  # only a file with mistakes pays for it

    found = difflib.get_close_matches(word, list(islice(known, MOST_COMPARED)), n=1, cutoff=likeness)
    return found[0] if found else ""


def did_you_mean(word: str, known: Iterable[str], likeness: float = 0.6) -> str:
    """A hint that offers the nearest known word, or an empty string."""
    near = nearest(word, known, likeness)
    return f"did you mean '{near}'?" if near else ""
