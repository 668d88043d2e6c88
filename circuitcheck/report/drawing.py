"""Pictures as self-contained SVG: a run over time, and the signal graph in layers."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from circuitcheck.engine.machine import read
from circuitcheck.engine.record import Recording
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.duration import show
from circuitcheck.report.lines import safe
from circuitcheck.report.svg import BLUE, GREY, INK, MARGIN, VERMILION, svg, text, written

if TYPE_CHECKING:
    import networkx

ROW, HEIGHT, COLUMN = 34, 22, 8
LONGEST_PICTURE = 1_500
"""How many gt are drawn at most."""


# A run


def run_svg(recording: Recording, names: Sequence[str], title: str) -> str:
    """The signals of a run over time: a line a signal, its height the level; levels in between carry their number."""
    until = min(recording.until, LONGEST_PICTURE)
    left = MARGIN * 2 + 7.5 * max((len(safe(name)) for name in names), default=4)
    width = left + COLUMN * (until + 1) + MARGIN
    height = MARGIN * 3 + ROW * len(names)
    described = f"{len(names)} signals from 0t to {show(until)}; a step up is on, a step down is off."
    root = svg(width, height, title, described)
    for at in range(0, until + 1, 10):
        x = left + COLUMN * at
        ElementTree.SubElement(
            root,
            "line",
            {"x1": f"{x:g}", "x2": f"{x:g}", "y1": "24", "y2": f"{height - MARGIN:g}", "stroke": "#dddddd"},
        )
        if at % 20 == 0:
            text(root, x + 2, 18, show(at))
    for place, name in enumerate(names):
        _row(root, recording, name, left, MARGIN * 2 + ROW * place, until)
    return written(root)


def _row(root: ElementTree.Element, recording: Recording, name: str, left: float, top: float, until: int) -> None:
    steps = _steps(recording, name, until)
    base = top + HEIGHT
    text(root, MARGIN, base - 5, name)
    points = []
    for (at, level), (following, _) in zip(steps, [*steps[1:], (until + 1, 0)], strict=True):
        y = base - HEIGHT * level / 15
        points += [f"{left + COLUMN * at:g},{y:g}", f"{left + COLUMN * following:g},{y:g}"]
        if 0 < level < 15:
            text(root, left + COLUMN * at + 2, y - 2, str(level), **{"font-size": "9"})
    ElementTree.SubElement(
        root, "polyline", {"points": " ".join(points), "fill": "none", "stroke": BLUE, "stroke-width": "2"}
    )


def _steps(recording: Recording, name: str, until: int) -> list[tuple[int, int]]:
    """(gt, level) at the start and wherever the level has changed at the end of a gt."""
    feeds = recording.machine.probe(name)
    edges = [(at, level) for at, level in recording.edges(feeds) if at <= until]
    return [(0, read(feeds, recording.start)), *edges]


# The signal graph

BOX_WIDTH, BOX_HEIGHT, GAP_X, GAP_Y = 120, 34, 60, 18
MOST_DRAWN = 400
"""How many parts are drawn in one picture of a graph."""


class TooManyParts(Exception):
    """The circuit is too large to be drawn as a graph; DOT and GraphML have no such bound."""


def graph_svg(circuit: Circuit) -> str:
    """The signal graph in layers from inputs to outputs. Raises TooManyParts."""
    graph = circuit.graph
    if len(graph) > MOST_DRAWN:
        raise TooManyParts(f"{len(graph)} parts are too many to draw; {MOST_DRAWN} at most")
    layers = _layers(graph)
    places = {
        name: (MARGIN + x * (BOX_WIDTH + GAP_X), MARGIN * 2 + y * (BOX_HEIGHT + GAP_Y))
        for x, layer in enumerate(layers)
        for y, name in enumerate(layer)
    }
    width = MARGIN * 2 + len(layers) * (BOX_WIDTH + GAP_X)
    height = MARGIN * 4 + max((len(layer) for layer in layers), default=1) * (BOX_HEIGHT + GAP_Y)
    described = f"{len(graph)} parts; arrows run from source to reader, those that end in a circle invert."
    root = svg(width, height, f"The signal graph of {circuit.name}", described)
    for source, reader in graph.edges:
        _arrow(root, places[source], places[reader], graph.edges[source, reader])
    for name, (x, y) in places.items():
        _box(root, x, y, name, graph.nodes[name])
    return written(root)


def _layers(graph: networkx.DiGraph[str]) -> list[list[str]]:
    """Each part as far right as its longest way from an input, loops broken open; then sorted by its neighbours."""
    import networkx

    forward: networkx.DiGraph[str] = networkx.DiGraph()
    forward.add_nodes_from(graph)
    order = {name: place for place, name in enumerate(graph)}
    components = {name: n for n, part in enumerate(networkx.strongly_connected_components(graph)) for name in part}
    forward.add_edges_from(
        (source, reader)
        for source, reader in graph.edges
        if components[source] != components[reader] or order[source] < order[reader]
    )
    layers = [sorted(layer, key=order.__getitem__) for layer in networkx.topological_generations(forward)]
    for _ in range(2):
        for before, layer in itertools.pairwise(layers):
            row = {name: place for place, name in enumerate(before)}
            layer.sort(key=lambda name, row=row: _middle(graph, name, row))  # type: ignore[misc]
    return layers


def _middle(graph: networkx.DiGraph[str], name: str, row: dict[str, int]) -> float:
    near = [row[source] for source in graph.pred[name] if source in row]
    return sum(near) / len(near) if near else float(len(row))


def _box(root: ElementTree.Element, x: float, y: float, name: str, node: dict[str, object]) -> None:
    box = {"x": f"{x:g}", "y": f"{y:g}", "width": f"{BOX_WIDTH}", "height": f"{BOX_HEIGHT}"}
    ElementTree.SubElement(root, "rect", {**box, "rx": "4", "fill": "#ffffff", "stroke": INK})
    shown = safe(name)
    text(root, x + 6, y + 14, shown if len(shown) <= 16 else shown[:15] + "…")
    lag = node["lag"]
    kind = f"{node['kind']}{f', {show(lag)}' if isinstance(lag, int) and lag else ''}"
    text(root, x + 6, y + 28, kind, **{"font-size": "10", "fill": "#555555"})


def _arrow(
    root: ElementTree.Element, source: tuple[float, float], reader: tuple[float, float], edge: dict[str, object]
) -> None:
    x1, y1 = source[0] + BOX_WIDTH, source[1] + BOX_HEIGHT / 2
    x2, y2 = reader[0] - 8, reader[1] + BOX_HEIGHT / 2
    colour = VERMILION if edge["inverts"] else GREY if edge["joined"] else BLUE
    bend = GAP_X / 2 if x2 > x1 else GAP_X
    path = f"M {x1:g} {y1:g} C {x1 + bend:g} {y1:g} {x2 - bend:g} {y2:g} {x2:g} {y2:g}"
    dashed = {"stroke-dasharray": "4 3"} if edge["watches"] else {}
    ElementTree.SubElement(root, "path", {"d": path, "fill": "none", "stroke": colour, "stroke-width": "1.5", **dashed})
    if edge["inverts"]:
        circle = {"cx": f"{x2 + 4:g}", "cy": f"{y2:g}", "r": "4", "fill": "#ffffff", "stroke": colour}
        ElementTree.SubElement(root, "circle", circle)
    else:
        tip = f"{x2 + 8:g},{y2:g} {x2:g},{y2 - 4:g} {x2:g},{y2 + 4:g}"
        ElementTree.SubElement(root, "polygon", {"points": tip, "fill": colour})
