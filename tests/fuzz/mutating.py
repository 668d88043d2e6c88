"""New inputs out of old ones, at the level of lines, words and, seldom, letters of the language."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Sequence

from circuitcheck.language.parse import keywords

from .forms import DURATIONS, FORMS, HEADS, NUMBERS, Names, filled
from .seeds import LONGEST, seeds, statements

WORD = re.compile(r'"[^"\n]*"|[^\W\d]\w*(?:\.(?:\w+|\*))*|[0-9]+(?:\.[0-9]+)?\w*|[ \t]+|.', re.DOTALL)
LETTERS = ['"', "#", "\n", "\t", ",", "(", ")", ":", ".", "*", ";", "-", "<", "\r", "\0", "\u202e", "\udcff", "é", "²"]
LETTERS += [
    "א",
    "\u0301",
    "\u00a0",
    "\ufeff",
    "\U0001f300",
    "_",
    "0",
    "9",
    "\x1b",
    "\u2028",
    "\x0c",
    "'",
    "%",
    "\\",
    "{",
]

ALIKE = (
    "on off",
    "set reset",
    "rises falls changes",
    "and or",
    "least most",
    "pulse gap",
    "short long",
    "compare subtract",
    "always never",
    "inverts follows",
    "lever plate button analogue",
    "torch repeater lamp dust block piston",
    "from data joins watches hears",
    "at by",
    "delay pulse rearm travel length",
    "until unless",
    "fades sticky fixed grows",
    "own_block travel",
    "hears_itself head_hears",
    "newer newest older",
    "north south east west above below",
    "day dusk night dawn",
    "leaf water air aside solid half glass",
)
"""Words that can often stand in each other's place."""


MOST_KEPT = 3000
"""How many good files are kept to begin from."""
FROM_GOOD = 0.8
"""How often a good file is bent in place of what the fuzzer offers, which is mostly a file with many mistakes."""


class Mutator:
    """Bends texts. All it does depends on the seed of each call, and on the good files it was explained for before."""

    def __init__(self) -> None:
        self._keywords = sorted(keywords().values())
        self._reserved = frozenset(self._keywords)
        self._alike = {word: group.split() for group in ALIKE for word in group.split()}
        self._lines = sorted({line for text in seeds() for line in text.split("\n") if line.strip()})
        self._statements = sorted({each for text in seeds() for each in statements(text)})
        self._random = random.Random(0)
        self._good: list[str] = []
        gentle: list[Callable[[str], str]] = [self._another_of_its_kind, self._new_statement]
        some: list[Callable[[str], str]] = [self._statements_changed, self._borrowed, self._window, self._lines_changed]
        self._ways = [*gentle * 5, *[self._redrawn] * 4, *some * 2, self._words_changed, self._letters_changed]

    def mutate(self, data: bytes, most: int, seed: int) -> bytes:
        """A text bent in a few ways, with no more than `most` bytes."""
        self._random = random.Random(seed)
        text = as_text(data)
        if self._good and self._random.random() < FROM_GOOD:
            text = min((self._random.choice(self._good) for _ in range(2)), key=len)
        for _ in range(self._random.choice((1, 1, 1, 1, 2, 3))):
            text = self._random.choice(self._ways)(text)
        return self._fitted(text, most)

    def keep(self, text: str) -> None:
        """A good file from which something new came: others are made out of it."""
        if len(self._good) < MOST_KEPT:
            self._good.append(text)
        else:
            self._good[self._random.randrange(MOST_KEPT)] = text

    def cross(self, one: bytes, other: bytes, most: int, seed: int) -> bytes:
        """The first statements of one text with some lines of another behind them."""
        self._random = random.Random(seed)
        first, second = as_text(one).split("\n"), as_text(other).split("\n")
        begin, end = self._stretch(second)
        cut = self._random.randint(0, len(first))
        return self._fitted("\n".join([*first[:cut], *second[begin:end], *first[cut:]]), most)

    def _fitted(self, text: str, most: int) -> bytes:
        most = min(most, LONGEST)
        lines = text.split("\n")
        while len(lines) > 1 and len(as_bytes("\n".join(lines))) > most:
            begin = self._random.randrange(len(lines))
            del lines[begin : begin + 1 + len(lines) // 8]
        return as_bytes("\n".join(lines))[:most]

    def _stretch(self, items: Sequence[str]) -> tuple[int, int]:
        begin = self._random.randint(0, max(len(items) - 1, 0))
        return begin, begin + self._random.choice((1, 1, 2, 4, 8))

    # Gentle ways: what comes out is often a good file

    def _another_of_its_kind(self, text: str) -> str:
        """A word exchanged for another that could stand in its place."""
        words = WORD.findall(text)
        places = [place for place, word in enumerate(words) if self._exchangeable(word)]
        for place in self._random.sample(places, min(len(places), self._random.choice((1, 1, 2)))):
            words[place] = self._akin(words[place], text)
        return "".join(words)

    def _exchangeable(self, word: str) -> bool:
        if word in self._reserved:
            return word in self._alike
        return word[0].isalnum() or word[0] == '"'

    def _akin(self, word: str, text: str) -> str:
        if word[0] == '"':
            return self._random.choice(['"a title"', '""', f'"{self._random.randrange(9)}"', '"gates.circuit"'])
        if word.isdecimal():
            return self._random.choice(NUMBERS)
        if word[0].isdecimal():
            return Names(text, self._random).filling("d")
        if word not in self._reserved:
            return Names(text, self._random).any()
        return self._random.choice(self._alike[word] if self._random.random() < 0.9 else self._keywords)

    def _new_statement(self, text: str) -> str:
        """A new line or block in a place where such a one can stand."""
        kind = self._random.choice(("part", "part", "claim", "line", "line", "block"))
        lines = text.split("\n")
        inside = [place for place, line in enumerate(lines, 1) if line.lstrip().startswith(("check", "at ", "by "))]
        if kind == "line" and not inside:
            kind = "block"
        form = self._random.choice(FORMS[kind])
        if kind == "claim":
            form = self._random.choice(HEADS) + form
        elif kind == "line" and self._random.random() < 0.2:
            form = "throughout " + self._random.choice(FORMS["claim"])
        lines.insert(
            self._random.choice(inside if kind == "line" else [0, len(lines)]), filled(form, text, self._random)
        )
        return "\n".join(lines)

    def _redrawn(self, text: str) -> str:
        """Some letters of what is drawn exchanged for others of its legend; where nothing is drawn, another word."""
        letters = re.findall(r"^[ \t]+(\S)[ \t]+\w", text, re.MULTILINE)
        rows = [
            row
            for block in re.findall(r"^[ \t]*layer.*\n((?:.*\n)*?)[ \t]*end", text, re.MULTILINE)
            for row in block.split("\n")
        ]
        drawn = [row for row in rows if row.strip()]
        if not drawn or not letters:
            return self._another_of_its_kind(text)
        row = self._random.choice(drawn)
        changed = list(row)
        for place in self._random.sample(range(len(row)), min(len(row), self._random.choice((1, 1, 2, 4)))):
            if not row[place].isspace():
                changed[place] = self._random.choice(letters)
        return text.replace(row, "".join(changed), self._random.choice((1, 1, 1, -1)))

    # Rough ways: what comes out is mostly a mistake

    def _lines_changed(self, text: str) -> str:
        return "\n".join(self._changed(text.split("\n"), self._lines))

    def _words_changed(self, text: str) -> str:
        return "".join(self._changed(WORD.findall(text), [*self._keywords, *NUMBERS, *DURATIONS, "\n"], " "))

    def _letters_changed(self, text: str) -> str:
        return "".join(self._changed(list(text), LETTERS))

    def _changed(self, items: list[str], others: Sequence[str], between: str = "") -> list[str]:
        """Some items dropped, doubled, moved, replaced, or a new one put among them."""
        begin, end = self._stretch(items)
        place = self._random.randint(0, len(items))
        how = self._random.randrange(5)
        if how == 0:
            return items[:begin] + items[end:]
        if how == 1:
            return items[:place] + items[begin:end] + items[place:]
        if how == 2:
            rest = items[:begin] + items[end:]
            return rest[:place] + items[begin:end] + rest[place:]
        new = self._random.choice(others)
        return [*items[:place], f"{between}{new}{between}", *items[place + (how == 3) :]]

    def _borrowed(self, text: str) -> str:
        """A statement of a good file put in, mostly where it can stand."""
        lines = text.split("\n")
        place = self._random.choice((0, len(lines), self._random.randint(0, len(lines))))
        lines.insert(place, self._random.choice(self._statements))
        return "\n".join(lines)

    def _statements_changed(self, text: str) -> str:
        return "\n".join(self._changed(statements(text), self._statements))

    def _window(self, text: str) -> str:
        """A few statements taken out whole: what keeps inputs from growing."""
        lines = text.split("\n")
        begin = self._random.randrange(len(lines))
        return "\n".join(lines[:begin] + lines[begin + self._random.randint(1, max(1, len(lines) // 2)) :])


def as_text(data: bytes) -> str:
    """An input as text. Each byte that is no UTF-8 becomes half a letter, so that nothing is refused early."""
    return data.decode("utf-8", "surrogateescape")


def as_bytes(text: str) -> bytes:
    """The other way round."""
    return text.encode("utf-8", "surrogateescape")
