"""The signals of a run worked by hand, over time: their edges, and what changed in the latest gt."""

from __future__ import annotations

from bisect import bisect_right
from operator import itemgetter

from circuitcheck.bench.seen import Seen
from circuitcheck.engine.state import State

MOST_EDGES = 2_000
"""How many of the latest edges of a signal are kept, to be drawn."""

Edge = tuple[int, int]
"""A gt, and the level from there on."""


class Edges:
    """The edges of each signal up to now, and what changed in the latest gt."""

    def __init__(self, seen: Seen) -> None:
        self._seen = seen
        self.of: dict[str, list[Edge]] = {}
        """Of each signal: its level at first, and then each gt with the level from there on."""
        self.epoch = 0
        """Grows each time that edges which were told no longer hold."""
        self.changed: dict[str, int] = {}
        """The parts that changed in the latest gt, with their levels."""

    def back_at(self, at: int, state: State) -> None:
        """The run stands at the end of a gt again: edges behind that no longer hold."""
        self.epoch += 1
        levels = self._seen.levels(state)
        before = self.of
        self.of = {}
        for name, level in levels.items():
            kept = [edge for edge in before.get(name, ()) if edge[0] <= at]
            self.of[name] = kept or [(at, level)]
        self.changed = {}

    def gone(self, at: int, before: State, after: State) -> None:
        """A gt has passed."""
        if before.levels == after.levels:
            self.changed = {}
            return
        self.changed = self._seen.parts(before, after)
        for name, level in self._seen.levels(after).items():
            edges = self.of[name]
            if edges[-1][1] != level:
                edges.append((at, level))
                if len(edges) > 2 * MOST_EDGES:
                    del edges[:MOST_EDGES]

    def since(self, at: int) -> dict[str, list[Edge]]:
        """The edges behind a gt, of the signals that have any."""
        return {
            name: edges[bisect_right(edges, at, key=itemgetter(0)) :]
            for name, edges in self.of.items()
            if edges[-1][0] > at
        }
