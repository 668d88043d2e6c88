"""Which place is taken by what in a configuration: the questions that strokes ask (rules M1, M4)."""

from __future__ import annotations

from circuitcheck.model.block_type import Pushed
from circuitcheck.model.drawing import BELOW, At, Drawing, Thing
from circuitcheck.space.configuration import Around, Configuration, Phase

FIRST_LAYER = 1


def is_movable(thing: Thing) -> bool:
    """Whether a piston can move a thing while it stands, under rules that let it (rule M1)."""
    return thing.block_type.pushed is Pushed.MOVES and thing.shape != "fixed"


def holder(thing: Thing, place: At) -> At | None:
    """The place of what a thing hangs or lies on; None where it needs nothing."""
    if thing.on is not None:
        return thing.on.from_(place)
    return BELOW.from_(place) if thing.block_type.lies else None


def head_of(drawing: Drawing, now: Configuration, piston: At) -> At:
    """The place of a piston's head, where it has one."""
    facing = drawing.things[piston].facing
    assert facing is not None
    return facing.from_(now.place(piston))


class Occupied:
    """What stands where in a drawing, in one configuration and with what else comes and goes."""

    def __init__(self, drawing: Drawing, now: Configuration, around: Around) -> None:
        self._drawing = drawing
        self._around = around
        self._displaced = {place: home for home, place in now.places}
        self._away = {home for home, _ in now.places}
        self._in_motion = {home for home, _ in now.moving} | {home for home, _ in now.phases}
        self._heads = {
            head_of(drawing, now, home) for home, phase in now.phases if phase in (Phase.GOING_OUT, Phase.OUT)
        }

    def thing_at(self, place: At) -> At | None:
        """The home of the thing that can be moved and is at a place, or moves there just now."""
        home = self._displaced.get(place)
        if home is not None:
            return home
        thing = self._drawing.things.get(place)
        return place if thing is not None and place not in self._away and is_movable(thing) else None

    def is_held(self, place: At) -> bool:
        """Whether nothing can come to a place, as what is there can't be moved (rule M1)."""
        if place[0] < FIRST_LAYER or place in self._heads:
            return True
        thing = self._drawing.things.get(place)
        if thing is not None and thing.shape == "fixed":
            return True
        return self.thing_at(place) in self._in_motion

    def fragile_at(self, place: At) -> Thing | None:
        """What is at a place that breaks when something comes there; it never moves, so it stands where it is drawn."""
        thing = self._drawing.things.get(place)
        breaks = thing is not None and thing.block_type.pushed is Pushed.BREAKS
        return thing if breaks and place not in self._around.absent else None

    def is_wet(self, place: At) -> bool:
        """Whether there is water at a place at which there is nothing else."""
        thing = self._drawing.things.get(place)
        drawn = thing is not None and thing.word == "water" and place not in self._around.absent
        return drawn or place in self._around.wet
