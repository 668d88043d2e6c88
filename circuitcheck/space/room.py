"""What stands where: the questions that every rule of space needs answered about a drawing (rule W1)."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Generic, TypeVar

from circuitcheck.model.block_type import Gives, Joins
from circuitcheck.model.drawing import At, Direction, Drawing, Thing
from circuitcheck.model.rules import RuleSet

Answer = TypeVar("Answer")
Key = TypeVar("Key")


class Answers(Generic[Key, Answer]):
    """Answers about a room that are kept: one that `get` does not have is found next, and given to `keep`."""

    def __init__(self) -> None:
        self._known: dict[Key, Answer] = {}
        self.get: Callable[[Key], Answer | None] = self._known.get

    def keep(self, answer: Answer, *keys: Key) -> Answer:
        """Keeps an answer, for all that it is the answer to."""
        for key in keys:
            self._known[key] = answer
        return answer


class Room:
    """The places of one drawing, under a set of rules."""

    def __init__(self, drawing: Drawing, rules: RuleSet) -> None:
        self.drawing = drawing
        self.rules = rules
        self._things = drawing.things

    def answers(self) -> Answers[Key, Answer]:
        """Where answers about this room can be kept."""
        return Answers()

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

    def joins_dust(self, place: At, direction: Direction) -> bool:
        """Whether a part at a place counts as a join for dust that has it in some direction (rule W3)."""
        thing = self._things.get(place)
        if thing is None:
            return False
        joins = thing.block_type.joins
        if joins is Joins.ENDS:
            return thing.facing in (direction, direction.back)
        return joins is Joins.ALL or (joins is Joins.FRONT and thing.facing is direction.back)

    def asked(self, place: At, ask: Callable[[], bool]) -> bool:
        """The answer to a question of which all that it depends on here is what stands at a place."""
        return ask()

    def held_by(self, place: At) -> At | None:
        """The place of the block that holds a torch, a lever or a button; None for things that nothing holds."""
        thing = self._things.get(place)
        return thing.on.from_(place) if thing is not None and thing.on is not None else None


class MayStand:
    """What else may stand at some places; two with the same in them are equal."""

    __slots__ = ("_hash", "_key", "at")

    def __init__(self, at: Mapping[At, Iterable[Thing | None]]) -> None:
        self.at = {place: tuple(dict.fromkeys(things)) for place, things in at.items()}
        self._key = frozenset((place, frozenset(things)) for place, things in self.at.items())
        self._hash = hash(self._key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, MayStand) and self._key == other._key

    def __hash__(self) -> int:
        return self._hash


class ComparingRoom(Room):
    """A room that notes the places at which something else may stand, and would change an answer that was given."""

    def __init__(self, drawing: Drawing, rules: RuleSet, may_stand: MayStand) -> None:
        super().__init__(drawing, rules)
        self._may_stand = may_stand.at
        self._compares: At | None = None
        """The place at which answers are compared just now."""
        self.noted: set[At] = set()
        self._noted_before: list[set[At]] = []

    def answers(self) -> Answers[Key, Answer]:
        return _Noting(self)

    def begin_noting(self) -> None:
        """Begins to note afresh, for one answer among others."""
        self._noted_before.append(self.noted)
        self.noted = set()

    def end_noting(self) -> frozenset[At]:
        """What has been noted for that answer; it counts for those around it as well."""
        found = frozenset(self.noted)
        self.noted = self._noted_before.pop() | found
        return found

    def at(self, place: At) -> Thing | None:
        if place in self._may_stand and place != self._compares:
            self.noted.add(place)
        return super().at(place)

    def is_a(self, place: At, *words: str) -> bool:
        return self.asked(place, lambda: super(ComparingRoom, self).is_a(place, *words))

    def is_dust(self, place: At) -> bool:
        return self.asked(place, lambda: super(ComparingRoom, self).is_dust(place))

    def gives(self, place: At) -> Gives:
        return self._compared(place, lambda: super(ComparingRoom, self).gives(place))

    def solid(self, place: At) -> bool:
        return self.asked(place, lambda: super(ComparingRoom, self).solid(place))

    def carries_dust(self, place: At) -> bool:
        return self.asked(place, lambda: super(ComparingRoom, self).carries_dust(place))

    def faces(self, place: At, toward: At) -> bool:
        return self.asked(place, lambda: super(ComparingRoom, self).faces(place, toward))

    def joins_dust(self, place: At, direction: Direction) -> bool:
        return self.asked(place, lambda: super(ComparingRoom, self).joins_dust(place, direction))

    def held_by(self, place: At) -> At | None:
        return self._compared(place, lambda: super(ComparingRoom, self).held_by(place))

    def asked(self, place: At, ask: Callable[[], bool]) -> bool:
        return self._compared(place, ask)

    def _compared(self, place: At, ask: Callable[[], Answer]) -> Answer:
        if place not in self._may_stand or self._compares == place:
            return ask()
        before, self._compares = (self._compares, self._things), place
        answer = ask()
        for thing in self._may_stand[place]:
            self._things = _Instead(before[1], place, thing)
            if ask() != answer:
                self.noted.add(place)
        self._compares, self._things = before
        return answer


class _Noting(Answers[Key, Answer]):
    """Answers that are kept with what was noted for each, so that it is noted again for whoever asks again."""

    def __init__(self, room: ComparingRoom) -> None:
        super().__init__()
        self._room = room
        self._notes: dict[Key, frozenset[At]] = {}
        self.get = self._got

    def _got(self, key: Key) -> Answer | None:
        known = self._known.get(key)
        if known is None:
            self._room.begin_noting()
        else:
            self._room.noted |= self._notes[key]
        return known

    def keep(self, answer: Answer, *keys: Key) -> Answer:
        notes = self._room.end_noting()
        self._notes |= dict.fromkeys(keys, notes)
        return super().keep(answer, *keys)


class _Instead(Mapping[At, Thing]):
    """What stands where, with something else at one place."""

    def __init__(self, usual: Mapping[At, Thing], place: At, thing: Thing | None) -> None:
        self._usual = usual
        self._place = place
        self._thing = thing

    def __getitem__(self, place: At) -> Thing:
        if place != self._place:
            return self._usual[place]
        if self._thing is None:
            raise KeyError(place)
        return self._thing

    def __iter__(self) -> Iterator[At]:
        return iter(self._usual)

    def __len__(self) -> int:
        return len(self._usual)


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
