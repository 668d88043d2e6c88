"""What stands where: the questions that every rule of space needs answered about a drawing (rule W1)."""

from __future__ import annotations

from circuitcheck.model.block_type import Gives
from circuitcheck.model.drawing import At, Direction, Drawing, Thing
from circuitcheck.model.rules import RuleSet


class Room:
    """The places of one drawing, under a set of rules."""

    def __init__(self, drawing: Drawing, rules: RuleSet) -> None:
        self.drawing = drawing
        self.rules = rules
        self._things = drawing.things

    def at(self, place: At) -> Thing | None:
        """What stands at a place; None for air."""
        return self._things.get(place)

    def is_a(self, place: At, *words: str) -> bool:
        """Whether one of these kinds of thing stands at a place."""
        thing = self._things.get(place)
        return thing is not None and thing.block_type.word in words

    def is_dust(self, place: At) -> bool:
        """Whether dust lies at a place."""
        thing = self._things.get(place)
        return thing is not None and thing.is_dust

    def gives(self, place: At) -> Gives:
        """What the thing at a place gives to; nothing where none stands."""
        thing = self._things.get(place)
        return Gives.NOTHING if thing is None else thing.block_type.gives

    def solid(self, place: At) -> bool:
        """Whether a solid block stands at a place: it can be powered, and carries dust and torches."""
        thing = self._things.get(place)
        return thing is not None and thing.block_type.solid

    def carries_dust(self, place: At) -> bool:
        """Whether dust may lie on what stands at a place; on clear blocks only under newer rules."""
        thing = self._things.get(place)
        if thing is None:
            return False
        if thing.block_type.word == "half":
            return thing.end == "top"
        return thing.block_type.solid or (thing.block_type.word == "glass" and self.rules.dust_on_clear)

    def faces(self, place: At, toward: At) -> bool:
        """Whether a thing that gives in front stands at a place and points into another."""
        thing = self._things.get(place)
        return (
            thing is not None
            and thing.block_type.gives is Gives.FRONT
            and thing.facing is not None
            and thing.facing.from_(place) == toward
        )

    def held_by(self, place: At) -> At | None:
        """The place of the block that holds a torch, a lever or a button; None for things that nothing holds."""
        thing = self._things.get(place)
        return thing.on.from_(place) if thing is not None and thing.on is not None else None


STEPS = tuple((direction, direction.value) for direction in Direction)


def neighbours(place: At) -> tuple[tuple[Direction, At], ...]:
    """The six places next to a place."""
    layer, row, column = place
    return tuple([(direction, (layer + up, row + south, column + east)) for direction, (up, south, east) in STEPS])


def within_two_steps(place: At) -> list[At]:
    """Every other place that two steps reach."""
    return [
        (place[0] + up, place[1] + south, place[2] + east)
        for up in range(-2, 3)
        for south in range(abs(up) - 2, 3 - abs(up))
        for east in range(abs(up) + abs(south) - 2, 3 - abs(up) - abs(south))
        if (up, south, east) != (0, 0, 0)
    ]
