"""The fewest torches that give each function of up to three signals, once all is settled.

A torch gives NOR of what powers it, and power from several sources is their OR: so a network is torches in a row, each
powered by signals and by torches before it, and what reads several of all these. Every network is looked at, the
smallest first, so that what is known of a function is the least there is of this kind. Two steps back, as in a latch,
are none of it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from functools import cache
from typing import NamedTuple

MOST_TORCHES = {1: 1, 2: 4, 3: 4}
"""Up to how many torches are looked at, for each number of signals."""
MOST_KNOWN = 2
"""How many networks are kept of each function: those that answer soonest, and of these those of fewest connections."""


class Network(NamedTuple):
    """Torches and what reads them. Signals have the numbers from 0 on, torches those behind them."""

    torches: tuple[tuple[int, ...], ...]
    """Of each torch what powers it."""
    read: tuple[int, ...]
    """What is read together."""

    def slowest(self, signals: int) -> int:
        """Through how many torches the longest way leads."""
        depth = [0] * signals
        for sources in self.torches:
            depth.append(1 + max(depth[each] for each in sources))
        return max(depth[each] for each in self.read)

    @property
    def wires(self) -> int:
        """How many connections there are."""
        return sum(map(len, self.torches)) + len(self.read)


def columns(signals: int) -> list[int]:
    """Of each signal in which rows of a table it is on: row r has signal s on where bit s of r is set."""
    rows = range(1 << signals)
    return [sum(1 << row for row in rows if row >> signal & 1) for signal in range(signals)]


def either(sources: tuple[int, ...], known: list[int]) -> int:
    """In which rows one of some is on."""
    found = 0
    for each in sources:
        found |= known[each]
    return found


@cache
def known_networks(signals: int) -> Mapping[int, tuple[Network, ...]]:
    """Of each function, as the rows in which it is on, the networks of fewest torches; not all are known."""
    found: dict[int, list[Network]] = {}
    for count in range(MOST_TORCHES[signals] + 1):
        new: dict[int, list[Network]] = {}
        for torches, values in _torches(count, columns(signals), (1 << (1 << signals)) - 1):
            for read in _some(len(values)):
                rows = either(read, values)
                if rows not in found:
                    new.setdefault(rows, []).append(Network(torches, read))
        found |= new
    return {rows: _best(networks, signals) for rows, networks in found.items()}


def _best(networks: list[Network], signals: int) -> tuple[Network, ...]:
    every = sorted(networks, key=lambda each: (each.slowest(signals), each.wires, each))
    return tuple(every[:MOST_KNOWN])


def _torches(count: int, values: list[int], every: int) -> Iterator[tuple[tuple[tuple[int, ...], ...], list[int]]]:
    """So many torches in every way that matters, and in which rows each signal and torch is on."""
    if not count:
        yield (), values
        return
    for torches, before in _torches(count - 1, values, every):
        for sources in _some(len(before)):
            rows = every & ~either(sources, before)
            if rows and rows not in before:  # what is never on, or there already, is not needed
                yield (*torches, sources), [*before, rows]


def _some(count: int) -> list[tuple[int, ...]]:
    numbers = range(count)
    return [each for size in range(1, count + 1) for each in itertools.combinations(numbers, size)]
