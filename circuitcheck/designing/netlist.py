"""A netlist of torches and repeaters, as it is searched for."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from typing import NamedTuple

TORCH = "torch"
REPEATER = "repeater"
DELAYS = (1, 2, 3, 4)
"""The delays that a repeater has (t)."""
GT_A_TICK = 2


class Kind(NamedTuple):
    """What a part is, and its delay (t)."""

    word: str
    delay: int = 1

    @property
    def options(self) -> str:
        """What follows its sources on its line."""
        return f"  delay {self.delay}t" if self.word == REPEATER else ""


Words = Mapping[str, str]
"""Of each part that is searched for, by its name, what it is."""


class Netlist(NamedTuple):
    """Parts with a wait, and what reads them."""

    kinds: tuple[tuple[str, Kind], ...]
    sources: tuple[tuple[str, tuple[str, ...]], ...]
    """Of each of these parts, and of each thing that is read, what powers it."""

    @property
    def parts(self) -> int:
        """How many parts with a wait it has."""
        return len(self.kinds)

    @property
    def ticks(self) -> int:
        """The sum of their delays (t)."""
        return sum(kind.delay for _, kind in self.kinds)

    def without(self, reader: str, source: str) -> Netlist | None:
        """The netlist without one source; None where nothing would be left to power the reader or be powered."""
        fewer = {name: tuple(each for each in read if (name, each) != (reader, source)) for name, read in self.sources}
        idle = all(source not in read for name, read in fewer.items() if name != source)
        if not fewer[reader] or (idle and source in dict(self.kinds)):
            return None
        return self._replace(sources=tuple(fewer.items()))

    def lines(self) -> list[str]:
        """Its parts as lines of the language."""
        sources = dict(self.sources)
        return [f"{kind.word:8} {name}{powered(kind.word, sources[name])}{kind.options}" for name, kind in self.kinds]


def powered(word: str, sources: tuple[str, ...]) -> str:
    """The option that says what powers a part of a kind."""
    if not sources:
        return ""
    return f"  {'joins' if word == 'junction' else 'from'} {', '.join(sources)}"


def words_of(named: tuple[str, ...], others: tuple[str, ...]) -> Iterator[Words]:
    """Every choice of torch or repeater for some parts. Of those that nobody names only the number of each counts."""
    for own in itertools.product((TORCH, REPEATER), repeat=len(named)):
        for rest in itertools.combinations_with_replacement((TORCH, REPEATER), len(others)):
            yield dict(zip((*named, *others), (*own, *rest), strict=True))
