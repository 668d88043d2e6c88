"""How power reaches a port without delay (rules P2 to P5): which devices feed it, and what is lost on the way.

Dust and blocks have no delay and no memory, and power never goes from dust to block to dust, so that the level at
a port is always the highest of (level of a device − what its way costs). Those devices and costs are computed once.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterable

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.base import Conducts, Part
from circuitcheck.model.rules import CARRIES

Drivers = dict[str, int]
"""Levels lost on the way from each device that feeds a place, by the device's name."""

DUST = (Conducts.LINE, Conducts.RUN)

Point = tuple[str, bool]
"""One end of a line: its name, and whether it is the far end."""


def is_block(part: Part) -> bool:
    """Whether the part passes power on as a solid block; a lamp does (rule O2)."""
    return part.conducts is Conducts.BLOCK


def is_line(part: Part) -> bool:
    """Whether the part is dust of some length, joined both ways to every line that it touches (rule P5)."""
    return part.conducts is Conducts.LINE


class Power:
    """The reach of power through the dust and blocks of one circuit."""

    def __init__(self, circuit: Circuit) -> None:
        self._parts = circuit.by_name
        self._joined: dict[Point, list[str]] = defaultdict(list)
        self._at_end: dict[str, Drivers] = {}
        for part in self._parts.values():
            if is_line(part):
                for source in part.powers:
                    if is_line(self._parts[source]):
                        self._joined[source, True].append(part.name)

    def feeds(self, sources: Iterable[str]) -> Drivers:
        """What feeds a port that names these sources."""
        return self._strongest(self._source(name) for name in sources)

    def watched(self, sources: Iterable[str]) -> Drivers:
        """What a port feels that watches the state of these: a lamp counts by its light, not its power."""
        return self._strongest(
            self._source(name) if self._parts[name].conducts in DUST else {name: 0} for name in sources
        )

    def at_end(self, line: str) -> Drivers:
        """What feeds the last dust of a line, through all the lines that it is joined to."""
        known = self._at_end.get(line)
        if known is None:
            known = self._at_end[line] = self._search(line)
        return known

    def into_dust(self, sources: Iterable[str]) -> Drivers:
        """What powers a dust beside these sources: parts and strongly powered blocks (rule P4)."""
        return self._strongest(self._strong(name) for name in sources)

    def _source(self, name: str) -> Drivers:
        part = self._parts[name]
        if is_line(part):
            return self.at_end(name)
        if part.conducts is Conducts.RUN:
            return dict(part.losses)
        if is_block(part):
            # Power never goes from block to block, though a lamp is lit by a block beside it.
            return self.feeds(source for source in part.powers if not is_block(self._parts[source]))
        return {name: 0}

    def _strong(self, name: str) -> Drivers:
        part = self._parts[name]
        if part.conducts in DUST:
            return {}
        if is_block(part):
            return self.into_dust(source for source in part.powers if not is_block(self._parts[source]))
        return {name: 0}

    @staticmethod
    def _strongest(several: Iterable[Drivers]) -> Drivers:
        best: Drivers = {}
        for feeds in several:
            for device, loss in feeds.items():
                if loss < best.get(device, CARRIES):
                    best[device] = loss
        return best

    def _search(self, line: str) -> Drivers:
        """Walks back from the line's last dust along every joined line while a full signal would still carry."""
        found: list[Drivers] = []
        seen: set[Point] = set()
        queue: list[tuple[int, Point]] = [(0, (line, True))]
        while queue:
            far, point = heapq.heappop(queue)
            if point in seen or far >= CARRIES:
                continue
            seen.add(point)
            if not point[1]:
                sources = self._parts[point[0]].powers
                found.append(dict.fromkeys(self.into_dust(sources), far))
            for step, other in self._neighbours(point):
                heapq.heappush(queue, (far + step, other))
        return self._strongest(found)

    def _neighbours(self, point: Point) -> Iterable[tuple[int, Point]]:
        line, at_far_end = point
        yield self._parts[line].dust - 1, (line, not at_far_end)
        if at_far_end:
            for other in self._joined[point]:
                yield 1, (other, False)
        else:
            for source in self._parts[line].powers:
                if is_line(self._parts[source]):
                    yield 1, (source, True)
