"""The circuit that a drawing is: every part that behaves, with what feeds it, read out of the places.

Dust and blocks have no delay and no memory, so of all the dust only that is made a part at which something reads; what
reaches it, and what is lost on the way, is worked out here once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.drawing import BEHAVES, At, Drawing, Thing, placed_name
from circuitcheck.model.parts import KINDS
from circuitcheck.model.parts.base import Part, Request
from circuitcheck.model.parts.block import Block
from circuitcheck.model.parts.detector import Detector
from circuitcheck.model.parts.dust import Run
from circuitcheck.model.parts.piston import Piston
from circuitcheck.model.parts.stuck_piston import TRAVEL, StuckPiston
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.drivers import DriverLookup, Sources
from circuitcheck.space.dust import Dusts
from circuitcheck.space.growing import Growing
from circuitcheck.space.latches import latches
from circuitcheck.space.moving import changing
from circuitcheck.space.ports import ports_at
from circuitcheck.space.reach import Reach
from circuitcheck.space.room import Room
from circuitcheck.space.telling import Hearing

CALLED = BEHAVES | {"dust", "block"}
"""What can be a part of the circuit."""
OPTION_OF = {"block": "from", "power": "from", "back": "from", "side": "side"}
"""The option with which an author feeds a port, by the port's name; what locks a repeater is called otherwise."""


class Wired(NamedTuple):
    """The parts of a drawing, and where each of them stands."""

    parts: tuple[Part, ...]
    where: dict[str, At]


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
        self._reach = Reach(drawing, self._dusts, self._giving)
        self._moved = dict(changing(drawing))
        self._graded = {drawing.name(at) for at, thing in drawing.things.items() if thing.word == "comparator"}
        self._made: dict[At, tuple[Part, ...]] = {}
        self._standing = {drawing.name(at) for at, thing in drawing.things.items() if thing.word in CALLED}
        """What stands there: while it is built up, the part that something comes and goes with may not stand yet."""

    def run(self) -> Wired:
        for place, thing in self._drawing.things.items():
            if thing.word in BEHAVES:
                self._made[place] = (*self._parts(place, thing), *self._made.get(place, ()))
        for place in self._drawing.names:
            # What its author has given a name may be asked for.
            if self._room.is_a(place, "dust"):
                self._dust(place)
            elif self._room.is_a(place, "block"):
                self._block(place, named=True)
        parts = [part for place in sorted(self._made) for part in self._made[place]]
        where = {part.name: place for place, made in self._made.items() for part in made}
        return Wired((*parts, *latches(parts)), where)

    # The kinds of part, each with what feeds it

    def _parts(self, place: At, thing: Thing) -> tuple[Part, ...]:
        if thing.word == "piston":
            return self._piston(place, thing)
        if thing.word == "sensor":
            return self._built(place, thing, {"grows": tuple(map(self._drawing.name, self._growing.sources(place)))})
        if thing.word == "detector":
            assert thing.facing is not None
            watched = self._watched(thing.facing.back.from_(place))
            (detector,) = self._built(place, thing, {"watches": (watched,)})
            assert isinstance(detector, Detector)
            # It stands there all the same where what it watches never changes.
            return (detector if watched else replace(detector, watches=()),)
        ports = ports_at(self._room, self._giving, place)
        option = {**OPTION_OF, "side": "locked"} if thing.word == "repeater" else OPTION_OF
        return self._built(place, thing, {option[port]: self._names(sources) for port, sources in ports.items()})

    def _built(self, place: At, thing: Thing, sources: dict[str, tuple[str, ...]] | None = None) -> tuple[Part, ...]:
        """The part that stands at a place, made as every part of its kind is."""
        kind = KINDS[thing.word]
        usual = {option.word: option.default for option in kind.options if option.default is not None}
        request = Request(
            name=self._drawing.name(place),
            span=self._drawing.spans.get(place, NOWHERE),
            sources=sources or {},
            numbers={**usual, **dict(thing.numbers)},
            start=self._drawing.starts.get(place, thing.start),
            flags=thing.flags,
            spans={},
            places={"at": self._growing.place_above(place)} if thing.word == "sensor" else {},
            changes=list(thing.changes),
        )
        return kind.build(request)

    def _piston(self, place: At, thing: Thing) -> tuple[Part, ...]:
        """A piston; one that answers only to what would power the place above it is stuck until it is told (D2)."""
        ports = ports_at(self._room, self._giving, place)
        direct, above = ports["power"], ports["above"]
        name, span = self._drawing.name(place), self._drawing.spans.get(place, NOWHERE)
        start = self._drawing.starts.get(place, thing.start)
        felt, armed = self._reach.into(direct), self._reach.into(above)
        if self._is_stuck(place):
            travel = dict(thing.numbers).get("travel", TRAVEL)
            arming, hears = self._names(above), self._heard(place, Sources())
            return (StuckPiston(name=name, span=span, start=start, arming=arming, hears=hears, travel=travel),)
        piston, block = self._built(place, thing, {"from": self._names(direct)})
        assert isinstance(piston, Piston)
        if any(self._missed(name, lost, felt) for name, lost in armed.items()):
            piston = replace(piston, above=self._names(above), hears=self._heard(place, direct))
        return (piston, block)

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
        if thing is not None and thing.word == "dust":
            return self._dust(place)
        if thing is not None and thing.word in BEHAVES:
            return self._drawing.name(place)
        if thing is not None and thing.when is not None:
            return thing.when.part if thing.when.part in self._standing else ""
        stroke = self._moved.get(place)
        if stroke is None:
            return ""
        # Where its block goes is known of a piston that is not stuck only; of a stuck one both move at once.
        piston = self._drawing.name(stroke.piston)
        return piston if stroke.moves is None or self._is_stuck(stroke.piston) else f"{piston}.block"

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
        word = self._room.at(place)
        name = self._drawing.name(place) if word is not None and word.word == "block" else placed_name("block", place)
        made = self._made.get(place, ())
        if (powered or named) and not any(part.name == name for part in made):
            span = self._drawing.spans.get(place, NOWHERE)
            self._made[place] = (*made, Block(name=name, span=span, feeds=self._names(powered)))
        return name if powered else ""

    def _dust(self, place: At) -> str:
        """The name of dust as something that is read."""
        name = self._drawing.name(place)
        if place not in self._made:
            lost = self._reach.dust(place)
            span = self._drawing.spans.get(place, NOWHERE)
            self._made[place] = (Run(name=name, span=span, feeds=tuple(lost), lost=tuple(lost.values())),)
        return name
