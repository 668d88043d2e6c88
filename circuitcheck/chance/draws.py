"""What the draws of one gt can change, and with what chance (rules X1 to X3).

All draws of one gt look at the cells as they are before the first of them: two draws in one gt are rare, and which
comes first is not known.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import product
from math import comb, fsum

from circuitcheck.chance.units import Mark, Marks, Units
from circuitcheck.engine.light import Daylight, Effects
from circuitcheck.engine.machine import Machine, read
from circuitcheck.model.light import FULL_SUN
from circuitcheck.model.parts.sensor import TRIES, Cell, chance_of_exactly

NOBODY = -1
"""Stands for a level of the sky under which nothing is drawn, since nobody is near (rule X1)."""
NEGLIGIBLE = 1e-16
"""A chance in one gt that is below what a number can add to another is left out."""
MOST_CONDITIONS = 8
"""Of how many parts the light at a place may hang before levels of the sky are told apart one by one."""

NOWHERE_LIT = Effects(0, False, False, False, False)
"""What the rules let happen to a cell that is at no place: nothing but what its author has it become."""

Changed = tuple[int, ...]
"""The cells that change in one gt, by device number."""
Drawn = tuple[tuple[float, Changed], ...]
"""Everything that can be drawn in one gt: its chance, and what changes; nothing comes first."""


class Draws:
    """The draws of one machine."""

    def __init__(self, machine: Machine, units: Units) -> None:
        self._units = units
        self._rules = machine.circuit.rules
        self.cells: dict[int, Cell] = {
            machine.number[part.name]: part for part in machine.circuit.parts if isinstance(part, Cell)
        }
        self._targets: dict[int, list[int]] = {number: [] for number in self.cells}
        for number, cell in self.cells.items():
            for source in cell.grows:
                self._targets[machine.number[source]].append(number)
        self._daylight = Daylight(machine.circuit)
        self._probes = {name: machine.probe(name) for place in machine.circuit.places for name in place.parts}
        self._free = [number for number in self.cells if number not in units.place]
        self._known: dict[object, Drawn] = {}
        self.outcomes = 0
        """How many outcomes have been worked out so far, which is what takes the time."""
        self.neglected = 0.0
        """The most that was left out of one gt, for being negligible."""
        self._alike = {sky: self._first_alike(sky) for sky in range(FULL_SUN + 1)}
        self._alike[NOBODY] = NOBODY

    # Light

    def alike(self, sky: int) -> int:
        """The least level of the sky under which cells change just as under this one, whatever the parts do."""
        return self._alike[sky]

    def _first_alike(self, sky: int) -> int:
        mine = self._everything(sky)
        return next(level for level in range(sky + 1) if self._everything(level) == mine)

    def _everything(self, sky: int) -> list[object]:
        """What may happen at each place under a sky, for every state of the parts that its light hangs on."""
        found: list[object] = []
        named = {each.need for cell in self.cells.values() for each in cell.becomes}
        for place, parts in self._daylight.parts.items():
            if len(parts) > MOST_CONDITIONS:
                return [sky]
            for states in self._daylight.states(place):
                light, held, *rest = self._daylight.effects(place, sky, states)
                found.append((rest, {need for need in named if need.met(light, held)}))
        return found

    def effects(self, sky: int, levels: Sequence[int]) -> dict[str, Effects]:
        """What may happen at each place, by its name, under a sky and at these levels of devices."""
        found = {"": NOWHERE_LIT}
        for place, parts in self._daylight.parts.items():
            states = tuple(read(self._probes[part], levels) > 0 for part in parts)
            found[place] = self._daylight.effects(place, sky, states)
        return found

    # Draws

    def of(self, levels: Sequence[int], marks: Marks, sky: int) -> Drawn:
        """Everything that can be drawn in one gt, with `marks` saying which units can be exchanged now."""
        if sky == NOBODY:
            return ((1.0, ()),)
        effects = self.effects(sky, levels)
        key = (tuple(effects.values()), tuple(levels[cell] for cell in self._free), marks)
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = self._worked_out(levels, effects, _Classes(self._units, marks))
        return known

    def _worked_out(self, levels: Sequence[int], effects: dict[str, Effects], classes: _Classes) -> Drawn:
        total: dict[Changed, float] = {(): 1.0}
        for each in self._independent(levels, effects, classes):
            total = _joined(total, each, classes)
            self.outcomes += len(total)
        for bare, sources in self._spreads(levels, effects).items():
            total = _grown_over(total, bare, sources, self._rules.draw_chance.number, classes)
            self.outcomes += len(total) * min(sources, TRIES) * len(bare)
        self.neglected = max(self.neglected, 1.0 - fsum(total.values()))
        stays = total.pop((), 0.0)
        return ((stays, ()), *((chance, changed) for changed, chance in total.items()))

    def _independent(self, levels: Sequence[int], effects: dict[str, Effects], classes: _Classes) -> Iterator[Drawn]:
        """Cells, or whole classes of like cells, whose draws know nothing of each other."""
        alike: dict[tuple[object, ...], list[tuple[int, Drawn]]] = {}
        for cell in self.cells:
            outcomes = self._of_cell(cell, levels, effects)
            if len(outcomes) == 1:
                continue
            pattern = classes.private(cell, outcomes)
            if pattern is None:
                least: dict[Changed, float] = {}
                for chance, changed in outcomes:
                    key = classes.least(changed) if changed else changed
                    least[key] = least.get(key, 0.0) + chance
                yield tuple((chance, changed) for changed, chance in least.items())
            else:
                alike.setdefault(pattern, []).append((cell, outcomes))
        for several in alike.values():
            yield _how_many(several)

    def _of_cell(self, number: int, levels: Sequence[int], everywhere: dict[str, Effects]) -> Drawn:
        """What one cell may change in a gt, itself or the bare cells that it reaches."""
        cell, grown = self.cells[number], levels[number] > 0
        effects = everywhere[cell.place]
        own = 0.0
        for each in cell.becomes:
            if each.on is not grown and each.need.met(effects.light, effects.held_back):
                own = own + each.chance.number - own * each.chance.number
        if cell.withers and grown and effects.withers:
            drawn = self._rules.draw_chance.number
            own = own + drawn - own * drawn
        return ((1.0 - own, ()), (own, (number,))) if own else ((1.0, ()),)

    def _spreads(self, levels: Sequence[int], everywhere: dict[str, Effects]) -> dict[tuple[int, ...], int]:
        """The bare cells that grown ones may grow over, and how many of those have just these in reach."""
        found: dict[tuple[int, ...], int] = {}
        for number, cell in self.cells.items():
            effects = everywhere[cell.place]
            if not (levels[number] and effects.spreads) or (cell.withers and effects.withers):
                continue
            targets = self._targets[number]
            bare = tuple(each for each in targets if not levels[each] and everywhere[self.cells[each].place].takes)
            if bare:
                found[bare] = found.get(bare, 0) + 1
        return found


def _joined(total: dict[Changed, float], each: Drawn, classes: _Classes) -> dict[Changed, float]:
    """What can change in a gt, with what one more cell or class of cells can change."""
    after: dict[Changed, float] = {}
    for (before, chance), (more, changed) in product(total.items(), each):
        together = chance * more
        if together > NEGLIGIBLE:
            key = before if not changed else changed if not before else classes.least({*before, *changed})
            after[key] = after.get(key, 0.0) + together
    return after


def _grown_over(
    total: dict[Changed, float], bare: Sequence[int], sources: int, drawn: float, classes: _Classes
) -> dict[Changed, float]:
    """What can change in a gt, with what some sources that have the same bare cells in reach can grow over (rule X5).

    Their tries are looked at one source after the other, for each number of them that may be drawn.
    """
    after: dict[Changed, float] = {}
    for number in range(sources + 1):
        share = comb(sources, number) * drawn**number * (1.0 - drawn) ** (sources - number)
        if share <= NEGLIGIBLE and number > sources * drawn:
            break
        for changed, chance in total.items():
            after[changed] = after.get(changed, 0.0) + share * chance
        total = _tried(total, bare, classes)
    return after


def _tried(total: dict[Changed, float], bare: Sequence[int], classes: _Classes) -> dict[Changed, float]:
    """What can have changed, with the tries of one more source that is drawn."""
    most = min(len(bare), TRIES)
    exactly = [chance_of_exactly(hit, len(bare)) for hit in range(most + 1)]
    after: dict[Changed, float] = {}
    for before, chance in total.items():
        for hit, ways, changed in _hits(bare, most, before, classes):
            together = chance * exactly[hit] * ways
            if together > NEGLIGIBLE:
                key = classes.least({*before, *changed}) if changed else before
                after[key] = after.get(key, 0.0) + together
    return after


def _hits(bare: Sequence[int], most: int, before: Changed, classes: _Classes) -> Iterator[tuple[int, int, Changed]]:
    """How many bare cells may be hit, in how many ways, and what changes that has not changed before.

    Bare cells that can be exchanged are as likely to be hit as each other, so of them it matters only how many are.
    """
    already = set(before)
    alike = classes.alike(bare, already)
    for counts in product(*(range(min(len(members), most) + 1) for members in alike)):
        hit = sum(counts)
        if hit <= most:
            ways = 1
            changed: list[int] = []
            for count, members in zip(counts, alike, strict=True):
                ways *= comb(len(members), count)
                changed += members[:count]
            yield hit, ways, tuple(each for each in changed if each not in already)


def _how_many(several: Sequence[tuple[int, Drawn]]) -> Drawn:
    """Of some like cells, each of which can change one thing of its own: how many of them do."""
    chance = several[0][1][1][0]
    count = len(several)
    found: list[tuple[float, Changed]] = []
    changed: Changed = ()
    for number in range(count + 1):
        each = comb(count, number) * chance**number * (1.0 - chance) ** (count - number)
        if each > NEGLIGIBLE:
            found.append((each, changed))
        elif number > count * chance:
            break  # past the likeliest number they only become rarer
        if number < count:
            changed += several[number][1][1][1]
    return tuple(found)


class _Classes:
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

    def private(self, cell: int, outcomes: Drawn) -> tuple[object, ...] | None:
        """What tells like cells from others, for a cell that can change one thing in its own unit and no more."""
        where = self._units.place.get(cell)
        if where is None or len(outcomes) != 2:
            return None
        group, unit, position = where
        changed = []
        for device in outcomes[1][1]:
            other = self._units.place.get(device)
            if other is None or other[:2] != (group, unit):
                return None
            changed.append(other[2])
        return (self._of[group, unit], position, tuple(changed), outcomes[1][0])

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
