"""Of drawings that are one another turned, mirrored, or with parts exchanged that are wired alike, only one is sought.

Turned and mirrored drawings are read alike: no rule of wiring prefers a direction within the layer. Parts are wired
alike where an automorphism of the wiring takes one to the other. Of all drawings that the two kinds of change make of
one, in any combination, one has some part at the first place of the box at which any of them has it: the others are
forbidden.
It is the first step of a lex-leader (J. Crawford, M. Ginsberg, E. Luks and A. Roy, "Symmetry-breaking predicates for
search problems", KR 1996), which keeps one drawing of each such family at least.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from circuitcheck.model.drawing import At
from circuitcheck.placing.exact_places import Box, Places
from circuitcheck.placing.exact_wanted import Wanted, WantedPart

MOST_TRIED = 2_000
"""How many automorphisms are looked at: leaving some out only leaves more drawings to be sought."""


def write(places: Places) -> None:
    """Adds what forbids all but one of such drawings, or some of them; where places are asked for, none."""
    if places.wanted.asked:
        return
    families = alike(places.wanted)
    chosen = max(families, key=lambda name: len(families[name]))
    order = {place: number for number, place in enumerate(places.places)}
    by_then = places.by_then[chosen]
    for place in places.places:
        first = min(order[turned(place)] for turned in turns(places.box))
        for name in families[chosen]:
            places.clauses.add(-places.at(name, place), by_then[first])


def turns(box: Box) -> Iterator[Callable[[At], At]]:
    """The ways of turning and mirroring a box, seen from above, by where each place of it goes."""
    for quarter in (False, True) if box.width == box.depth else (False,):
        for south in (False, True):
            for east in (False, True):
                yield _turn(box, quarter, south, east)


def _turn(box: Box, quarter: bool, south: bool, east: bool) -> Callable[[At], At]:
    def turned(place: At) -> At:
        layer, row, column = place
        row = box.depth + 1 - row if south else row
        column = box.width + 1 - column if east else column
        return (layer, column, row) if quarter else (layer, row, column)

    return turned


def alike(wanted: Wanted) -> dict[str, set[str]]:
    """For each part those to which an automorphism of the wiring takes it, itself among them."""
    import networkx
    from networkx.algorithms.isomorphism import DiGraphMatcher

    graph: networkx.DiGraph[str] = networkx.DiGraph()
    for part in wanted.parts:
        graph.add_node(part.name, told=_told(part))
    for dust in wanted.dust:
        graph.add_node(f"dust {dust.name}", told="dust")
        for source, lost in dust.reached.items():
            graph.add_edge(source, f"dust {dust.name}", told=frozenset({("power", lost)}))
    for part in wanted.parts:
        for port, losses in part.inputs.items():
            for source, lost in losses.items():
                told = graph.edges[source, part.name]["told"] if graph.has_edge(source, part.name) else frozenset()
                graph.add_edge(source, part.name, told=told | {(port, lost)})
    matcher = DiGraphMatcher(graph, graph, node_match=_as_told, edge_match=_as_told)
    found = {part.name: {part.name} for part in wanted.parts}
    for _, to in zip(range(MOST_TRIED), matcher.isomorphisms_iter(), strict=False):
        for name in found:
            found[name].add(to[name])
    return found


def _told(part: WantedPart) -> tuple[object, ...]:
    return (part.word, part.thing.flags, part.thing.numbers, part.straight)


def _as_told(one: dict[str, object], other: dict[str, object]) -> bool:
    return one["told"] == other["told"]
