"""Whether something comes again and again, or ever: what only a run without end can break.

A run without end of a finite graph comes to a strongly connected part of it and stays there. So a claim is broken where
such a part can be reached in which what is owed is never given, and in which everything holds now and then that the
claim takes to hold again and again: O. Lichtenstein and A. Pnueli, "Checking that finite state concurrent programs
satisfy their linear specification" (POPL 1985). The trace is a *lasso*: a way in, and a round that leads back to where
it began.

Nothing is taken for granted of unknown orders (rule C5): one may go the same way for ever.

Where the circuit is cut into pieces, a reduced piece shows what the piece can show, over every finite run (see
`prove.automaton`), and so over every infinite one too, since its states are finite in number (D. Kőnig's lemma). The
cuts allow more than can happen, never less: what is proved with them is so.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from circuitcheck.model.claims import ForEver
from circuitcheck.prove.compose import Step, Stimulus
from circuitcheck.prove.meter import OverBudget
from circuitcheck.prove.owed import Owed
from circuitcheck.prove.space import FIELD, Questions, Setting, Space

SPACE = 3 * FIELD
"""Bits for the state of the circuit; whether something is owed stands above them."""
SPACE_MASK = (1 << SPACE) - 1
OWED = 1 << SPACE
MOST_EDGES = 500_000
"""Where the budget runs out, rounds are looked for among what was explored if it has so many edges at most."""
NONE_AMONG = "no round among the states explored breaks it"
NOT_AMONG = "rounds among the states explored were not looked for"
MOST_LASSOS = 8
"""Of so many parts in which the claim is broken the shortest lasso is looked for."""


class Lasso(NamedTuple):
    """A run without end: what the world does on the way in, and then in each round."""

    way: Stimulus
    round: Stimulus


class Endless(NamedTuple):
    """What came of it."""

    states: int
    depth: int
    """How many gt away the farthest state is."""
    lasso: Lasso | None
    triggered: bool
    """Whether anything was ever owed."""
    fair: bool
    """Whether any run keeps to what the claim takes to hold again and again."""
    limit: str = ""
    """What ran out before all was explored."""


Edge = tuple[int, int]
"""The answers to the questions, and the node by then: a state, and whether something is owed in it."""


class ForEverSearch:
    """One claim, and every state with whether something is owed in it."""

    def __init__(self, setting: Setting, body: ForEver) -> None:
        self._setting = setting
        self._questions = Questions()
        self._claim = Owed(body, self._questions.compiles)
        rests = self._claim.rest
        # A round that leads back to a state with like units exchanged is no round yet.
        self._space = Space(setting, self._questions.atoms, resting=rests, counted=rests, lumped=False)
        self._busy = 1 << len(self._questions.atoms)
        self._parents: dict[int, int | None] = {}
        self._edges: dict[int, tuple[Edge, ...]] = {}
        self._depth = -1
        self._triggered = False

    def run(self) -> Endless:
        """Explores, then looks for a part of the graph that never gives what is owed. Raises PieceTooLarge, TooMuch.

        Where the budget ran out, a lasso among what was explored is one all the same.
        """
        limit = ""
        try:
            self._explore()
        except OverBudget as over:
            limit = str(over)
            if self._setting.meter.full or sum(map(len, self._edges.values())) > MOST_EDGES:
                return Endless(len(self._parents), max(self._depth, 0), None, False, True, f"{limit}; {NOT_AMONG}")
        self._setting.meter.release()
        fair = bool(limit or not self._claim.count) or next(self._fair_parts(self._edges), None) is not None
        owed = {
            node: tuple(edge for edge in self._left_alone(node) if edge[1] & OWED)
            for node in self._edges
            if node & OWED
        }
        lassos = (self._lasso(part) for part in itertools.islice(self._fair_parts(owed), MOST_LASSOS))
        lasso = min(lassos, key=lambda each: len(each.way) + len(each.round), default=None)
        limit = limit and f"{limit}; {NONE_AMONG}"
        return Endless(len(self._parents), max(self._depth, 0), lasso, self._triggered, fair, limit)

    def _explore(self) -> None:
        layer: dict[int, None] = {}
        for bits, state in self._space.starts():
            self._meet(self._owed(0, bits) | state, None, layer)
        while layer:
            self._depth += 1
            following: dict[int, None] = {}
            for node in layer:
                successors = self._space.successors(node & SPACE_MASK)
                edges = tuple((bits, self._owed(node & OWED, bits) | after) for bits, after in successors)
                self._edges[node] = edges
                for _, after in edges:
                    self._meet(after, node, following)
                self._setting.meter.count(1, len(edges))
                self._setting.grown(len(self._parents))
            layer = following

    def _meet(self, node: int, before: int | None, layer: dict[int, None]) -> None:
        if node not in self._parents:
            self._parents[node] = before
            layer[node] = None

    def _owed(self, owed: int, bits: int) -> int:
        """OWED if something is owed after a gt at whose end the questions are answered so."""
        answers = self._questions.answers(bits)
        self._triggered = self._triggered or self._claim.triggers(answers, answers)
        return OWED if self._claim.after(bool(owed), answers, answers, bool(bits & self._busy)) else 0

    def _held(self, bits: int) -> frozenset[int]:
        answers = self._questions.answers(bits)
        return self._claim.held(answers, answers)

    def _left_alone(self, node: int) -> Iterable[Edge]:
        """The edges that a round may take: where rest is claimed, only those in which nobody does anything."""
        if not self._claim.rest:
            return self._edges[node]
        untouched = self._space.untouched(node & SPACE_MASK)
        return [(bits, self._owed(node & OWED, bits) | after) for bits, after in untouched]

    def _fair_parts(self, edges: Mapping[int, Sequence[Edge]]) -> Iterator[_Part]:
        """Each part in which a run can stay with all that is given holding in it again and again."""
        import networkx  # only claims about runs without end need it

        graph = networkx.DiGraph((node, after) for node, each in edges.items() for _, after in each if after in edges)
        for nodes in networkx.strongly_connected_components(graph):
            inside = {node: [edge for edge in edges[node] if edge[1] in nodes] for node in nodes}
            self._setting.meter.count(0, sum(map(len, inside.values())))
            through = [
                next(((node, edge) for node in inside for edge in inside[node] if given in self._held(edge[0])), None)
                for given in range(self._claim.count)
            ]
            if all(each is not None for each in through) and any(inside.values()):
                yield _Part(inside, [each for each in through if each is not None])

    # The trace

    def _lasso(self, part: _Part) -> Lasso:
        """A way into a part, as short as can be, and a round in it through all that is given."""
        entry = next(node for node in self._parents if node in part.edges)
        way = [entry]
        while (before := self._parents[way[-1]]) is not None:
            way.append(before)
        way.reverse()
        round_: list[Edge] = []
        at = entry
        for node, edge in part.through:
            round_ += [*_path(part.edges, at, node), edge]
            at = edge[1]
        round_ += _path(part.edges, at, entry) if round_ else _cycle(part.edges, entry)
        nodes = [*way, *(after for _, after in round_)]

        def fits(place: int, step: Step) -> bool:
            if place >= len(way):
                return step.bits == round_[place - len(way)][0] and not (self._claim.rest and step.acts)
            owed = nodes[place - 1] & OWED if place else 0
            return self._owed(owed, step.bits) == nodes[place] & OWED

        stimulus = self._space.stimulus([node & SPACE_MASK for node in nodes], fits=fits)
        return Lasso(stimulus[: len(way)], stimulus[len(way) :])


class _Part(NamedTuple):
    """A strongly connected part: its edges by node, and for all that is given an edge at whose end it holds."""

    edges: Mapping[int, Sequence[Edge]]
    through: Sequence[tuple[int, Edge]]


def _path(edges: Mapping[int, Sequence[Edge]], start: int, end: int) -> list[Edge]:
    """A shortest path from a node to a node; no edge where they are one."""
    if start == end:
        return []
    came: dict[int, tuple[int, Edge]] = {}
    queue = [start]
    for node in queue:
        for edge in edges[node]:
            if edge[1] not in came:
                came[edge[1]] = (node, edge)
                queue.append(edge[1])
        if end in came:
            break
    found: list[Edge] = []
    at = end
    while at != start or not found:
        at, edge = came[at]
        found.append(edge)
    return found[::-1]


def _cycle(edges: Mapping[int, Sequence[Edge]], node: int) -> list[Edge]:
    """A shortest way from a node back to it, of one edge at least."""
    ways = ([edge, *_path(edges, edge[1], node)] for edge in edges[node])
    return min(ways, key=len)
