"""Whether a pair of devices leads to one that clashes, down a graph of pairs; each pair is visited once for all."""

from __future__ import annotations

from collections.abc import Callable, Iterator

Pair = tuple[int, int]
"""Two devices, the lower number first."""

MOST_PAIRS = 5_000
"""How many pairs one search visits before what was asked for is taken to lead to a clash."""
MOST_LOOKED_AT = 20 * MOST_PAIRS
"""How often it looks at a pair, one that was met before too."""


class PairSearch:
    """Searches for clashes. What is found of a pair is kept, so that no later search goes there again.

    A search goes down as deep as it can and keeps apart what it hasn't finished, as Tarjan's search for the strongly
    connected components of a graph does. All that is unfinished as a clash is found leads there; a component that is
    finished before leads to none.
    """

    def __init__(self, clashes: Callable[[int, int], bool], following: Callable[[int, int], Iterator[Pair]]) -> None:
        self._clashes = clashes
        self._following = following
        self._known: dict[Pair, bool] = {}

    def leads_to_a_clash(self, start: Pair) -> bool:
        """Whether a pair clashes or leads to one that does; true too where a search would take too long."""
        known = self._known
        if start in known:
            return known[start]
        if self._clashes(*start):
            known[start] = True
            return True
        visited, lowest, unfinished = {start: 0}, {start: 0}, [start]
        path, looked_at = [(start, self._following(*start))], 0
        while path:
            here, following = path[-1]
            for pair in following:
                looked_at += 1
                if looked_at > MOST_LOOKED_AT or len(visited) > MOST_PAIRS:
                    return True
                leads = known.get(pair)
                if leads is None and pair not in visited and self._clashes(*pair):
                    leads = known[pair] = True
                if leads:
                    known.update(dict.fromkeys(unfinished, True))
                    return True
                if leads is None:
                    if pair not in visited:
                        visited[pair] = lowest[pair] = len(visited)
                        unfinished.append(pair)
                        path.append((pair, self._following(*pair)))
                        break
                    lowest[here] = min(lowest[here], visited[pair])
            else:
                path.pop()
                if path:
                    before = path[-1][0]
                    lowest[before] = min(lowest[before], lowest[here])
                if lowest[here] == visited[here]:
                    self._finish(here, unfinished)
        return False

    def _finish(self, first: Pair, unfinished: list[Pair]) -> None:
        """Nothing that a component leads to clashes: its first pair, and all that came after it."""
        pair = unfinished.pop()
        self._known[pair] = False
        while pair != first:
            pair = unfinished.pop()
            self._known[pair] = False
