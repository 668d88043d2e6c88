"""What gives power to what in space: dust (W4), torches (W5), repeaters and comparators (W6), levers and buttons (W7),
blocks (W8), and what a piston answers to (W9).

A detector gives to the place in front of it as a repeater does; what its rules leave open is taken so.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce
from operator import or_
from typing import NamedTuple

from circuitcheck.model.block_type import Gives, Reads
from circuitcheck.model.drawing import ABOVE, AROUND, BELOW, At, Direction, Thing
from circuitcheck.space.dust import Dusts
from circuitcheck.space.room import Answers, Room, neighbours


class Sources(NamedTuple):
    """What feeds one input: parts, dust and solid blocks, by their places."""

    parts: tuple[At, ...] = ()
    dust: tuple[At, ...] = ()
    blocks: tuple[At, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.parts or self.dust or self.blocks)

    def __or__(self, other: Sources) -> Sources:
        return Sources(*(tuple(dict.fromkeys((*mine, *theirs))) for mine, theirs in zip(self, other, strict=True)))


class DriverLookup:
    """Answers for one drawing; what has been computed of its blocks and runs of dust is kept."""

    def __init__(self, room: Room, dusts: Dusts) -> None:
        self._room = room
        self._dusts = dusts
        self._blocks: Answers[At, Sources] = room.answers()
        self._strong: Answers[At, tuple[At, ...]] = room.answers()
        self._lit: Answers[frozenset[At], bool] = room.answers()

    def into_block(self, block: At) -> Sources:
        """What powers a solid block: strongly the parts, weakly the dust (rules P4, W4 to W7)."""
        known = self._blocks.get(block)
        if known is None:
            known = self._blocks.keep(Sources(self.strongly(block), tuple(self._weakly(block))), block)
        return known

    def strongly(self, block: At) -> tuple[At, ...]:
        """The parts that power a solid block."""
        known = self._strong.get(block)
        if known is None:
            known = self._strong.keep(tuple(self._strongly(block)), block)
        return known

    def _strongly(self, block: At) -> Iterable[At]:
        room, below = self._room, BELOW.from_(block)
        if room.gives(below) is Gives.AROUND_AND_ABOVE:
            yield below
        for _, beside in neighbours(block):
            if room.faces(beside, block) or (
                room.gives(beside) is Gives.AROUND_AND_HOLDER and room.held_by(beside) == block
            ):
                yield beside

    def _weakly(self, block: At) -> Iterable[At]:
        above = ABOVE.from_(block)
        if self._room.is_dust(above):
            yield above
        yield from self._pointing_into(block)

    def _pointing_into(self, place: At) -> Iterable[At]:
        for direction in AROUND:
            beside = direction.from_(place)
            if self._room.is_dust(beside) and direction.back in self._dusts.points(beside):
                yield beside

    def _part_gives(self, giver: At, place: At) -> bool:
        """Whether the part at one place gives to a part at the place beside it (rules W5, W6, W7)."""
        room = self._room
        if room.faces(giver, place):
            return True
        around = room.gives(giver) in (Gives.AROUND_AND_ABOVE, Gives.AROUND_AND_HOLDER)
        return around and room.held_by(giver) != place

    def at_part(self, place: At, but: Direction | None = None) -> Sources:
        """What would power a part at a place, all around but through one side (rules W4 to W9)."""
        sides = [beside for direction, beside in neighbours(place) if direction is not but]
        parts = tuple(beside for beside in sides if self._part_gives(beside, place))
        dust = tuple(beside for beside in self._pointing_into(place) if beside in sides)
        blocks = tuple(beside for beside in sides if self._room.solid(beside) and self.into_block(beside))
        return Sources(parts, dust, blocks)

    def from_side(self, place: At, direction: Direction) -> Sources:
        """What feeds a repeater or comparator from the place on one side of it, be it behind (rules W4, W6, W8)."""
        beside = direction.from_(place)
        parts = (beside,) if self._part_gives(beside, place) else ()
        dust = (beside,) if beside in self._pointing_into(place) else ()
        blocks = (beside,) if self._room.solid(beside) and self.into_block(beside) else ()
        return Sources(parts, dust, blocks)

    def into_dust(self, place: At) -> Sources:
        """What lights dust at a place, apart from other dust: parts beside it and strongly powered blocks (W8)."""
        sides = [beside for _, beside in neighbours(place)]
        parts = tuple(beside for beside in sides if self._part_gives(beside, place))
        strong = tuple(beside for beside in sides if self._room.solid(beside) and self.strongly(beside))
        return Sources(parts, (), strong)

    def lights_run_of(self, dust: At) -> bool:
        """Whether anything but dust lights dust somewhere in the run of dust at a place."""
        run = self._dusts.whole_run(dust)
        known = self._lit.get(run)
        if known is None:
            known = self._lit.keep(any(map(self.into_dust, run)), run)
        return known

    def into_lamp(self, place: At) -> Sources:
        """What lights a lamp: as a part what is given to it, as a block what powers it (rules O2, W4, W8)."""
        return self.at_part(place) | self.into_block(place)

    def comparator_side(self, place: At, direction: Direction) -> Sources:
        """What a side of a comparator takes: what points into it, and dust; no torch, lever or powered block (W6)."""
        beside = direction.from_(place)
        parts = (beside,) if self._room.faces(beside, place) else ()
        return Sources(parts, self.from_side(place, direction).dust)

    def locks(self, place: At, direction: Direction) -> tuple[At, ...]:
        """What locks a repeater from one side: repeaters and comparators that point into it (rule W6)."""
        beside = direction.from_(place)
        thing = self._room.at(beside)
        locks = thing is not None and thing.block_type.directed and self._room.faces(beside, place)
        return (beside,) if locks else ()

    def above_piston(self, place: At) -> Sources:
        """What would power the place above a piston, which the piston answers to as well (rule W9)."""
        if not self._room.rules.power_above_piston:
            return Sources()
        return self.at_part(ABOVE.from_(place), but=BELOW)

    def read(self, place: At, thing: Thing, how: Reads) -> Sources:
        """What tells a thing at a place one of its options, of those that are given by power."""
        if how is Reads.HOLDER:
            return Sources(blocks=() if thing.on is None else (thing.on.from_(place),))
        if how is Reads.AS_BLOCK:
            return self.into_lamp(place)
        if how is Reads.BESIDE:
            return self.at_part(place, but=thing.facing)
        if how is Reads.OVERHEAD:
            return self.above_piston(place)
        if thing.facing is None:
            return Sources()
        sides = [side for side in AROUND if side not in (thing.facing, thing.facing.back)]
        if how is Reads.BEHIND:
            return self.from_side(place, thing.facing.back)
        if how is Reads.SIDES:
            return reduce(or_, (self.comparator_side(place, side) for side in sides))
        if how is Reads.LOCKS:
            return Sources(tuple(lock for side in sides for lock in self.locks(place, side)))
        return Sources()
