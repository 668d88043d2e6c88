"""What all lines of the syntax tree are made of: words where they stand, amounts, chances, and the options of parts."""

from __future__ import annotations

from enum import Enum
from typing import NamedTuple

from circuitcheck.diagnostics import Span


class Word(NamedTuple):
    """A name, a keyword or a quoted text (without its quotes) where it stands."""

    text: str
    span: Span


class AmountForm(Enum):
    """How an amount is written."""

    DURATION = "duration"
    NUMBER = "number"
    NAME = "name"


class Amount(NamedTuple):
    """A duration, a bare number, or the name of a given value."""

    form: AmountForm
    text: str
    span: Span


class Fraction(NamedTuple):
    """A chance, as `3/4096`."""

    text: str
    span: Span


class Change(NamedTuple):
    """`becomes on "thaws" chance 1/500 above 8`: on or off, its title, its chance, and below or above which light."""

    to: Word
    title: Word | None
    chance: Fraction
    side: Word | None
    level: Word | None


class Option(NamedTuple):
    """One option of a part: its word and what follows it; a flag has nothing behind it."""

    word: Word
    names: tuple[Word, ...] = ()
    amount: Amount | None = None
    start: Word | None = None
    place: Word | None = None
    change: Change | None = None
