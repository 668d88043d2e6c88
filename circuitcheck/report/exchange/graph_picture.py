"""The signal graph as a picture: parts in columns from inputs to outputs, every way led around the parts on it.

A way that goes past columns has a lane of its own in each of them, among the boxes; one that leads back has its lanes
below all boxes. So a line never runs behind a box. The columns and lanes are those of Sugiyama, Tagawa and Toda,
"Methods for Visual Understanding of Hierarchical System Structures" (IEEE Trans. SMC 11, 1981), with its barycentres.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple
from xml.etree import ElementTree

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.duration import show
from circuitcheck.report.exchange.folded_graph import folded
from circuitcheck.report.exchange.svg import BLUE, GREY, INK, MARGIN, VERMILION, svg, text, written
from circuitcheck.report.lines import safe

if TYPE_CHECKING:
    import networkx

BOX_WIDTH, BOX_HEIGHT, GAP_X, GAP_Y = 120, 34, 60, 18
LANE = 14
TIP = 8
MOST_DRAWN = 400
"""How many parts are drawn in one picture of a graph."""
SWEEPS = 6
LEAST_ACROSS = 4
"""Unwired parts stand side by side, at least so many if there are."""


class TooManyParts(Exception):
    """The circuit is too large to be drawn as a graph; DOT and GraphML have no such bound."""


class Lane(NamedTuple):
    """Where the ways of one look that leave a part pass a column."""

    source: str
    looks: tuple[bool, bool, bool, bool]
    """Whether they invert, watch, join dust both ways, and carry power."""
    column: int
    leads_back: bool


Stop = str | Lane
"""What takes room in a column: a part, or a lane for ways that go past."""


class Way(NamedTuple):
    """An edge of the graph, and the lanes that it takes from its source to its reader."""

    source: str
    reader: str
    lanes: tuple[Lane, ...]


def graph_svg(circuit: Circuit, rows_fold: bool = False) -> str:
    """The signal graph in columns from inputs to outputs, unwired parts below. Raises TooManyParts.

    `rows_fold`: each row of units that are wired alike stands once, with their number.
    """
    return written(graph_picture(circuit, rows_fold))


def graph_picture(circuit: Circuit, rows_fold: bool = False) -> ElementTree.Element:
    """The picture; each box is a group that carries its part as `data-part`, each line its source as `data-from`."""
    graph = folded(circuit.graph) if rows_fold else circuit.graph
    if len(graph) > MOST_DRAWN:
        raise TooManyParts(f"{len(graph)} parts are too many to draw; {MOST_DRAWN} at most")
    unwired = [name for name in graph if not graph.degree(name)]
    wired = graph.copy()  # a view of a part of it would forget the order of the nodes
    wired.remove_nodes_from(unwired)
    columns = _columns(wired)
    ways = list(_ways(graph, columns))
    stops = _sorted(columns, ways)
    left = MARGIN + (GAP_X // 2 if any(lane.leads_back for way in ways for lane in way.lanes) else 0)
    places = {
        stop: (left + x * (BOX_WIDTH + GAP_X), y)
        for x, column in enumerate(stops)
        for stop, y in zip(column, _heights(column), strict=True)
    }
    across = max(len(columns), min(len(unwired), LEAST_ACROSS))
    below = max((y + BOX_HEIGHT + GAP_Y * 2 for _, y in places.values()), default=MARGIN * 2.0)
    for place, name in enumerate(unwired):
        row, column = divmod(place, across)
        places[name] = (left + column * (BOX_WIDTH + GAP_X), below + row * (BOX_HEIGHT + GAP_Y))
    width = left + MARGIN + across * (BOX_WIDTH + GAP_X)
    height = MARGIN * 2 + max((y + BOX_HEIGHT for _, y in places.values()), default=BOX_HEIGHT)
    arrows = "arrows run from source to reader; one that ends in a circle inverts, one that ends in a padlock locks"
    described = f"{len(graph)} parts; {arrows}; joined dust has none."
    root = svg(width, height, f"The signal graph of {circuit.name}", described)
    for way in ways:
        _line(root, way, places, graph.edges[way.source, way.reader])
    for name in graph:
        _box(root, *places[name], name, graph.nodes[name])
    return root


# Where everything is


def _columns(graph: networkx.DiGraph[str]) -> list[list[str]]:
    """Each part as far right as its longest way from an input, loops broken open."""
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
    return [sorted(layer, key=order.__getitem__) for layer in networkx.topological_generations(forward)]


def _ways(graph: networkx.DiGraph[str], columns: Sequence[Sequence[str]]) -> Iterator[Way]:
    """Every edge with the lanes that it takes; of two that join dust both ways only one."""
    column = {name: x for x, layer in enumerate(columns) for name in layer}
    for source, reader in graph.edges:
        edge = graph.edges[source, reader]
        here, there = column[source], column[reader]
        both_ways = edge["joined"] and graph.has_edge(reader, source)
        if both_ways and (here, source) > (there, reader):
            continue
        leads_back = there <= here
        passed = range(here, there - 1, -1) if leads_back else range(here + 1, there)
        looks = (bool(edge["inverts"]), bool(edge["watches"]), bool(edge["joined"]), bool(edge["carries"]))
        yield Way(source, reader, tuple(Lane(source, looks, x, leads_back) for x in passed))


def _sorted(columns: Sequence[Sequence[str]], ways: Iterable[Way]) -> list[list[Stop]]:
    """Parts and lanes of each column, near what they are joined to; lanes that lead back below all else."""
    stops: list[list[Stop]] = [list(layer) for layer in columns]
    near: dict[Stop, dict[Stop, None]] = {}
    column: dict[Stop, int] = {name: x for x, layer in enumerate(columns) for name in layer}
    for way in ways:
        for lane in way.lanes:
            if lane not in column:
                stops[lane.column].append(lane)
                column[lane] = lane.column
        along: tuple[Stop, ...] = (way.source, *way.lanes, way.reader)
        for one, other in itertools.pairwise(along):
            near.setdefault(one, {})[other] = None
            near.setdefault(other, {})[one] = None
    rows = {stop: place for layer in stops for place, stop in enumerate(layer)}
    for sweep in range(SWEEPS):
        step = 1 if sweep % 2 == 0 else -1
        for x in range(len(stops))[::step]:
            middles = {stop: _middle(stop, near, rows, column, x - step) for stop in stops[x]}
            stops[x].sort(key=lambda stop, middles=middles: middles[stop])  # type: ignore[misc]
            rows |= {stop: place for place, stop in enumerate(stops[x])}
    return stops


def _middle(
    stop: Stop, near: Mapping[Stop, Iterable[Stop]], rows: Mapping[Stop, int], column: Mapping[Stop, int], beside: int
) -> tuple[bool, float]:
    """The mean row of what a stop is joined to in the column beside it; its own row where that is nothing."""
    joined = [rows[other] for other in near.get(stop, ()) if column[other] == beside]
    return isinstance(stop, Lane) and stop.leads_back, sum(joined) / len(joined) if joined else rows[stop]


def _heights(column: Iterable[Stop]) -> Iterator[float]:
    """How far down each stop of a column begins."""
    y = MARGIN * 2.0
    for stop in column:
        yield y
        y += LANE if isinstance(stop, Lane) else BOX_HEIGHT + GAP_Y


# What it looks like


def _box(root: ElementTree.Element, x: float, y: float, name: str, node: Mapping[str, object]) -> None:
    box = {"x": f"{x:g}", "y": f"{y:g}", "width": f"{BOX_WIDTH}", "height": f"{BOX_HEIGHT}"}
    group = ElementTree.SubElement(root, "g", {"data-part": safe(name)})
    ElementTree.SubElement(group, "rect", {**box, "rx": "4", "fill": "#ffffff", "stroke": INK})
    shown = safe(name)
    text(group, x + 6, y + 14, shown if len(shown) <= 16 else shown[:15] + "…")
    lag = node["lag"]
    kind = f"{node['kind']}{f', {show(lag)}' if isinstance(lag, int) and lag else ''}"
    text(group, x + 6, y + 28, kind, **{"font-size": "10", "fill": "#555555"})
    ElementTree.SubElement(group, "title").text = f"{shown}, {kind}"


def _line(
    root: ElementTree.Element, way: Way, places: Mapping[Stop, tuple[float, float]], edge: Mapping[str, object]
) -> None:
    locks = not edge["carries"]
    colour = VERMILION if edge["inverts"] else GREY if edge["joined"] else INK if locks else BLUE
    (x1, y1), (x2, y2) = places[way.source], places[way.reader]
    x, y = x1 + BOX_WIDTH, y1 + BOX_HEIGHT / 2
    end_x, end_y = x2 - (0 if edge["joined"] else TIP), y2 + BOX_HEIGHT / 2
    path = f"M {x:g} {y:g}"
    for lane in way.lanes:
        left, lane_y = places[lane]
        enter, leave = (left + BOX_WIDTH, left) if lane.leads_back else (left, left + BOX_WIDTH)
        path += f"{_curve(x, y, enter, lane_y, lane.leads_back)} L {leave:g} {lane_y:g}"
        x, y = leave, lane_y
    path += _curve(x, y, end_x, end_y, bool(way.lanes) and way.lanes[-1].leads_back)
    dashed = {"stroke-dasharray": "4 3"} if edge["watches"] else {}
    line = {"d": path, "fill": "none", "stroke": colour, "stroke-width": "1.5", "data-from": safe(way.source), **dashed}
    ElementTree.SubElement(root, "path", line)
    if edge["inverts"]:
        _end(root, "inverts", "circle", cx=end_x + 4, cy=end_y, r=4, fill="#ffffff", stroke=colour)
    elif locks:
        lock = _end(root, "locks", "circle", cx=end_x + 4, cy=end_y - 3, r=3, fill="#ffffff", stroke=colour)
        _shape(lock, "rect", x=end_x, y=end_y - 3, width=8, height=7, fill=colour)
    elif not edge["joined"]:  # between dust that is joined, power runs both ways
        tip = f"{end_x + TIP:g},{end_y:g} {end_x:g},{end_y - 4:g} {end_x:g},{end_y + 4:g}"
        _shape(root, "polygon", points=tip, fill=colour)


def _end(root: ElementTree.Element, means: str, shape: str, **marks: float | str) -> ElementTree.Element:
    """What a line ends in that is no arrow: a circle where it inverts, a padlock where it locks."""
    group = ElementTree.SubElement(root, "g", {"class": means})
    ElementTree.SubElement(group, "title").text = means
    _shape(group, shape, **marks)
    return group


def _shape(parent: ElementTree.Element, shape: str, **marks: float | str) -> None:
    written_out = {name: each if isinstance(each, str) else f"{each:g}" for name, each in marks.items()}
    ElementTree.SubElement(parent, shape, written_out)


def _curve(x1: float, y1: float, x2: float, y2: float, leads_back: bool) -> str:
    """From one place to another, level at both ends; where it turns round, by a bow to the side that it came to."""
    bend = GAP_X / 2
    if not leads_back:
        near, far = x1 + bend, x2 - bend
    elif abs(x1 - x2) <= TIP:
        # Out to the right into the first lane, or out of the last lane, at the left, and in again.
        side = bend if y2 > y1 else -bend
        near, far = x1 + side, x2 + side
    else:
        near, far = x1 - bend, x2 + bend
    return f" C {near:g} {y1:g} {far:g} {y2:g} {x2:g} {y2:g}"
