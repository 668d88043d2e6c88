"""Light in drawings by shortest paths: a graph of places built from the rules (G1 to G3), for NetworkX to search.

A step into a place costs what the block there takes, and the light at a place is 15 less the shortest path to it. Each
place is there twice: as full sun straight from the sky comes to it, and as any other light does.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import networkx

from circuitcheck.model.drawing import At

FULL_SUN = 15
SOLID = frozenset("SKOQCmgP[]!?+=DdhC⇑⇓")
"""Letters of blocks, lamps, cells, pistons and detectors, which stop light (rules G3, W1)."""
UPPER, LOWER = "^", "_"
STEPS = {"down": (-1, 0, 0), "up": (1, 0, 0), "n": (0, -1, 0), "s": (0, 1, 0), "w": (0, 0, -1), "e": (0, 0, 1)}
MARGIN = 3
"""How far around a drawing the open air is looked at."""
GIVES = {**dict.fromkeys("OQ", 15), **dict.fromkeys("TWENZ", 7), "*": 14}
"""What lamps, torches and standing lights give (rule G1)."""

Letters = dict[At, str]
Node = tuple[At, str]


def letters_of(layers: tuple[str, ...]) -> Letters:
    return {
        (layer, row, column): letter
        for layer, rows in enumerate(layers, 1)
        for row, letters in enumerate(rows.split("/"), 1)
        for column, letter in enumerate(letters, 1)
    }


def takes(letter: str, water: int) -> int | None:
    """What a block takes of light that is not full sun on its way down; None where none passes."""
    if letter in SOLID:
        return None
    return water if letter == "~" else 1


def graph_of(letters: Letters, water: int = 3, half_stops: bool = True) -> networkx.DiGraph[Node | str]:
    """Every step that light can take, from the sky on; around and above is air, below is ground (README, Drawings)."""
    most = [max(place[axis] for place in letters) for axis in range(3)]
    places = {
        (layer, row, column)
        for layer in range(1, most[0] + MARGIN + 1)
        for row in range(1 - MARGIN, most[1] + MARGIN + 1)
        for column in range(1 - MARGIN, most[2] + MARGIN + 1)
    }
    graph: networkx.DiGraph[Node | str] = networkx.DiGraph()
    graph.add_nodes_from((place, state) for place in places for state in ("sun", "dim"))
    for place in places:
        if place[0] == most[0] + MARGIN:
            graph.add_edge("sky", (place, "sun"), weight=0)
        for way, other, cost in _steps(place, letters, water, half_stops):
            if other in places:
                graph.add_edge((place, "dim"), (other, "dim"), weight=cost)
                straight = way == "down" and letters.get(other, ".") not in "~%" + (UPPER + LOWER) * (not half_stops)
                graph.add_edge((place, "sun"), (other, "sun" if straight else "dim"), weight=0 if straight else cost)
    return graph


def _steps(place: At, letters: Letters, water: int, half_stops: bool) -> Iterator[tuple[str, At, int]]:
    here = letters.get(place, ".")
    for way, step in STEPS.items():
        other = (place[0] + step[0], place[1] + step[1], place[2] + step[2])
        there = letters.get(other, ".")
        cost = takes(there, water)
        into = (there == UPPER and way == "down") or (there == LOWER and way == "up")
        out = (here == UPPER and way == "up") or (here == LOWER and way == "down")
        if cost is not None and not (half_stops and (into or out)):
            yield way, other, cost


def lit(graph: networkx.DiGraph[Node | str], source: At | str, level: int) -> Callable[[At], int]:
    """The light at any place, of a source that gives this level."""
    start: Node | str = source if isinstance(source, str) else (source, "dim")
    lengths = networkx.single_source_dijkstra_path_length(graph, start)
    return lambda place: max(0, *(level - int(lengths.get((place, state), level)) for state in ("sun", "dim")))
