"""A drawing as it stands at a moment of a run: what pistons have moved, water, and what comes and goes (M4, M9, Z1).

Each way in which things are displaced is a *stand*, computed once: what is seen where something else is drawn, and
which devices' levels reach a place otherwise than at home. The first stand is the drawing itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.engine.program import Program
from circuitcheck.model.drawing import At, Drawing, Thing
from circuitcheck.space.configuration import AT_HOME, Configuration, Phase
from circuitcheck.space.flowing import is_source
from circuitcheck.space.occupied import head_of
from circuitcheck.space.scene import HEAD, Displaced, displacement, scene
from circuitcheck.space.showing import reaching

MOST_STANDS = 200
"""How many ways in which things are displaced are shown of one drawing."""

Feeds = Mapping[At, Sequence[tuple[int, int]]]
"""For each place that shows a level: the devices whose level reaches it, with what is lost."""


Conditions = Mapping[At, tuple[int, bool]]
"""For each thing that comes and goes: the device it depends on, and whether that is on while it is there."""


class Seen(NamedTuple):
    """What is seen at a place: a thing with its name, or nothing."""

    thing: Thing | None = None
    name: str = ""
    moving: bool = False
    """Whether it is on its way there: until it has landed, it is no part of the wiring."""


NOTHING = Seen()


class Stand(NamedTuple):
    """A drawing with some things displaced, by what is otherwise than at home."""

    seen: Mapping[At, Seen]
    feeds: Mapping[At, Sequence[tuple[int, int]] | None]
    """None for places that show no level in it."""


def seen_at(at: At, drawn: Seen, stand: Stand, conditions: Conditions, levels: Sequence[int]) -> Seen:
    """What is seen at a place in a stand, with devices at these levels; of flowing water nothing."""
    if at in stand.seen:
        return stand.seen[at]
    device, on = conditions.get(at, (None, True))
    return drawn if device is None or bool(levels[device]) is on else NOTHING


class Stands:
    """The stands that runs of one program come to, numbered in the order in which they are asked for."""

    def __init__(self, program: Program, drawing: Drawing, most: int = MOST_STANDS) -> None:
        self._most = most
        self._program = program
        self._drawing = drawing
        self.home: Feeds = self._feeds(drawing)
        self.found: list[Stand] = [Stand({}, {})]
        self._numbers: dict[tuple[object, ...], int] = {}
        self.conditions: dict[At, tuple[int, bool]] = {
            at: (program.number[thing.when.part], thing.when.on)
            for at, thing in drawing.things.items()
            if thing.when is not None and thing.when.part in program.number
        }
        """For each thing that comes and goes: the device it depends on, and whether that is on while it is there."""
        self.water: dict[At, int] = {}
        """The devices that are the water at the places that flowing water can reach."""
        if program.motion is not None:
            self.water |= program.motion.flow.device_at

    @property
    def at_home(self) -> dict[At, Seen]:
        """What is seen in the first stand where that is not always so: what is drawn there, but for flowing water."""
        places = {at for stand in self.found for at in stand.seen} | set(self.conditions) | set(self.water)
        return {at: self.drawn(at) for at in sorted(places)}

    def number(self, now: Configuration | None) -> int | None:
        """The number of the stand that a configuration is; None where that would be one too many."""
        if now is None or now == AT_HOME:
            return 0
        displaced = displacement(self._drawing, now)
        coming = frozenset(self._coming(now))
        key = (displaced, coming)
        if key not in self._numbers:
            if len(self.found) >= self._most:
                return None
            self._numbers[key] = len(self.found)
            self.found.append(self._stand(displaced, dict(coming)))
        return self._numbers[key]

    def forget(self) -> None:
        """Begins again with the first stand alone: no other number is known any more."""
        del self.found[1:]
        self._numbers.clear()

    def at_start(self, levels: Sequence[int]) -> int | None:
        """The number of the stand that a start is. Raises RunRefused."""
        motion = self._program.motion
        return self.number(None if motion is None else motion.start(levels))

    def _coming(self, now: Configuration) -> Iterator[tuple[At, Seen]]:
        """What is under way, by the place that it comes to."""
        for home, _ in now.moving:
            yield now.place(home), self._moved(home)._replace(moving=True)
        for home, phase in now.phases:
            if phase is Phase.GOING_OUT:
                yield head_of(self._drawing, now, home), Seen(self._head(home), moving=True)

    def _stand(self, displaced: frozenset[Displaced], coming: Mapping[At, Seen]) -> Stand:
        seen: dict[At, Seen] = {each.home: NOTHING for each in displaced if not each.head}
        for each in displaced:
            if each.place is not None:
                seen[each.place] = Seen(self._head(each.home)) if each.head else self._moved(each.home)
        feeds = self._feeds(scene(self._drawing, displaced))
        places = dict.fromkeys([*self.home, *feeds])
        otherwise = {at: feeds.get(at) for at in places if feeds.get(at) != self.home.get(at)}
        return Stand({**seen, **coming}, otherwise)

    def _head(self, piston: At) -> Thing:
        thing = self._drawing.things[piston]
        return replace(HEAD, facing=thing.facing, flags=thing.flags & {"sticky"})

    def _moved(self, home: At) -> Seen:
        return Seen(self._drawing.things[home], self._drawing.names.get(home, ""))

    def drawn(self, at: At) -> Seen:
        """What is drawn at a place, but for flowing water."""
        thing = self._drawing.things.get(at)
        if thing is None or (at in self.water and is_source(thing)):
            return NOTHING
        return Seen(thing, self._drawing.names.get(at, ""))

    def _feeds(self, drawing: Drawing) -> Feeds:
        number = self._program.number
        found: dict[At, list[tuple[int, int]]] = {}
        for place, parts in reaching(drawing, self._program.rules).items():
            feeds = [(number[name], lost) for name, lost in parts.items() if name in number]
            if feeds or drawing.things[place].is_dust:
                found[place] = feeds
        return found
