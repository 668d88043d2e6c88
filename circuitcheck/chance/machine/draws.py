"""What the draws of one gt can change, and with what chance (rules X1 to X3).

All draws of one gt look at the cells as they are before the first of them: two draws in one gt are rare, and which
comes first is not known. What the draws of one unit can change in it (`machine.units`) knows nothing of other units. A
source that reaches cells of other units reaches all that can be exchanged, and hits any of them as likely as any other;
such sources are looked at last.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations, product
from math import fsum

from circuitcheck.chance.machine.joint import NEGLIGIBLE, Changed, Classes, Joint, Pattern
from circuitcheck.chance.machine.units import Marks, Unit, Units, cells_of, probes_of_places
from circuitcheck.engine.light import Daylight, Effects
from circuitcheck.engine.program import Program, read
from circuitcheck.model.light import FULL_SUN
from circuitcheck.model.parts.cells import TRIES, Cell, HeldBack, Need, chance_of_exactly

NOBODY = -1
"""Stands for a level of the sky under which nothing is drawn, since nobody is near (rule X1)."""
NOWHERE_LIT = Effects(0, HeldBack.NOT, False, False, False)
"""What the rules let happen to a cell that is at no place: nothing but what its author has it become."""

Drawn = tuple[tuple[float, Changed], ...]
"""Everything that can be drawn in one gt: its chance, and what changes; nothing comes first."""
Bare = tuple[int, ...]
"""The bare cells that a source can grow over."""


class Draws:
    """The draws of one machine."""

    def __init__(self, program: Program, units: Units, negligible: float = NEGLIGIBLE) -> None:
        """An outcome of one gt whose chance is below `negligible` is left out."""
        self._negligible = negligible
        self._units = units
        self._rules = program.circuit.rules
        self.cells: dict[int, Cell] = cells_of(program)
        self._daylight = Daylight(program.circuit)
        self._probes = probes_of_places(program)
        self._places = sorted({cell.place for cell in self.cells.values()} - {""})
        self._free = [number for number in self.cells if number not in units.place]
        self._known: dict[object, Drawn] = {}
        self._known_ways: dict[object, dict[Pattern, float]] = {}
        self._known_growing: dict[Bare, Sequence[tuple[float, Changed]]] = {}
        self._named = any(cell.becomes for cell in self.cells.values())
        self.outcomes = 0
        """How many outcomes have been looked at so far, which is what takes the time."""
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
        """What may happen at each place under a sky, for every state of the parts that its light depends on."""
        found: list[object] = []
        named: set[Need] = {each.need for cell in self.cells.values() for each in cell.becomes}
        for place in self._places:
            for states in self._daylight.states(place):
                light, held, *rest = self._daylight.effects(place, sky, states)
                found.append((rest, {need for need in named if need.met(light, held)}))
        return found

    def effects(self, sky: int, levels: Sequence[int]) -> dict[str, Effects]:
        """What may happen at each place, by its name, under a sky and at these levels of devices."""
        found = {"": NOWHERE_LIT}
        for place in self._places:
            states = tuple(read(self._probes[part], levels) > 0 for part in self._daylight.parts[place])
            found[place] = self._daylight.effects(place, sky, states)
        return found

    # Draws

    def of(self, levels: Sequence[int], marks: Marks, sky: int) -> Drawn:
        """Everything that can be drawn in one gt, with `marks` saying which units can be exchanged now.

        Raises TooLarge.
        """
        if sky == NOBODY:
            return ((1.0, ()),)
        effects = self.effects(sky, levels)
        key = (self._told(effects), tuple(levels[cell] for cell in self._free), marks)
        known = self._known.get(key)
        if known is None:
            classes = Classes(self._units, marks)
            joint = Joint(classes, self._negligible)
            try:
                known = self._known[key] = self._joined(joint, levels, effects, classes)
            finally:
                self.outcomes += joint.looked_at
        return known

    def _told(self, effects: dict[str, Effects]) -> tuple[object, ...]:
        """What decides of effects: the level of light itself only where a change that the author names asks for it."""
        return tuple(effects.values()) if self._named else tuple(each[2:] for each in effects.values())

    def _joined(self, joint: Joint, levels: Sequence[int], effects: dict[str, Effects], classes: Classes) -> Drawn:
        for members in classes.members():
            joint.add_units(members, self._ways_of(members[0], levels, effects))
        for cell in self._free:
            own = self._own_chance(cell, levels, effects)
            if own > 0.0:
                joint.add_draw(((own, (cell,)),))
        shared: dict[Bare, int] = {}
        for number in self.cells:
            bare = () if number in self._units.private else self._in_reach(number, levels, effects)
            if bare:
                shared[bare] = shared.get(bare, 0) + 1
        for bare, sources in shared.items():
            if self._units.place:
                joint.grow_over(bare, sources, self._rules.draw_chance.number)
            else:
                for _ in range(sources):
                    joint.add_draw(self._growing(bare))
        total = joint.total
        stays = total.pop((), 0.0)
        return ((stays, ()), *((chance, changed) for changed, chance in total.items()))

    def _ways_of(self, unit: Unit, levels: Sequence[int], effects: dict[str, Effects]) -> dict[Pattern, float]:
        """In which ways the draws of a unit's own cells can change it, and with what chances."""
        key = (unit, tuple(levels[device] for device in unit if device in self.cells), *effects.values())
        known = self._known_ways.get(key)
        if known is None:
            known = self._known_ways[key] = self._worked_out(unit, levels, effects)
        return known

    def _worked_out(self, unit: Unit, levels: Sequence[int], effects: dict[str, Effects]) -> dict[Pattern, float]:
        ways: dict[Pattern, float] = {(): 1.0}
        for position, device in enumerate(unit):
            if device in self.cells:
                own = self._own_chance(device, levels, effects)
                if own > 0.0:  # of many cells that can't change, every set would be made and thrown away
                    ways = _either(ways, {(): 1.0 - own, (position,): own})
                if device in self._units.private:
                    bare = self._in_reach(device, levels, effects)
                    ways = _either(ways, self._tries(tuple(unit.index(target) for target in bare)))
        return {pattern: chance for pattern, chance in ways.items() if chance > 0.0}

    def _tries(self, bare: Pattern) -> dict[Pattern, float]:
        """What a source can grow over in its own unit, if it is drawn."""
        drawn = self._rules.draw_chance.number
        found = {
            chosen: drawn * chance_of_exactly(hit, len(bare))
            for hit in range(1, min(len(bare), TRIES) + 1)
            for chosen in combinations(bare, hit)
        }
        return {(): 1.0 - fsum(found.values()), **found}

    def _growing(self, bare: Bare) -> Sequence[tuple[float, Changed]]:
        """The same of cells that stand alone, without that it grows over none: the likeliest first."""
        known = self._known_growing.get(bare)
        if known is None:
            found = self._tries(bare)
            del found[()]
            known = self._known_growing[bare] = sorted(((found[each], each) for each in found), reverse=True)
        return known

    def _own_chance(self, number: int, levels: Sequence[int], everywhere: dict[str, Effects]) -> float:
        """The chance that a cell changes in a gt by its own draws."""
        cell, grown = self.cells[number], levels[number] > 0
        effects = everywhere[cell.place]
        stays = 1.0
        for each in cell.becomes:
            if each.on is not grown and each.need.met(effects.light, effects.held_back):
                stays *= 1.0 - each.chance.number
        if cell.fades and grown and effects.fades:
            stays *= 1.0 - self._rules.draw_chance.number
        return 1.0 - stays

    def _in_reach(self, number: int, levels: Sequence[int], everywhere: dict[str, Effects]) -> Bare:
        """The bare cells that a cell could grow over now; none if it is bare, in the dark, or would fade."""
        cell = self.cells[number]
        effects = everywhere[cell.place]
        if not (self._rules.draw_chance.of and levels[number] and effects.spreads) or (cell.fades and effects.fades):
            return ()
        targets = self._units.targets[number]
        return tuple(each for each in targets if not levels[each] and everywhere[self.cells[each].place].takes)


def _either(ways: dict[Pattern, float], more: dict[Pattern, float]) -> dict[Pattern, float]:
    """The ways of two draws that know nothing of each other; what both change, changes once."""
    found: dict[Pattern, float] = {}
    for (one, chance), (other, also) in product(ways.items(), more.items()):
        key = tuple(sorted({*one, *other}))
        found[key] = found.get(key, 0.0) + chance * also
    return found
