"""The kinds of part as the language knows them: their words, which options they take, and how these become parts."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import TYPE_CHECKING

from circuitcheck.diagnostics import Diagnostic, Span, error
from circuitcheck.model.block_type import BlockType, asked
from circuitcheck.model.parts.base import Part
from circuitcheck.model.rules import FULL_POWER

if TYPE_CHECKING:
    from circuitcheck.model.parts.cells import Becoming


class Takes(Enum):
    """What an option's word is followed by."""

    SOURCES = "names of parts"
    DURATION = "a duration"
    COUNT = "a whole number"
    START = "a start"
    FLAG = "nothing"
    PLACE = "the name of a place"
    CHANGE = "on or off, and a chance"


@dataclass(frozen=True, slots=True)
class Option:
    """One option of a kind of part. Bounds are in gt for durations."""

    word: str
    takes: Takes
    meaning: str
    required: bool = False
    default: int | None = None
    least: int = 1
    most: int | None = None
    starts: Mapping[str, int] = field(default_factory=dict)


@dataclass(slots=True)
class Request:
    """What an author asks for in one line: a kind of part by a name, with options already read and bounded."""

    name: str
    span: Span
    sources: dict[str, tuple[str, ...]]
    numbers: dict[str, int]
    start: int | None
    flags: frozenset[str]
    spans: dict[str, Span]
    places: dict[str, str] = field(default_factory=dict)
    changes: list[Becoming] = field(default_factory=list)
    mistakes: list[Diagnostic] = field(default_factory=list)

    def feeds(self, word: str) -> tuple[str, ...]:
        """The sources given after `word`, none where it was left out."""
        return self.sources.get(word, ())

    def refuse(self, words: tuple[str, ...], why: str) -> None:
        """Refuses options that the kind takes, but not beside the others given here."""
        for word in words:
            if word in self.spans:
                self.fail("CKT303", f"'{word}' says nothing here: {why}", "leave it out", word)

    def fail(self, code: str, message: str, hint: str = "", word: str = "") -> None:
        """Adds a mistake, placed at an option's word where one is named."""
        self.mistakes.append(error(code, self.spans.get(word, self.span), message, hint))


@dataclass(frozen=True, slots=True)
class Kind:
    """A word of the language for a part."""

    word: str
    summary: str
    options: tuple[Option, ...]
    build: Callable[[Request], tuple[Part, ...]]
    samples: tuple[Part, ...]
    """One of each sort of part that it makes, which answers for all of that sort when the table of kinds is built."""
    seldom: Callable[[], tuple[Part, ...]] = tuple
    """The same of what few circuits have, so that its file is loaded where one does; the tests ask these samples."""
    block_type: BlockType | None = asked("what it is in a drawing; None if it can't be drawn")
    members: Callable[[frozenset[str]], tuple[str, ...]] = lambda _words: ()
    """What else it makes, as `NAME.member`, given the words of the options used."""
    counted_by: str = ""
    """The option that makes a row of so many parts of it, if there is one."""

    @property
    def usual(self) -> dict[str, int]:
        """The numbers of its options where none are said."""
        return {option.word: option.default for option in self.options if option.default is not None}

    @property
    def is_input(self) -> bool:
        """Whether what it makes is worked from outside and reads nothing."""
        return all(part.verbs and not part.ports() and part.cell is None for part in self.samples)

    def option(self, word: str) -> Option | None:
        """The option of that word, or None where the kind takes none such."""
        return next((option for option in self.options if option.word == word), None)


ON_OFF = {"on": FULL_POWER, "off": 0}


def start_option(meaning: str = "its level at the start", **words: int) -> Option:
    """The `starts` option with the words it takes; on and off where none are named."""
    return Option("starts", Takes.START, meaning, starts=words or ON_OFF)


def from_option(meaning: str, required: bool = True) -> Option:
    """The `from` option: what feeds the part."""
    return Option("from", Takes.SOURCES, meaning, required=required)
