"""All nets led at once: each on the way that costs least, again and again, until no two want the same place.

Method: L. McMurchie and C. Ebeling, "PathFinder: A Negotiation-Based Performance-Driven Router for FPGAs" (FPGA 1995).
A place that is fought for costs more from turn to turn, so that those leave it who have another way.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from circuitcheck.placing.grid import ABOVE, BELOW, CARRIES, Row
from circuitcheck.placing.pieces.ground import Standing
from circuitcheck.placing.pieces.leading import FREE, UNIT, Ground
from circuitcheck.placing.pieces.nets import Net
from circuitcheck.placing.pieces.tools import Tools

FURTHEST = CARRIES - 1
"""How many steps dust carries from where it is lit (rule P2)."""
Spend = Callable[[int], object]
"""Takes moves from the budget."""
LEAD = 100
"""As how many moves one way counts that is led."""


@dataclass
class Tree:
    """The dust of a net: places that are joined, what is below them, and what must be open for their steps."""

    steps: dict[int, list[int]] = field(default_factory=dict)
    """For each place of dust those that it is joined with."""
    blocks: set[int] = field(default_factory=set)
    air: set[int] = field(default_factory=set)
    rows: tuple[Row, Row, Row] = ([0], [0], [0])
    """The places of dust, those below, and those that must be open, each with how many there are before them."""
    lacking: list[int] = field(default_factory=list)
    """Ends to which no way was found: inputs by the numbers of their ports, sources as -1 less their number."""

    def far(self, taps: list[int]) -> dict[int, int]:
        """How many steps each place of dust is from those of some taps that have dust."""
        reached = {at: 0 for at in taps if at in self.steps}
        queue = list(reached)
        for at in queue:
            for other in self.steps[at]:
                if other not in reached:
                    reached[other] = reached[at] + 1
                    queue.append(other)
        return reached


class Router:
    """Leads nets on a ground."""

    def __init__(self, ground: Ground, standing: Standing, nets: Sequence[Net], tools: Tools, spend: Spend) -> None:
        self.ground, self._nets, self._tools, self._spend = ground, nets, tools, spend
        number = standing.number
        self._pins = {key: number(at) for key, at in standing.pins().items()}
        self._taps = {part: [number(at) for at in taps] for part, taps in standing.taps().items()}
        self.trees: list[Tree] = [self._nothing(net) for net in range(len(nets))]
        self._first: list[list[int]] = [[] for _ in nets]
        """Of each net the ends that were not reached, which are led to first the next time."""
        self._vain = [0] * len(nets)
        """How often an end of each net was not reached."""
        self._turn = self._search = 0

    def begin(self, known: Sequence[dict[int, list[int]] | None]) -> None:
        """Begins with dust that lies already, given by what joins it, of those nets that it joins from end to end."""
        for net, steps in enumerate(known):
            tree = Tree(steps or {})
            if self._is_whole(net, tree):
                for at, joined in tree.steps.items():
                    self._need(tree, at, joined)
                tree.rows = self._rows_of(tree)
                self._lay(tree, 1)
                self.trees[net] = tree

    def _is_whole(self, net: int, tree: Tree) -> bool:
        """Whether dust lies at all ends of a net."""
        each = self._nets[net]
        pins = all(self._pins[port, net] in tree.steps for port in each.ports)
        return pins and all(any(at in tree.steps for at in self._taps[source]) for source in each.sources)

    def in_the_way(self, net: int) -> int:
        """At how many places a net is in the way of another or of itself."""
        return self._fought(net, 0)

    def fought(self) -> list[int]:
        """The nets that are in the way of another, and those that lack something."""
        return [net for net, tree in enumerate(self.trees) if self._fought(net, UNIT) or tree.lacking]

    def negotiate(self, turns: int, again: list[int], pressing: int, most: int) -> bool:
        """Leads nets again, and those that are in each other's way; whether in the end none is, and none lacks.

        A place that is spoiled costs so many sixteenths more, and from turn to turn a quarter more. Where more than so
        many nets are in each other's way after one of the turns, that is all.
        """
        if not again:
            return True
        for _ in range(turns):
            for net in again:
                self._drop(net)
                tree = self._led(net, pressing)
                self._lay(tree, 1)
                self.trees[net] = tree
            again = self.fought()
            if not again:
                return True
            if len(again) > most:
                break
            pressing = min(pressing * 5 // 4 + 1, 4000)
        return False

    def give_up(self) -> None:
        """Takes nets away that are in another's way, those first that are so at most places, until none is any more."""
        while True:
            fought = {net: self.in_the_way(net) for net in range(len(self.trees))}
            net = max(fought, key=lambda each: (fought[each], each))
            if not fought[net]:
                return
            self._drop(net)

    def _drop(self, net: int) -> None:
        """Takes all dust of a net away; then it lacks everything."""
        self._lay(self.trees[net], -1)
        self.trees[net] = self._nothing(net)

    def _nothing(self, net: int) -> Tree:
        """A net without dust, which lacks everything."""
        tree = Tree(lacking=[*self._nets[net].ports, *self._nets[net].given])
        tree.rows = self._rows_of(tree)
        return tree

    def _rows_of(self, tree: Tree) -> tuple[Row, Row, Row]:
        """A net's dust, what is under it, and what is open above it, each with how many there are before them."""
        dust, under, over = ([len(each), *each] for each in (tree.steps, sorted(tree.blocks), sorted(tree.air)))
        return self._tools.rows(dust), self._tools.rows(under), self._tools.rows(over)

    def _lay(self, tree: Tree, count: int) -> None:
        """Takes places for a net, or gives them back."""
        self._tools.take(self.ground, *tree.rows, count)

    def _fought(self, net: int, dearer: int) -> int:
        """At how many places a net is in the way of another or of itself; they get dearer by so much."""
        self._turn += 1
        return self._tools.fought(self.ground, *self.trees[net].rows, net, self._turn, dearer)

    def _led(self, net: int, pressing: int) -> Tree:
        """The dust of a net, led again: first from source to source, and then to its inputs.

        Where an end was not reached the time before, another source begins, inputs that were not reached come first,
        and every second time sources and inputs are led to as they come.
        """
        self._turn += 1
        tree, vain = Tree(), self._vain[net]
        sources = self._nets[net].sources
        turn = vain % len(sources)
        sources = (*sources[turn:], *sources[:turn])
        others = {-1 - source: self._taps[source] for source in sources[1:]}
        ports = {port: [self._pins[port, net]] for port in self._nets[net].ports}
        reached = [self._taps[sources[0]]]
        if vain % 2:
            ends = {**others, **ports}
            self._reach(tree, net, ends, pressing, reached)
        else:
            self._reach(tree, net, others, pressing, reached)
            for end in self._first[net]:
                if end in ports:
                    self._reach(tree, net, {end: ports.pop(end)}, pressing, reached)
            self._reach(tree, net, ports, pressing, reached)
        if not tree.steps:
            self._reach(tree, net, {-1 - sources[0]: self._taps[sources[0]]}, pressing, reached)
        if tree.lacking:
            self._vain[net] += 1
            self._first[net] = list(dict.fromkeys([*tree.lacking, *self._first[net]]))
        tree.rows = self._rows_of(tree)
        return tree

    def _reach(self, tree: Tree, net: int, ends: dict[int, list[int]], pressing: int, reached: list[list[int]]) -> None:
        """Leads a net to all of these ends, the cheapest first, from its dust or, while it has none, from a source.

        No place of its dust may be too far from one of the sources that are reached; nor from an input, if a source
        may still come to it.
        """
        all_count = any(end < 0 for end in ends) and any(end >= 0 for end in ends)
        left = dict(ends)
        while left:
            found = self._lead(tree, net, left, pressing, reached)
            if found < 0:
                found = self._lead(tree, net, left, -1, reached)
            if found < 0:
                tree.lacking += left
                return
            self._join(tree, found)
            for end in [end for end, places in left.items() if any(at in tree.steps for at in places)]:
                places = left.pop(end)
                if end < 0 or all_count:
                    reached.append(places)

    def _lead(self, tree: Tree, net: int, ends: dict[int, list[int]], pressing: int, reached: list[list[int]]) -> int:
        """Leads one way; where it ends, or -1 where there is none."""
        g = self.ground
        self._search += 1
        self._spend(LEAD)
        targets = [at for places in ends.values() for at in places]
        g.ends[0] = len(targets)
        for number, at in enumerate(targets):
            g.target[at] = self._search
            g.ends[number + 1] = at
        far = self._far(tree, reached)
        starts = list(tree.steps) or reached[0]
        g.tree[0] = len(starts)
        for number, at in enumerate(starts):
            g.tree[number + 1] = at
            g.far[at] = far.get(at, 0)
        return int(self._tools.lead(g, net, self._turn, self._search, pressing, FURTHEST))

    def _far(self, tree: Tree, reached: list[list[int]]) -> dict[int, int]:
        """How far each place of dust is from the end that is farthest."""
        farthest: dict[int, int] = {}
        for places in reached:
            for at, far in tree.far(places).items():
                farthest[at] = max(far, farthest.get(at, 0))
        return farthest

    def _join(self, tree: Tree, end: int) -> None:
        """Adds the way that ends at a place to the dust of a net."""
        g, at = self.ground, int(end)
        while True:
            tree.steps.setdefault(at, [])
            before = int(g.came[at])
            self._need(tree, at, [before] if before >= 0 else [])
            if before < 0:
                break
            tree.steps.setdefault(before, [])
            tree.steps[at].append(before)
            tree.steps[before].append(at)
            at = before
        self._tools.write_own(g, *self._rows_of(tree), self._turn)

    def _need(self, tree: Tree, at: int, joined: list[int]) -> None:
        """Writes down what dust stands on, and what must be open for its steps."""
        below, deep = at + int(self.ground.offset[BELOW]), int(self.ground.offset[ABOVE])
        if self.ground.fixed[below] == FREE:
            tree.blocks.add(below)
        tree.air.update(min(at, other) + deep for other in joined if abs(at - other) > deep // 2)
