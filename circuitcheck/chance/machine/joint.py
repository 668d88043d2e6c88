"""The joint outcome of all draws of one gt, up to exchanges of like units.

Outcomes that differ only by which of some like units change are one, and stand for all of them: each is as likely as
any other. That stays so as long as what is added treats like units alike, which is what the methods here are for.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import product
from math import comb, fsum

from circuitcheck.chance.machine.units import Mark, Marks, Units
from circuitcheck.model.parts.cells import TRIES, chance_of_exactly

NEGLIGIBLE = 1e-16
"""The usual chance of an outcome of one gt that is left out: less than what a number can add to another."""
MOST_AT_ONCE = 50_000
"""How many outcomes of one gt are looked at."""

Changed = tuple[int, ...]
"""The cells that change in one gt, by device number."""
Outcomes = dict[Changed, float]
"""What can change, and with what chance."""
Pattern = tuple[int, ...]
"""The positions in a unit that change."""


class TooLarge(Exception):
    """The circuit and its cells come to more than is computed; the text says what."""


class Classes:
    """Which units can be exchanged in one state: the units of a group with one mark."""

    def __init__(self, units: Units, marks: Marks) -> None:
        self._units = units
        self._of: dict[tuple[int, int], tuple[int, int]] = {}
        self._members: dict[tuple[int, int], list[int]] = {}
        for group, of_group in enumerate(marks):
            first: dict[Mark, int] = {}
            for unit, mark in enumerate(of_group):
                name = (group, first.setdefault(mark, unit))
                self._of[group, unit] = name
                self._members.setdefault(name, []).append(unit)

    def members(self) -> Iterator[list[tuple[int, ...]]]:
        """The units of each class."""
        for (group, _), numbers in self._members.items():
            yield [self._units.groups[group][number] for number in numbers]

    def alike(self, cells: Iterable[int], changed: set[int]) -> list[list[int]]:
        """Cells sorted into those that can be exchanged, with some having changed; one that can't stands alone."""
        found: dict[object, list[int]] = {}
        for cell in cells:
            where = self._units.place.get(cell)
            name: object = cell
            if where is not None:
                group, unit, position = where
                pattern = tuple(device in changed for device in self._units.groups[group][unit])
                name = (self._of[group, unit], position, pattern)
            found.setdefault(name, []).append(cell)
        return list(found.values())

    def least(self, changed: Iterable[int]) -> Changed:
        """The change that stands for all that differ from this one by exchanges."""
        free: list[int] = []
        patterns: dict[tuple[int, int], dict[int, list[int]]] = {}
        for device in changed:
            where = self._units.place.get(device)
            if where is None:
                free.append(device)
            else:
                group, unit, position = where
                patterns.setdefault(self._of[group, unit], {}).setdefault(unit, []).append(position)
        for name, of_units in patterns.items():
            ranked = sorted((sorted(positions) for positions in of_units.values()), reverse=True)
            for unit, positions in zip(self._members[name], ranked, strict=False):
                free += [self._units.groups[name[0]][unit][position] for position in positions]
        return tuple(sorted(free))


class Joint:
    """The joint outcome so far; what is added next must know nothing of what was added before. Raises TooLarge."""

    def __init__(self, classes: Classes, negligible: float = NEGLIGIBLE) -> None:
        """An outcome whose chance is below `negligible` is left out."""
        self._classes = classes
        self._negligible = negligible
        self.total: Outcomes = {(): 1.0}
        self.looked_at = 0
        """How many outcomes have been looked at, which is what takes the time."""

    def add_draw(self, changes: Sequence[tuple[float, Changed]]) -> None:
        """A draw that changes cells of no unit: what it may change and with what chance, the likeliest first.

        It seldom changes anything, let alone together with another one: so what it adds is but a few outcomes, and
        those too unlikely are not even looked at.
        """
        before, stays = self.total, max(1.0 - fsum(chance for chance, _ in changes), 0.0)
        self.total = total = {changed: chance * stays for changed, chance in before.items()}
        self._count(len(before))
        for changed, chance in before.items():
            for more, also in changes:
                together = chance * more
                if together <= self._negligible:
                    break
                self._count(1)
                key = tuple(sorted({*changed, *also}))
                total[key] = total.get(key, 0.0) + together

    def add_units(self, members: Sequence[tuple[int, ...]], ways: dict[Pattern, float]) -> None:
        """All units of one class, each of which may change in some ways: a multinomial count of them."""
        partial: list[tuple[float, int, Changed]] = [(1.0, 0, ())]
        left = 1.0
        for pattern, chance in ways.items():
            if pattern:
                share = min(chance / left, 1.0)
                partial = list(self._counted(partial, members, pattern, share))
                left -= chance
        outcomes: Outcomes = {}
        for chance, _, changed in partial:
            key = self._classes.least(changed)
            outcomes[key] = outcomes.get(key, 0.0) + chance
        self._multiply(outcomes)

    def _counted(
        self,
        partial: Iterable[tuple[float, int, Changed]],
        members: Sequence[tuple[int, ...]],
        pattern: Pattern,
        share: float,
    ) -> Iterator[tuple[float, int, Changed]]:
        """For each number of units that change in a further way, of those that do not change in one before."""
        for before, taken, changed in partial:
            rest = len(members) - taken
            for number in range(rest + 1):
                self._count(1)
                each = before * comb(rest, number) * share**number * (1.0 - share) ** (rest - number)
                if each > self._negligible:
                    more = (members[unit][place] for unit in range(taken, taken + number) for place in pattern)
                    yield each, taken + number, (*changed, *more)
                elif number > rest * share:
                    break  # past the likeliest number they only become rarer

    def _multiply(self, outcomes: Outcomes) -> None:
        after: Outcomes = {}
        for (before, chance), (changed, more) in product(self.total.items(), outcomes.items()):
            self._count(1)
            if chance * more > self._negligible:
                after[tuple(sorted((*before, *changed)))] = chance * more
        self.total = after

    def grow_over(self, bare: Sequence[int], sources: int, drawn: float) -> None:
        """Some sources, each drawn with some chance, that have the same bare cells in reach (rule X5).

        Their tries are looked at one source after the other, for each number of them that may be drawn.
        """
        after: Outcomes = {}
        total = self.total
        for number in range(sources + 1):
            share = comb(sources, number) * drawn**number * (1.0 - drawn) ** (sources - number)
            if share <= self._negligible and number > sources * drawn:
                break
            for changed, chance in total.items():
                after[changed] = after.get(changed, 0.0) + share * chance
            if number < sources:
                total = self._tried(total, bare)
        self.total = after

    def _tried(self, total: Outcomes, bare: Sequence[int]) -> Outcomes:
        """What can have changed, with the tries of one more source that is drawn."""
        most = min(len(bare), TRIES)
        exactly = [chance_of_exactly(hit, len(bare)) for hit in range(most + 1)]
        after: Outcomes = {}
        for before, chance in total.items():
            for hit, ways, changed in self._hits(bare, most, before):
                together = chance * exactly[hit] * ways
                if together > self._negligible:
                    key = self._classes.least({*before, *changed}) if changed else before
                    after[key] = after.get(key, 0.0) + together
        return after

    def _hits(self, bare: Sequence[int], most: int, before: Changed) -> Iterator[tuple[int, int, Changed]]:
        """How many bare cells may be hit, in how many ways, and what changes that has not changed before."""
        already = set(before)
        alike = self._classes.alike(bare, already)
        for counts in product(*(range(min(len(members), most) + 1) for members in alike)):
            self._count(1)
            hit = sum(counts)
            if hit <= most:
                ways = 1
                changed: list[int] = []
                for count, members in zip(counts, alike, strict=True):
                    ways *= comb(len(members), count)
                    changed += members[:count]
                yield hit, ways, tuple(each for each in changed if each not in already)

    def _count(self, number: int) -> None:
        self.looked_at += number
        if self.looked_at > MOST_AT_ONCE:
            raise TooLarge(f"the draws of one gt have more than {MOST_AT_ONCE:,} outcomes")
