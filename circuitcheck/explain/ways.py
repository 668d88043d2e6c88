"""Ways through the signal graph: part by part from a signal to another, with the parity so far and the ticks."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

from circuitcheck.model.circuit import Circuit

if TYPE_CHECKING:
    import networkx

MOST_WAYS = 12
"""How many ways are told; more are only counted, up to MOST_COUNTED."""
MOST_COUNTED = 200
MOST_PARTS_SEARCHED = 4_000
"""In a stretch of more parts than this, ways are not searched one by one."""


@dataclass(frozen=True, slots=True)
class Hop:
    """One part on a way: by which port it is entered, whether that inverts, and how long it takes at least (gt)."""

    part: str
    kind: str
    port: str
    inverts: bool
    watches: bool
    lag: int


@dataclass(frozen=True, slots=True)
class Way:
    """A way from one signal to another. The start itself is no hop."""

    start: str
    hops: tuple[Hop, ...]

    @property
    def inverted(self) -> bool:
        """Whether what arrives is the inverse of what left."""
        return sum(hop.inverts for hop in self.hops) % 2 == 1

    @property
    def lag(self) -> int:
        """How long it takes at least, in gt."""
        return sum(hop.lag for hop in self.hops)


@dataclass(frozen=True, slots=True)
class Ways:
    """The ways between two signals, quickest first."""

    ways: tuple[Way, ...]
    counted: int
    """How many there are; as many as were counted if there are more."""
    complete: bool
    """Whether all were counted."""


@dataclass(frozen=True, slots=True)
class Span:
    """The least and the most ticks between two signals (gt); `most` is None where a loop lies between."""

    fastest: Way
    slowest: Way | None


def stretch(circuit: Circuit, start: str, end: str) -> networkx.DiGraph[str]:
    """The part of the signal graph that lies on some way between two signals; without them if there is none."""
    import networkx

    graph = circuit.graph
    behind = networkx.descendants(graph, start) | {start}
    ahead = networkx.ancestors(graph, end) | {end}
    return graph.subgraph(behind & ahead)


def ways(circuit: Circuit, start: str, end: str) -> Ways:
    """Every way between two signals that meets no part twice, as far as they can be counted."""
    import networkx

    graph = stretch(circuit, start, end)
    if start not in graph or end not in graph:
        return Ways((), 0, True)
    if len(graph) > MOST_PARTS_SEARCHED:
        return Ways((quickest(circuit, start, end),), 1, False)
    paths = itertools.islice(networkx.all_simple_paths(graph, start, end), MOST_COUNTED + 1)
    found = [_way(graph, path) for path in paths]
    complete = len(found) <= MOST_COUNTED
    found = sorted(found[:MOST_COUNTED], key=lambda way: (way.lag, len(way.hops)))
    return Ways(tuple(found[:MOST_WAYS]), len(found), complete)


def quickest(circuit: Circuit, start: str, end: str) -> Way:
    """The way with the fewest ticks; among such, with the fewest parts."""
    import networkx

    graph = stretch(circuit, start, end)
    path = networkx.dijkstra_path(graph, start, end, weight=lambda _, reader, __: 1000 * graph.nodes[reader]["lag"] + 1)
    return _way(graph, path)


def span(circuit: Circuit, start: str, end: str) -> Span | None:
    """The quickest and the slowest way between two signals, or None where there is none.

    The slowest is the longest path of a directed graph without loops (networkx); with a loop there is no longest.
    """
    import networkx

    graph = stretch(circuit, start, end)
    if start not in graph or end not in graph or start == end:
        return None
    fastest = quickest(circuit, start, end)
    if not networkx.is_directed_acyclic_graph(graph):
        return Span(fastest, None)
    weighted: networkx.DiGraph[str] = networkx.DiGraph()
    weighted.add_weighted_edges_from((source, reader, graph.nodes[reader]["lag"]) for source, reader in graph.edges)
    return Span(fastest, _way(graph, networkx.dag_longest_path(weighted)))


def _way(graph: networkx.DiGraph[str], path: list[str]) -> Way:
    hops = []
    for source, reader in itertools.pairwise(path):
        edge, node = graph.edges[source, reader], graph.nodes[reader]
        hops.append(Hop(reader, node["kind"], edge["port"], edge["inverts"], edge["watches"], node["lag"]))
    return Way(path[0], tuple(hops))
