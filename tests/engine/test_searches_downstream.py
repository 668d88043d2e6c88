"""What the engine asks of all that is downstream of two devices, held against networkx on random graphs.

Source: strongly connected components, condensations and descendants as networkx 3 computes them.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator

import networkx
import pytest

from circuitcheck.engine import downstream, pair_search
from circuitcheck.engine.downstream import ends
from circuitcheck.engine.pair_search import Pair, PairSearch

SEEDS = range(60)


def random_readers(seed: int) -> list[list[int]]:
    """Who reads each of some devices; few readers, so that there are loops as well as ends."""
    chance = random.Random(seed)
    count = chance.randint(2, 12)
    return [chance.sample(range(count), chance.choice((0, 1, 1, 2))) for _ in range(count)]


def all_downstream(readers: list[list[int]]) -> list[set[int]]:
    graph = networkx.DiGraph((device, each) for device, those in enumerate(readers) for each in those)
    graph.add_nodes_from(range(len(readers)))
    return [{device} | networkx.descendants(graph, device) for device in range(len(readers))]


@pytest.mark.parametrize("seed", SEEDS)
def test_devices_share_an_end_where_they_have_anything_in_common_downstream(seed: int) -> None:
    readers = random_readers(seed)
    found, plainly = ends(readers), all_downstream(readers)
    for one, other in itertools.combinations(range(len(readers)), 2):
        assert bool(found[one] & found[other]) is not plainly[one].isdisjoint(plainly[other])


def test_more_ends_than_have_bits_of_their_own_only_seem_to_be_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(downstream, "MOST_ENDS", 2)
    found = ends([[3], [4], [5], [], [], []])
    assert found[0] & found[1] == 0
    assert found[0] & found[2], "two ends of three share a bit, so their devices seem to meet"


def test_a_long_line_takes_no_deep_recursion() -> None:
    count = 20_000
    assert len(set(ends([[number + 1] for number in range(count - 1)] + [[0]]))) == 1


class Pairs:
    """A random graph of pairs, some of which clash, and how often each was asked what follows."""

    def __init__(self, seed: int) -> None:
        chance = random.Random(seed)
        self.pairs = list(itertools.combinations(range(chance.randint(3, 7)), 2))
        self.ahead = {pair: chance.sample(self.pairs, chance.choice((0, 1, 1, 2, 3))) for pair in self.pairs}
        self.clashing = {pair for pair in self.pairs if chance.random() < 0.12}
        self.asked = dict.fromkeys(self.pairs, 0)

    def clashes(self, one: int, other: int) -> bool:
        return (one, other) in self.clashing

    def following(self, one: int, other: int) -> Iterator[Pair]:
        self.asked[one, other] += 1
        return iter(self.ahead[one, other])

    def lead_to_a_clash(self) -> set[Pair]:
        graph = networkx.DiGraph((later, pair) for pair, those in self.ahead.items() for later in those)
        graph.add_nodes_from(self.pairs)
        return self.clashing.union(*(networkx.descendants(graph, pair) for pair in self.clashing))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_pair_leads_to_a_clash_where_one_can_be_reached(seed: int) -> None:
    pairs = Pairs(seed)
    search = PairSearch(pairs.clashes, pairs.following)
    assert {pair for pair in pairs.pairs if search.leads_to_a_clash(pair)} == pairs.lead_to_a_clash()


@pytest.mark.parametrize("seed", SEEDS)
def test_no_pair_is_visited_twice_however_often_it_is_asked_for(seed: int) -> None:
    pairs = Pairs(seed)
    search = PairSearch(pairs.clashes, pairs.following)
    for pair in 2 * pairs.pairs:
        search.leads_to_a_clash(pair)
    assert max(pairs.asked.values()) == 1


def test_past_its_bound_a_pair_is_taken_to_lead_to_a_clash(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pair_search, "MOST_PAIRS", 10)
    search = PairSearch(lambda one, other: False, lambda one, other: iter([(one, other + 1)] if other < 50 else []))
    assert search.leads_to_a_clash((0, 1))
    assert not search.leads_to_a_clash((0, 45))
