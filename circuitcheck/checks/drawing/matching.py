"""Which part of one circuit is like which of another: isomorphism of wiring graphs, and what is nearest to it.

The search is networkx's (VF2), on nodes that have been sorted first by what surrounds them (colour refinement).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Mapping
from typing import TYPE_CHECKING

from circuitcheck.checks.drawing.wiring_graph import Wiring

if TYPE_CHECKING:
    import networkx

ROUNDS = 30
"""How often nodes are sorted by their surroundings at most."""

MOST_TRIED = 100_000
"""How many pairs of parts are tried before a comparison is given up."""


class TooMuchAlike(Exception):
    """So many parts look alike that they can't be paired within bounds."""


def isomorphism(mine: Wiring, theirs: Wiring) -> dict[str, str] | None:
    """For each part of one circuit the part of the other that is like it; None where the circuits are not the same.

    Raises TooMuchAlike.
    """
    from networkx.algorithms.isomorphism import DiGraphMatcher

    colours = refined(mine, theirs)
    if sorted(colours[0].values()) != sorted(colours[1].values()):
        return None
    if len(set(colours[0].values())) == len(colours[0]):
        back = {colour: name for name, colour in colours[1].items()}
        return {name: back[colour] for name, colour in colours[0].items()}  # each looks like one other only

    class Bounded(DiGraphMatcher):
        """Gives up once so many pairs have been tried: where many parts look alike, there may be too many ways."""

        tried = 0

        def semantic_feasibility(self, one: str, other: str) -> bool:
            self.tried += 1
            if self.tried > MOST_TRIED:
                raise TooMuchAlike
            return bool(super().semantic_feasibility(one, other))  # type: ignore[no-untyped-call]

    matcher = Bounded(
        _graph(mine, colours[0]),
        _graph(theirs, colours[1]),
        node_match=lambda one, other: bool(one["colour"] == other["colour"]),
        edge_match=lambda one, other: bool(one["ports"] == other["ports"]),
    )
    return dict(matcher.mapping) if matcher.is_isomorphic() else None


def refined(mine: Wiring, theirs: Wiring) -> tuple[dict[str, int], dict[str, int]]:
    """A number for each part that is the same for parts that look alike from where they stand (colour refinement)."""
    both = (mine, theirs)
    known: dict[object, int] = {}
    colours = tuple({name: known.setdefault(label, len(known)) for name, label in w.labels.items()} for w in both)
    for _ in range(ROUNDS):
        fresh: dict[object, int] = {}
        following = []
        for wires, colour in zip(both, colours, strict=True):
            around: dict[str, list[tuple[object, ...]]] = defaultdict(list)
            for reader, inputs in wires.inputs.items():
                for (port, source), lost in inputs.items():
                    around[reader].append(("in", port, lost, colour[source]))
                    around[source].append(("out", port, lost, colour[reader]))
            keys = {name: (colour[name], tuple(sorted(around[name], key=repr))) for name in wires.labels}
            following.append({name: fresh.setdefault(key, len(fresh)) for name, key in keys.items()})
        settled = len(fresh) == len({each for colour in colours for each in colour.values()})
        colours = tuple(following)
        if settled:
            break
    return colours[0], colours[1]


def _graph(wires: Wiring, colour: Mapping[str, int]) -> networkx.DiGraph[str]:
    import networkx

    graph: networkx.DiGraph[str] = networkx.DiGraph()
    for name in wires.labels:
        graph.add_node(name, colour=colour[name])
    ports: dict[tuple[str, str], list[tuple[str, tuple[int, ...]]]] = defaultdict(list)
    for reader, inputs in wires.inputs.items():
        for (port, source), lost in inputs.items():
            ports[source, reader].append((port, lost))
    for (source, reader), among in ports.items():
        graph.add_edge(source, reader, ports=frozenset(among))
    return graph


def paired(mine: Wiring, theirs: Wiring) -> dict[str, str]:
    """Parts of two circuits that are not the same, paired as well as can be.

    Parts of one name and kind first. From those on, round by round, parts that alone look alike from where they stand;
    so one difference spoils no more than what is next to it. What is left is paired by settings, then by kind.
    """
    pairs = {name: name for name, label in mine.labels.items() if theirs.labels.get(name, ("",))[0] == label[0]}
    for _ in range(ROUNDS):
        seeds = {name: number for number, name in enumerate(pairs)}
        others = {pairs[name]: number for name, number in seeds.items()}
        views = (_view(mine, seeds), _view(theirs, others))
        counts = [Counter(view.values()) for view in views]
        by_view = {key: name for name, key in views[1].items()}
        fresh = {
            name: by_view[key] for name, key in views[0].items() if counts[0][key] == 1 and counts[1].get(key, 0) == 1
        }
        if not fresh:
            break
        pairs |= fresh
    for exact in (True, False):
        taken = set(pairs.values())
        free: dict[object, list[str]] = defaultdict(list)
        for name, label in theirs.labels.items():
            if name not in taken:
                free[label if exact else label[0]].append(name)
        for name, label in mine.labels.items():
            alike = free[label if exact else label[0]]
            if name not in pairs and alike:
                pairs[name] = alike.pop(0)
    return pairs


def _view(wires: Wiring, seeds: Mapping[str, int]) -> dict[str, Hashable]:
    """How each part that has no pair yet looks: what it is, and those of its neighbours that have one."""
    around: dict[str, list[tuple[object, ...]]] = defaultdict(list)
    for reader, inputs in wires.inputs.items():
        for port, source in inputs:
            if source in seeds:
                around[reader].append(("in", port, seeds[source]))
            if reader in seeds:
                around[source].append(("out", port, seeds[reader]))
    return {
        name: (label, tuple(sorted(around[name], key=repr)))
        for name, label in wires.labels.items()
        if name not in seeds and around[name]
    }
