"""The nets of a circuit: which parts may give to one run of dust, and which inputs it leads to.

Parts that feed the same inputs may share their dust, since whoever reads it wants all of them (rule P5). So each part
gives to one net, and an input has as many nets as sorts of parts feed it.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from circuitcheck.placing.grid import GIVEN, LAMP, WATCHED
from circuitcheck.placing.problem import CantPlace, Problem


@dataclass(frozen=True)
class Net:
    """One run of dust that is to be laid."""

    sources: tuple[int, ...]
    """The numbers of the parts that light it."""
    ports: tuple[int, ...]
    """The numbers of the inputs that it leads to."""
    given: tuple[int, ...]
    """The ports of dust that it gives out."""


def nets_of(problem: Problem, straight: frozenset[int]) -> list[Net]:
    """All nets, but of parts that point straight into another. Raises CantPlace for what can't be led in nets."""
    readers: dict[int, list[int]] = defaultdict(list)
    for number, port in enumerate(problem.ports):
        for source in port.feeds:
            if source not in straight:
                readers[source].append(number)
        _refuse(problem, number)
    alike: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for source in sorted(readers):
        alike[tuple(readers[source])].append(source)
    nets = []
    for ports, sources in alike.items():
        given = tuple(each for each in ports if problem.ports[each].how == GIVEN)
        for each in given:
            _refuse_given(problem, each, sources, len(given))
        nets.append(Net(tuple(sources), tuple(each for each in ports if each not in given), given))
    return nets


def _refuse_given(problem: Problem, number: int, sources: list[int], count: int) -> None:
    """Raises CantPlace for dust given out that has to lie where no net of its own brings it."""
    name = problem.shown[[port for port, each in enumerate(problem.ports) if each.how == GIVEN].index(number)]
    feeds = problem.ports[number].feeds
    if set(feeds) != set(sources):
        raise CantPlace(f"'{name}' is given out, and some of what feeds it also feeds others", "give out a part")
    if any(feeds.values()):
        raise CantPlace(f"'{name}' is given out, and levels are lost on the way to it", "give out dust that is nearer")
    if count > 1:
        raise CantPlace(f"'{name}' is one of {count} dusts that give out the same", "give out one of them")


def _refuse(problem: Problem, number: int) -> None:
    """Raises CantPlace for an input that routes of any length can't feed."""
    port = problem.ports[number]
    if port.how == GIVEN:
        return
    name = problem.names[port.part]
    if port.exact or (port.ranked and len(port.feeds) > 1):
        raise CantPlace(
            f"at '{name}' the levels lost on the way are felt", "so large a circuit is laid out without that"
        )
    if port.how == WATCHED and any(problem.codes[each] == LAMP for each in port.feeds):
        raise CantPlace(f"'{name}' watches a lamp", "in so large a circuit let it watch dust")
