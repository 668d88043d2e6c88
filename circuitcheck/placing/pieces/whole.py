"""A drawing of a circuit, with what windows of it ask again and again: what holds, lights and joins what."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from circuitcheck.model.drawing import At, Drawing
from circuitcheck.placing.box import WAYS
from circuitcheck.placing.grid import ABOVE, BELOW, COMPARATOR, EXIT, LEVER, REPEATER, TORCH
from circuitcheck.placing.pieces.made_pieces import beside
from circuitcheck.placing.problem import Problem


class Whole:
    """A drawing of a circuit, with what is asked of it again and again."""

    def __init__(self, problem: Problem, drawing: Drawing, by_hand: bool) -> None:
        self.problem, self.drawing, self.by_hand = problem, drawing, by_hand
        self.size, self.things = drawing.size, drawing.things
        numbers = {name: number for number, name in enumerate((*problem.names, *problem.shown))}
        self.parts = {at: numbers[name] for at, name in drawing.names.items()}
        """The number of the part at each place; dust given out that may lie anywhere counts on behind the parts."""

    def is_dust(self, at: At) -> bool:
        """Whether dust lies at a place."""
        return at in self.things and self.things[at].is_dust

    def is_solid(self, at: At) -> bool:
        """Whether a solid block stands there."""
        return at in self.things and self.things[at].block_type.solid

    def code(self, part: int) -> int:
        """What a part is."""
        return self.problem.codes[part] if part < len(self.problem.codes) else EXIT

    def way(self, at: At) -> int:
        """Which way a thing faces or is held."""
        way = self.things[at].on or self.things[at].facing
        return 0 if way is None else WAYS.index(way)

    def holder(self, at: At) -> At | None:
        """Where the block stands that a thing needs."""
        thing = self.things[at]
        if thing.on is not None:
            return beside(at, self.way(at))
        flat = at in self.parts and self.code(self.parts[at]) in (REPEATER, COMPARATOR)
        return beside(at, BELOW) if thing.is_dust or flat else None

    def in_reach(self, at: At) -> bool:
        """Whether a hand comes to a place from outside, but not from below."""
        at_side = at[0] == self.size[0] or at[1] in (1, self.size[1]) or at[2] in (1, self.size[2])
        return at_side or at[0] >= self._tops.get(at[1:], 0)

    @cached_property
    def _tops(self) -> dict[tuple[int, ...], int]:
        """The highest layer in which something stands, for each row and column."""
        return {at[1:]: at[0] for at in sorted(self.things)}

    @cached_property
    def _giving(self) -> tuple[dict[At, set[int]], dict[At, set[int]]]:
        """Which parts give to what is at a place, and which power a block there strongly (rules W5 to W7)."""
        gave: dict[At, set[int]] = {}
        strong: dict[At, set[int]] = {}
        for at, part in self.parts.items():
            code, way = self.code(part), self.way(at)
            if code in (TORCH, LEVER):
                for side in range(6):
                    if side != way:
                        gave.setdefault(beside(at, side), set()).add(part)
                strong.setdefault(beside(at, ABOVE if code == TORCH else way), set()).add(part)
            elif not self.things[at].is_dust and not self.is_solid(at):
                gave.setdefault(beside(at, way), set()).add(part)
                strong.setdefault(beside(at, way), set()).add(part)
        return gave, strong

    def lights(self, at: At) -> set[int]:
        """The parts that light dust at a place, but by way of other dust."""
        gave, strong = self._giving
        found = set(gave.get(at, ()))
        for side in range(6):
            if self.is_solid(beside(at, side)):
                found |= strong.get(beside(at, side), set())
        return found

    def joined(self, at: At) -> Iterator[tuple[int, At]]:
        """The dust that dust at a place is joined to, each with the side on which that is (rule W2)."""
        for side in range(4):
            aside = beside(at, side)
            if self.is_dust(aside):
                yield side, aside
            if self.is_dust(beside(aside, ABOVE)) and not self.is_solid(beside(at, ABOVE)):
                yield side, beside(aside, ABOVE)
            if self.is_dust(beside(aside, BELOW)) and not self.is_solid(aside):
                yield side, beside(aside, BELOW)
