"""How what several pieces show in one gt can fall together: every order that rule C5 may leave open.

Events are ordered by class, and within a class by when their waits began (rule C3). Those that began in one gt while
one class had its turn are taken to come in any order. That is never less than what can happen, and sometimes more: how
such a tie was decided once is not held against how it is decided later. What is proved so is proved; a counterexample
to a claim is run again by the engine, which knows better, before it is believed.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from circuitcheck.prove.automaton import Event, Word

MOST_INTERLEAVINGS = 5_040
"""In how many orders the events of one gt and class are followed."""


class TooMuch(Exception):
    """More can happen in one gt than is followed; the text says what."""


Ranked = tuple[int, Event]
"""An event and the number of the source that it belongs to."""


def interleavings(words: Sequence[Word]) -> tuple[tuple[Ranked, ...], ...]:
    """Every order of the events of some sources, each source's own kept in order. Raises TooMuch."""
    events = [[(source, event) for event in word] for source, word in enumerate(words) if word]
    if len(events) < 2:
        return (tuple(events[0]) if events else (),)
    return _merge(tuple(map(tuple, events)))


@lru_cache(maxsize=4096)
def _merge(queues: tuple[tuple[Ranked, ...], ...]) -> tuple[tuple[Ranked, ...], ...]:
    heads = [queue[0][1].rank() for queue in queues]
    first = min(heads)
    found: list[tuple[Ranked, ...]] = []
    for place, queue in enumerate(queues):
        if heads[place] == first:
            rest = (*queues[:place], *((queue[1:],) if len(queue) > 1 else ()), *queues[place + 1 :])
            found += [(queue[0], *later) for later in (_merge(rest) if rest else ((),))]
    if len(found) > MOST_INTERLEAVINGS:
        raise TooMuch(f"{len(queues)} parts change in one gt, in more than {MOST_INTERLEAVINGS:,} orders")
    return tuple(found)


def highest(levels: Sequence[int], changes: Iterable[tuple[int, Word]]) -> frozenset[Word]:
    """What sources that feed the same places show together, where power takes the highest (rule P2).

    `levels` are those of all sources before, `changes` the words of those that change, with their levels before.
    """
    pending = sorted((event.rank(), event.level, before) for before, word in changes for event in _single(word))
    counts = [0] * 16
    for level in levels:
        counts[level] += 1
    return _highest(tuple(counts), tuple(pending))


@lru_cache(maxsize=4096)  # the same few changes fall together over and over again
def _highest(counts: tuple[int, ...], pending: tuple[tuple[tuple[int, int, int], int, int], ...]) -> frozenset[Word]:
    found: dict[tuple[tuple[int, ...], Word], None] = {(counts, ()): None}
    for rank, group in itertools.groupby(pending, key=lambda each: each[0]):
        moves = tuple((before, level) for _, level, before in group)
        found = {each: None for start in found for each in _any_order(start, moves, rank)}
    return frozenset(word for _, word in found)


def _single(word: Word) -> Word:
    if len(word) > 1:
        raise TooMuch("a part changes twice in one gt")
    return word


Interleaving = tuple[tuple[int, ...], Word]


def _any_order(
    start: Interleaving, moves: tuple[tuple[int, int], ...], rank: tuple[int, int, int]
) -> Iterator[Interleaving]:
    """Carries out moves of single sources from level to level in every order, those that are alike once."""
    front: dict[tuple[tuple[tuple[int, int], ...], Interleaving], None] = {(moves, start): None}
    for _ in moves:
        later: dict[tuple[tuple[tuple[int, int], ...], Interleaving], None] = {}
        for rest, (counts, word) in front:
            for move in dict.fromkeys(rest):
                remaining = list(rest)
                remaining.remove(move)
                later[tuple(remaining), _moved(counts, word, move, rank)] = None
        front = later
    return (each for _, each in front)


def _moved(counts: tuple[int, ...], word: Word, move: tuple[int, int], rank: tuple[int, int, int]) -> Interleaving:
    changed = list(counts)
    changed[move[0]] -= 1
    changed[move[1]] += 1
    before, after = _top(counts), _top(changed)
    if before != after:
        word = (*word, Event(rank[0], -rank[1], rank[2], after))
    return tuple(changed), word


def _top(counts: Sequence[int]) -> int:
    return max((level for level in range(16) if counts[level]), default=0)
