"""The circuit that a drawing is: every part that behaves, with what feeds it, read out of the places.

Dust and blocks have no delay and no memory, so of all the dust only that is made a part at which something reads; what
reaches it, and what is lost on the way, is computed here once.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.block_type import Reads, Wiring
from circuitcheck.model.drawing import At, Drawing, Thing, placed_name
from circuitcheck.model.making import Options, made, made_wiring
from circuitcheck.model.parts.base import Part
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.drivers import DriverLookup, Sources
from circuitcheck.space.dust import Dusts
from circuitcheck.space.growing import Growing
from circuitcheck.space.latches import latches
from circuitcheck.space.reach import Reach
from circuitcheck.space.room import Room
from circuitcheck.space.telling import Hearing


class Wired(NamedTuple):
    """The parts of a drawing, and where each of them stands."""

    parts: tuple[Part, ...]
    where: dict[str, At]


class _Moved(NamedTuple):
    """By which piston a place changes, and whether it has nothing before its head."""

    piston: At
    by_head: bool


def _changed_by_strokes(drawing: Drawing, rules: RuleSet) -> dict[At, _Moved]:
    """The places that the first stroke of each piston changes (rule M1); of one that stays home, its head's place."""
    if not drawing.has_pistons:
        return {}
    from circuitcheck.space.strokes import Strokes  # only where something moves

    strokes = Strokes(drawing, rules)
    found = {strokes.facing(piston).from_(piston): _Moved(piston, by_head=True) for piston in strokes.pistons}
    for each in strokes.one_at_a_time():
        found |= dict.fromkeys(each.changes, _Moved(each.piston, by_head=not each.moves))
    return found


def wired(drawing: Drawing, rules: RuleSet) -> Wired:
    """The parts of a drawing in which everything can stand, under a set of rules."""
    return _Reading(drawing, rules).run()


class _Reading:
    def __init__(self, drawing: Drawing, rules: RuleSet) -> None:
        self._drawing = drawing
        self._room = Room(drawing, rules)
        self._dusts = Dusts(self._room)
        self._giving = DriverLookup(self._room, self._dusts)
        self._hearing = Hearing(self._room)
        self._growing = Growing(self._room)
        self._reach = Reach(self._room, self._dusts, self._giving)
        self._moved = _changed_by_strokes(drawing, rules)
        self._graded = {drawing.name(at) for at, thing in drawing.things.items() if _is_graded(thing)}
        self._made: dict[At, tuple[Part, ...]] = {}
        self._standing = {drawing.name(at) for at, thing in drawing.things.items() if thing.is_signal}
        """What stands there: while it is built up, the part that something comes and goes with may not stand yet."""

    def run(self) -> Wired:
        for place, thing in self._drawing.things.items():
            if thing.is_part:
                self._made[place] = (*self._parts(place, thing), *self._made.get(place, ()))
        for place in self._drawing.names:
            # What its author has given a name may be asked for.
            wiring = self._drawing.things[place].block_type.wiring
            if wiring is Wiring.DUST:
                self._dust(place)
            elif wiring is Wiring.BLOCK:
                self._block(place, named=True)
        parts = [part for place in sorted(self._made) for part in self._made[place]]
        where = {part.name: place for place, made in self._made.items() for part in made}
        return Wired((*parts, *latches(parts)), where)

    # The kinds of part, each with what feeds it

    def _parts(self, place: At, thing: Thing) -> tuple[Part, ...]:
        """The parts that a thing is, each of its options read from where its kind says."""
        sources: dict[str, tuple[str, ...]] = {}
        places: dict[str, str] = {}
        reads = thing.block_type.reads
        stuck = any(each.how is Reads.OVERHEAD for each in reads) and self._is_stuck(place)
        for option, how, _ in reads:
            if stuck and how is Reads.BESIDE:
                continue  # no power comes from there
            if how is Reads.LIGHT:
                places[option] = self._growing.place_above(place)
            elif how is Reads.GROWN:
                sources[option] = tuple(map(self._drawing.name, self._growing.sources(place)))
            elif how is Reads.WATCHED:
                # It stands there all the same where what it watches never changes.
                watched = self._watched(thing.facing.back.from_(place)) if thing.facing is not None else ""
                sources[option] = (watched,) if watched else ()
            elif how is Reads.OVERHEAD:
                sources |= self._overhead(place, option, stuck)
            else:
                sources[option] = self._names(self._giving.read(place, thing, how))
        options = Options(
            sources=sources,
            numbers=dict(thing.numbers),
            flags=thing.flags,
            places=places,
            changes=thing.changes,
            start=self._drawing.starts.get(place, thing.start),
        )
        return made(thing.word, self._drawing.name(place), options, self._drawing.spans.get(place, NOWHERE))

    def _overhead(self, place: At, option: str, stuck: bool) -> dict[str, tuple[str, ...]]:
        """What powers the place above a thing, and what it hears of, where that makes a difference to it (rule D2)."""
        direct = self._giving.at_part(place, but=self._drawing.things[place].facing)
        above = self._giving.above_piston(place)
        if stuck:
            return {"arming": self._names(above), "hears": self._heard(place, Sources())}
        felt, armed = self._reach.into(direct), self._reach.into(above)
        if any(self._missed(name, lost, felt) for name, lost in armed.items()):
            return {option: self._names(above), "hears": self._heard(place, direct)}
        return {}

    def _is_stuck(self, place: At) -> bool:
        """Whether what would power the place above a piston is all that can power it."""
        thing = self._drawing.things[place]
        if self._reach.into(self._giving.at_part(place, but=thing.facing)):
            return False
        return bool(self._reach.into(self._giving.above_piston(place)))

    def _missed(self, name: str, lost: int, felt: Mapping[str, int]) -> bool:
        """Whether power above a piston may be there while the piston feels none from that part.

        Of parts that give all or nothing it feels any; of a comparator it may feel less than comes to the place above.
        """
        return name not in felt or (name in self._graded and felt[name] > lost)

    def _heard(self, place: At, direct: Sources) -> tuple[str, ...]:
        """The names of all whose change is heard at a place, but for what is felt as power there."""
        heard = [each for each in self._hearing.at(place) if each not in (*direct.parts, *direct.dust)]
        return tuple(name for name in map(self._watched, heard) if name)

    def _watched(self, place: At) -> str:
        """The name of what can be seen to change at a place; empty where nothing does."""
        thing = self._room.at(place)
        if thing is not None and thing.is_dust:
            return self._dust(place)
        if thing is not None and thing.is_part:
            return self._drawing.name(place)
        if thing is not None and thing.when is not None:
            return thing.when.part if thing.when.part in self._standing else ""
        moved = self._moved.get(place)
        if moved is None:
            return ""
        # Where its block goes is known of a piston that is not stuck only; of a stuck one both move at once.
        name = self._drawing.name(moved.piston)
        return name if moved.by_head or self._is_stuck(moved.piston) else f"{name}.block"

    # Wiring

    def _names(self, sources: Sources) -> tuple[str, ...]:
        """The names of sources, with the dust and blocks among them made parts."""
        parts = tuple(map(self._drawing.name, sources.parts))
        blocks = (self._block(place) for place in sources.blocks)
        return (*parts, *map(self._dust, sources.dust), *(name for name in blocks if name))

    def _block(self, place: At, named: bool = False) -> str:
        """The name of a block as something that passes power on; empty where nothing powers it.

        One that its author has named may be asked for, powered or not.
        """
        powered = self._giving.into_block(place)
        thing = self._room.at(place)
        is_block = thing is not None and thing.block_type.wiring is Wiring.BLOCK
        name = self._drawing.name(place) if is_block else placed_name(BLOCK, place)
        others = self._made.get(place, ())
        if (powered or named) and not any(part.name == name for part in others):
            span = self._drawing.spans.get(place, NOWHERE)
            self._made[place] = (*others, made_wiring(BLOCK, name, span, dict.fromkeys(self._names(powered), 0)))
        return name if powered else ""

    def _dust(self, place: At) -> str:
        """The name of dust as something that is read."""
        name = self._drawing.name(place)
        if place not in self._made:
            lost = self._reach.dust(place)
            span = self._drawing.spans.get(place, NOWHERE)
            self._made[place] = (made_wiring(self._drawing.things[place].word, name, span, lost),)
        return name


BLOCK = "block"
"""What each solid block is as wiring, whatever else it is."""


def _is_graded(thing: Thing) -> bool:
    return thing.kind is not None and any(part.graded for part in thing.kind.samples)
