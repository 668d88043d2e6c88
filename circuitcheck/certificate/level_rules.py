"""What parts that give any level do in a gt (rules K1, P1), written from the rules and apart from the engine."""

from __future__ import annotations

from collections.abc import Sequence

from circuitcheck.certificate.behaviour import Graded, Sight
from circuitcheck.certificate.gates import NO, YES, Gates
from circuitcheck.certificate.turns import ALL_ELSE, GOING_ON, HANDS_FIRST, HANDS_LAST, WAITS, Turn
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.comparator import Comparator

COMPARATOR_WAITS = 2
"""In gt (rule K1)."""

Row = Sequence[tuple[int, int]]
"""A level as levels, lowest first, each with a literal: it is at least that."""


def made(part: Part, back: int, side: int) -> int:
    """The level that a comparator makes of its back and its stronger side."""
    assert isinstance(part, Comparator)
    if part.subtracts:
        return max(back - side, 0)
    return 0 if side > back else back


class ComparatorRule(Graded):
    """Rule K1: called when what its inputs make is not what it gives, it gives 1t later what they make by then."""

    part: Comparator
    measures = True

    def longest(self) -> int:
        return COMPARATOR_WAITS

    def acts(self) -> list[Turn]:
        straight = self.name in self.bench.straight
        return [Turn(YES, WAITS, GOING_ON if straight else ALL_ELSE, COMPARATOR_WAITS)]

    def build(self, sights: Sequence[Sight]) -> None:
        gates = self.gates
        first = self._made([[(each.level, each.first) for each in sight.measured] for sight in sights])
        acting = self._made([[(each.level, each.acting) for each in sight.measured] for sight in sights])
        between = self._made([[(each.level, each.between) for each in sight.measured] for sight in sights])
        last = self._made([[(each.level, each.last) for each in sight.measured] for sight in sights])
        self.ends_at([gates.choose(self.due, new, old) for new, old in zip(acting, self.gives, strict=True)])
        looks = gates.both(sights[0].possible, self._differ(between, self.to_give))
        called = gates.any((self.starts_if(self._differ(first, self.gives)), looks, self._differ(last, self.to_give)))
        self.begins((gates.both(self.free_to_wait, called), COMPARATOR_WAITS))

    def _differ(self, one: Sequence[int], other: Sequence[int]) -> int:
        return self.gates.any(self.gates.same(*pair) ^ 1 for pair in zip(one, other, strict=True))

    def _made(self, rows: Sequence[Row]) -> list[int]:
        """Of each of its steps whether its inputs make as much."""
        back, side = rows[0], rows[1] if len(rows) > 1 else ()
        makes = _less if self.part.subtracts else _if_no_less
        return [makes(self.gates, back, side, step) for step in self.steps]


def _at_least(row: Row, level: int) -> int:
    return YES if level <= 0 else next((literal for step, literal in row if step >= level), NO)


def _less(gates: Gates, back: Row, side: Row, level: int) -> int:
    """The back is so far above the side: there is a level that the side does not pass, and the back does by so much."""
    bounds = [0, *(step for step, _ in side)]
    return gates.any(gates.both(_at_least(side, each + 1) ^ 1, _at_least(back, each + level)) for each in bounds)


def _if_no_less(gates: Gates, back: Row, side: Row, level: int) -> int:
    """The back is at a level, and the side at none that the back is below."""
    return gates.all((_at_least(back, level), *(gates.both(at, _at_least(back, step) ^ 1) ^ 1 for step, at in side)))


class AnalogueRule(Graded):
    """Rule P1: an input of any level, set from outside."""

    def declare(self) -> None:
        super().declare()
        self.driven = self.gates.input(f"{self.name} is worked")

    def turns(self) -> list[Turn]:
        return [Turn(YES, HANDS_FIRST if self.bench.outside_first else HANDS_LAST)]

    def build(self, sights: Sequence[Sight]) -> None:
        gates = self.gates
        stays = zip(self.to_give, self.gives, strict=True)
        self.ends_at([gates.choose(self.driven, then, before) for then, before in stays])
        self.in_order(self.to_give)
