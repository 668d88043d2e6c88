"""The signal graph with each row of units that are wired alike as one part, so that a hundred of them bury nothing."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import networkx

Row = tuple[str, int]
"""A row of units, by the name that they share, and the number of one of them."""


def folded(graph: networkx.DiGraph[str]) -> networkx.DiGraph[str]:
    """A graph in which `rope.* ×3` stands for three units of one row; all else is as it was."""
    import networkx

    called = {name: label for label, names in folded_names(graph).items() for name in names}
    found: networkx.DiGraph[str] = networkx.DiGraph(name=graph.name)
    for name in graph:
        found.add_node(called[name], **graph.nodes[name])
    for source, reader in graph.edges:
        found.add_edge(called[source], called[reader], **graph.edges[source, reader])
    return found


def folded_names(graph: networkx.DiGraph[str]) -> dict[str, list[str]]:
    """What stands once in a folded graph, in its order, each with the parts that it stands for."""
    rows = _alike(graph)
    called = {
        name: f"{row}.* ×{len(names)}" for row, names in rows.items() for name in names if f"{row}.*" not in graph
    }
    found: dict[str, list[str]] = {}
    for name in graph:
        found.setdefault(called.get(name, name), []).append(name)
    return found


def _alike(graph: networkx.DiGraph[str]) -> dict[str, list[str]]:
    """The rows whose units are all of one kind, and wired alike: unit by unit, or all with the same part."""
    rows: dict[str, list[str]] = {}
    for name in graph:
        row, _, number = name.rpartition(".")
        if row and number.isdecimal():
            rows.setdefault(row, []).append(name)
    rows = {row: names for row, names in rows.items() if len(names) > 1}
    while True:
        numbers: dict[str, Row] = {name: (row, _number(name)) for row, names in rows.items() for name in names}
        kept = {
            row: names for row, names in rows.items() if len({_wiring(graph, name, numbers) for name in names}) == 1
        }
        if len(kept) == len(rows):
            return kept
        # A row that does not fold is seen unit by unit by those beside it, and they are judged again.
        rows = kept


def _number(name: str) -> int:
    return int(name.rpartition(".")[2])


def _wiring(graph: networkx.DiGraph[str], name: str, numbers: dict[str, Row]) -> object:
    """What a unit is and is wired to, the unit of the same number in another row by the name of that row."""

    def other(neighbour: str) -> tuple[str, bool]:
        row, number = numbers.get(neighbour, (neighbour, -1))
        beside = number == _number(name) and row != numbers[name][0]
        return (row, True) if beside else (neighbour, False)

    def facts(source: str, reader: str) -> tuple[tuple[str, str], ...]:
        return tuple(sorted((key, str(value)) for key, value in graph.edges[source, reader].items()))

    node = tuple(sorted((key, str(value)) for key, value in graph.nodes[name].items()))
    read = frozenset((other(each), facts(each, name)) for each in graph.predecessors(name))
    given = frozenset((other(each), facts(name, each)) for each in graph.successors(name))
    return node, read, given
