"""What a piece of a circuit can show the rest, as a small automaton, and what may be left out of it.

Two reductions, each general and each justified here:

* `minimised` merges states that are *bisimilar*: whatever one can do in a gt the other can do too, showing the same and
  coming to states that are bisimilar again. Nothing that a claim can see tells such states apart. That is how a lever's
  level drops out where a detector only feels its changes.
* `pruned` drops an edge where another from the same state shows the same and leads to a state that *simulates* its
  target: that can show all that the target can, for ever. Whatever run the dropped edge was part of, the kept one
  offers a run that shows the same, gt by gt. So the runs that the rest of the circuit and the claims can see stay
  exactly the same (trace equivalence), and a shortest counterexample keeps its length. That is how, of detectors that
  are called up together, one is enough.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

MOST_COMPARED = 6_000
"""How many states are compared with each other in search of those that simulate others."""


class Event(NamedTuple):
    """One change of a piece's level within a gt: when in it, since when it was due, and the level it goes to."""

    order_class: int
    age: int
    """How many gt ago the wait began that ends in it."""
    phase: int
    """The order class whose turn it was when the wait began."""
    level: int

    def rank(self) -> tuple[int, int, int]:
        """Who acts first (rule C3): by class, then by when the wait began; what ties here is taken as unknown."""
        return (self.order_class, -self.age, self.phase)


Word = tuple[Event, ...]
"""What a piece shows the rest of the circuit in one gt."""


class Transition(NamedTuple):
    """One thing that may happen in a gt: what is shown of it, and the state it leads to."""

    word: Word
    bits: int
    """Which of the claim's questions are answered yes."""
    acts: int
    """How many outside actions it takes, where that is counted."""
    target: int
    sure: bool = True
    """Whether what the world did leads here and nowhere else, whatever order is unknown (asked by `prove.possible`)."""

    @property
    def label(self) -> Label:
        """All that can be seen of it."""
        return (self.word, self.bits, self.acts, self.sure)


Label = tuple[Word, int, int, bool]


@dataclass(frozen=True, slots=True)
class Automaton:
    """States by number. `initial` edges lead out of nowhere: they show what is so at the end of gt 0."""

    initial: tuple[Transition, ...]
    edges: tuple[tuple[Transition, ...], ...]
    levels: tuple[int, ...]
    """The level that the piece gives in each state."""


Spend = Callable[[int], None]
"""Told how much is looked at, in moves of a budget (`prove.meter`); may raise OverBudget."""


def unbounded(moves: int) -> None:
    """Spends nothing."""


def minimised(automaton: Automaton, spend: Spend = unbounded) -> tuple[Automaton, tuple[int, ...]]:
    """The smallest bisimilar automaton, and the state in it that each state became."""
    blocks = _numbered(automaton.levels)
    edges_in_all = sum(map(len, automaton.edges))
    while True:
        spend(edges_in_all)
        finer = _numbered(
            (block, frozenset((edge.label, blocks[edge.target]) for edge in edges))
            for block, edges in zip(blocks, automaton.edges, strict=True)
        )
        if max(finer, default=0) == max(blocks, default=0):
            return _merged(automaton, finer), finer
        blocks = finer


def _numbered(keys: Iterable[Hashable]) -> tuple[int, ...]:
    numbers: dict[Hashable, int] = {}
    return tuple(numbers.setdefault(key, len(numbers)) for key in keys)


def _merged(automaton: Automaton, blocks: Sequence[int]) -> Automaton:
    edges: list[tuple[Transition, ...]] = []
    levels: list[int] = []
    for state, block in enumerate(blocks):
        if block == len(edges):
            edges.append(_redirected(automaton.edges[state], blocks))
            levels.append(automaton.levels[state])
    return Automaton(_redirected(automaton.initial, blocks), tuple(edges), tuple(levels))


def _redirected(edges: Iterable[Transition], blocks: Sequence[int]) -> tuple[Transition, ...]:
    return tuple(dict.fromkeys(edge._replace(target=blocks[edge.target]) for edge in edges))


def pruned(automaton: Automaton, spend: Spend = unbounded) -> Automaton:
    """The automaton without the edges that others stand for; states keep their numbers."""
    if len(automaton.edges) > MOST_COMPARED:
        return automaton
    above = simulators(automaton, spend)
    edges = tuple(_undominated(edges, above, spend) for edges in automaton.edges)
    return Automaton(_undominated(automaton.initial, above, spend), edges, automaton.levels)


def _undominated(edges: Sequence[Transition], above: Sequence[int], spend: Spend) -> tuple[Transition, ...]:
    """Of edges that show the same, those whose targets no other target simulates; of equals, the first."""
    alike: dict[Label, list[int]] = {}
    for place, edge in enumerate(edges):
        alike.setdefault(edge.label, []).append(place)
    kept: list[Transition] = []
    for place, edge in enumerate(edges):
        others = alike[edge.label]
        spend(len(others))
        for other_place in others:
            target = edges[other_place].target
            if other_place != place and above[edge.target] >> target & 1:
                mutual = above[target] >> edge.target & 1
                if not mutual or other_place < place:
                    break
        else:
            kept.append(edge)
    return tuple(kept)


def simulators(automaton: Automaton, spend: Spend = unbounded) -> list[int]:
    """For each state, those that simulate it, as the bits of one number: the greatest simulation."""
    count = len(automaton.edges)
    before: list[dict[Label, int]] = [{} for _ in range(count)]
    """For each state and label, the states with such an edge to it."""
    for state, edges in enumerate(automaton.edges):
        for edge in edges:
            known = before[edge.target]
            known[edge.label] = known.get(edge.label, 0) | 1 << state
    above = [
        sum(1 << other for other in range(count) if level == automaton.levels[other]) for level in automaton.levels
    ]
    changed = True
    while changed:
        changed = False
        able: dict[tuple[Label, int], int] = {}
        for state, edges in enumerate(automaton.edges):
            spend(len(edges))
            for edge in edges:
                wanted = above[edge.target]
                key = (edge.label, wanted)
                if key not in able:
                    spend(wanted.bit_count())
                    able[key] = _able(before, edge.label, wanted)
                narrowed = above[state] & able[key]
                if narrowed != above[state]:
                    above[state] = narrowed
                    changed = True
    return above


def _able(before: Sequence[dict[Label, int]], label: Label, wanted: int) -> int:
    """The states that have an edge showing this to one of the states wanted."""
    found = 0
    while wanted:
        lowest = wanted & -wanted
        found |= before[lowest.bit_length() - 1].get(label, 0)
        wanted ^= lowest
    return found


def reduced(
    automaton: Automaton, branching: bool = False, spend: Spend = unbounded
) -> tuple[Automaton, tuple[int, ...]]:
    """All reductions in turn, and for each state what it became; -1 for those that nothing leads to any more.

    Where it counts what can still be chosen in each state (`branching`), no edge is dropped.
    """
    small, blocks = minimised(automaton, spend)
    small, numbers = _reachable(small if branching else pruned(small, spend))
    return small, tuple(numbers.get(block, -1) for block in blocks)


def _reachable(automaton: Automaton) -> tuple[Automaton, dict[int, int]]:
    """The automaton without states that nothing leads to, and the new number of each that is left."""
    numbers: dict[int, int] = {}
    queue: list[int] = []

    def meet(edges: Iterable[Transition]) -> tuple[Transition, ...]:
        for edge in edges:
            if edge.target not in numbers:
                numbers[edge.target] = len(numbers)
                queue.append(edge.target)
        return tuple(edge._replace(target=numbers[edge.target]) for edge in edges)

    initial = meet(automaton.initial)
    kept = [meet(automaton.edges[state]) for state in queue]
    return Automaton(initial, tuple(kept), tuple(automaton.levels[state] for state in queue)), numbers
