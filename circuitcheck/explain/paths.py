"""Paths through the signal graph: part by part from a signal to another, with the parity so far and the ticks."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from circuitcheck.model.circuit import Circuit

if TYPE_CHECKING:
    import networkx

MOST_PATHS = 12
"""How many ways are reported; more are only counted, up to MOST_COUNTED."""
MOST_COUNTED = 200
MOST_PARTS_SEARCHED = 4_000
"""In a stretch of more parts than this, paths are not searched one by one."""


@dataclass(frozen=True, slots=True)
class Hop:
    """One part on a path: by which port it is entered, whether that inverts, and how long it takes at least (gt)."""

    part: str
    kind: str
    port: str
    inverts: bool
    watches: bool
    lag: int


@dataclass(frozen=True, slots=True)
class SignalPath:
    """A path from one signal to another. The start itself is no hop."""

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
class SignalPaths:
    """The paths between two signals, quickest first."""

    paths: tuple[SignalPath, ...]
    counted: int
    """How many there are; as many as were counted if there are more."""
    complete: bool
    """Whether all were counted."""


@dataclass(frozen=True, slots=True)
class DelayRange:
    """The least and the most ticks between two signals (gt); `most` is None where a loop lies between."""

    fastest: SignalPath
    slowest: SignalPath | None


def stretch(circuit: Circuit, start: str, end: str) -> networkx.DiGraph[str]:
    """The part of the signal graph that lies on some path between two signals; without them if there is none."""
    import networkx

    graph = carrying(circuit)
    if start not in graph or end not in graph:
        return graph.subgraph(())
    behind = networkx.descendants(graph, start) | {start}
    ahead = networkx.ancestors(graph, end) | {end}
    return graph.subgraph(behind & ahead)


def carrying(circuit: Circuit) -> networkx.DiGraph[str]:
    """The signal graph without locks: they hold a part still and carry no signal."""
    graph = circuit.graph
    return graph.edge_subgraph([edge for edge in graph.edges if graph.edges[edge]["carries"]])


def paths(circuit: Circuit, start: str, end: str) -> SignalPaths:
    """Every path between two signals that meets no part twice, as far as they can be counted."""
    import networkx

    graph = stretch(circuit, start, end)
    if start not in graph or end not in graph:
        return SignalPaths((), 0, True)
    if len(graph) > MOST_PARTS_SEARCHED:
        return SignalPaths((quickest(circuit, start, end),), 1, False)
    listed = itertools.islice(networkx.all_simple_paths(graph, start, end), MOST_COUNTED + 1)
    found = [_path(graph, steps) for steps in listed]
    complete = len(found) <= MOST_COUNTED
    found = sorted(found[:MOST_COUNTED], key=lambda path: (path.lag, len(path.hops)))
    return SignalPaths(tuple(found[:MOST_PATHS]), len(found), complete)


def quickest(circuit: Circuit, start: str, end: str) -> SignalPath:
    """The path with the fewest ticks; among such, with the fewest parts."""
    import networkx

    graph = stretch(circuit, start, end)
    steps = networkx.dijkstra_path(
        graph, start, end, weight=lambda _, reader, __: 1000 * graph.nodes[reader]["lag"] + 1
    )
    return _path(graph, steps)


class Spans:
    """The quickest and the slowest paths of one circuit.

    Lines that meet count as one wire here. The slowest path is the longest path where no loop lies between; with a loop
    there is no longest. What is computed for one start serves for all ends.
    """

    def __init__(self, circuit: Circuit) -> None:
        import networkx

        self._circuit = circuit
        self._graph, self._wire = _wires_merged(circuit)
        loops = [part for part in networkx.strongly_connected_components(self._graph) if len(part) > 1]
        self._looped = {name for part in loops for name in part} | set(networkx.nodes_with_selfloops(self._graph))
        straight = self._graph.subgraph(set(self._graph) - self._looped)
        self._order = list(networkx.topological_sort(straight))
        self._from: dict[str, tuple[dict[str, list[str]], dict[str, list[str]]]] = {}

    def span(self, start: str, end: str) -> DelayRange | None:
        """The quickest and the slowest path between two signals, or None where there is none."""
        source, target = self._wire.get(start, start), self._wire.get(end, end)
        if start == end or source == target:
            return None
        if source not in self._from:
            self._from[source] = (self._quickest(source), self._slowest(source))
        quickest, slowest = self._from[source]
        if target not in quickest:
            return None
        long = None if self._loop_between(source, target) else self._path(start, slowest[target], "late")
        return DelayRange(self._path(start, quickest[target], "lag"), long)

    def _quickest(self, source: str) -> dict[str, list[str]]:
        """The path with the fewest ticks to every end; among such, with the fewest parts."""
        import networkx

        _, listed = networkx.single_source_dijkstra(self._graph, source, weight="effort")
        assert isinstance(listed, dict)
        return listed

    def _slowest(self, source: str) -> dict[str, list[str]]:
        """The path with the most ticks to every end that is reached without passing through a loop."""
        late, before = {source: 0}, {source: source}
        for name in self._order:
            if name not in late:
                continue
            for reader in self._graph.succ[name]:
                lag = late[name] + self._graph.edges[name, reader]["late"]
                if reader not in self._looped and lag >= late.get(reader, -1):
                    late[reader], before[reader] = lag, name
        return {name: _back(before, source, name) for name in late}

    def _loop_between(self, source: str, target: str) -> bool:
        import networkx

        behind = networkx.descendants(self._graph, source) | {source}
        ahead = networkx.ancestors(self._graph, target) | {target}
        return not self._looped.isdisjoint(behind & ahead)

    def _path(self, start: str, steps: list[str], counted: str) -> SignalPath:
        real = [self._graph.edges[edge]["real"] for edge in itertools.pairwise(steps)]
        graph = self._circuit.graph
        return SignalPath(start, tuple(_hop(graph, source, reader, counted) for source, reader in real))


def _back(before: dict[str, str], source: str, end: str) -> list[str]:
    steps = [end]
    while steps[-1] != source:
        steps.append(before[steps[-1]])
    return steps[::-1]


def span(circuit: Circuit, start: str, end: str) -> DelayRange | None:
    """The quickest and the slowest path between two signals of a circuit, or None where there is none."""
    return Spans(circuit).span(start, end)


def without_joins(circuit: Circuit, parts: Iterable[str]) -> networkx.DiGraph[str]:
    """The signal graph over some parts without the edges of lines that meet: those are no feedback."""
    graph = circuit.graph.subgraph(parts)
    return graph.edge_subgraph([edge for edge in graph.edges if not graph.edges[edge]["joined"]])


def _wires_merged(circuit: Circuit) -> tuple[networkx.DiGraph[str], dict[str, str]]:
    """The graph with lines that meet as one node each, and which node each such line went into.

    An edge has the least and most lag of its reader, an effort that counts ticks first and parts second, and the edge
    that it stands for.
    """
    import networkx

    graph = carrying(circuit)
    joined: networkx.Graph[str] = networkx.Graph([edge for edge in graph.edges if graph.edges[edge]["joined"]])
    wire = {name: min(component) for component in networkx.connected_components(joined) for name in component}
    merged: networkx.DiGraph[str] = networkx.DiGraph()
    merged.add_nodes_from(wire.get(name, name) for name in circuit.graph)
    for source, reader in graph.edges:
        if not graph.edges[source, reader]["joined"]:
            lag = graph.nodes[reader]["lag"]
            ends = wire.get(source, source), wire.get(reader, reader)
            late = graph.nodes[reader]["late"]
            merged.add_edge(*ends, lag=lag, late=late, effort=1000 * lag + 1, real=(source, reader))
    return merged, wire


def _hop(graph: networkx.DiGraph[str], source: str, reader: str, counted: str = "lag") -> Hop:
    edge, node = graph.edges[source, reader], graph.nodes[reader]
    return Hop(reader, node["kind"], edge["port"], edge["inverts"], edge["watches"], node[counted])


def _path(graph: networkx.DiGraph[str], steps: list[str]) -> SignalPath:
    return SignalPath(steps[0], tuple(_hop(graph, source, reader) for source, reader in itertools.pairwise(steps)))
