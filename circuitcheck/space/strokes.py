"""What strokes of pistons do to a configuration, as pure steps: start out, start home, land (rules M1, M4 to M8).

Nothing here knows time or power: when a piston is called, and when what is in motion is due, is for those who run it.
Each step gives the next configuration and tells, in order, around which places others get updates (rule M5).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import NamedTuple

from circuitcheck.model.drawing import At, Direction, Drawing
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.configuration import AS_DRAWN, AT_HOME, Around, Configuration, Phase, Stroke
from circuitcheck.space.occupied import Occupied, holder, is_movable
from circuitcheck.space.room import neighbours


@dataclass(frozen=True, slots=True)
class Step:
    """What one step of a stroke comes to."""

    after: Configuration
    tells: tuple[At, ...]
    """The six places around each of these are updated, one after the other (rule M5)."""
    felt: tuple[At, ...]
    """The places in which a detector that watches them feels a change (rule M10)."""
    landed: tuple[At, ...] = ()
    """The things that landed by it, by their homes, farthest first: each is updated itself (rules M5, M10, M11)."""
    let_go: At | None = None
    """The one of them that the piston let go of (rule M6)."""
    water: tuple[At, ...] = ()
    """The places from which it took water away (rule Z7)."""


class Why(Enum):
    """Why a stroke is not made, or is a mistake."""

    TOO_LONG = "more stands in a row than a piston moves"
    HELD = "what stands there can't be moved"
    BREAKS = "it breaks what stands there"
    UNHELD = "what this hangs or lies on is moved away"
    NO_DETECTOR = "detectors can't be moved under these rules"


@dataclass(frozen=True, slots=True)
class Blocked:
    """A stroke that is not made: the piston stays home (rule M7)."""

    place: At
    why: Why


class Broken(NamedTuple):
    """Something that a stroke breaks: its place, its home and why."""

    place: At
    thing: At
    why: Why


@dataclass(frozen=True, slots=True)
class Breaks:
    """A stroke that no builder means (rule M8), or that the rules know nothing of. Nothing is said of what follows."""

    broken: tuple[Broken, ...]


class FirstStroke(NamedTuple):
    """What the first stroke of a piston does, with everything else at home."""

    piston: At
    head: At
    """The place that its head comes to."""
    under_way: Configuration
    """Everything while it is under way."""
    landed: Configuration
    """Everything once it has landed."""

    @property
    def moves(self) -> tuple[tuple[At, At], ...]:
        """The things that it moves, each by its home and with the place that it comes to."""
        return self.landed.places

    @property
    def changes(self) -> frozenset[At]:
        """The places that its head comes to, and that things leave and come to."""
        return frozenset((self.head, *(place for each in self.moves for place in each)))


class Row(NamedTuple):
    """What stands before a piston that is to go out: things by their homes, nearest first, and where the row ends."""

    things: tuple[At, ...]
    end: At
    """The first place behind it, which the farthest thing, or else the head, comes to."""


class Strokes:
    """The steps of the strokes of one drawing, under a set of rules."""

    def __init__(self, drawing: Drawing, rules: RuleSet) -> None:
        self.drawing = drawing
        self.rules = rules
        self.pistons = tuple(sorted(home for home, thing in drawing.things.items() if thing.pushes))

    # Steps

    def start_out(self, now: Configuration, piston: At, around: Around = AS_DRAWN) -> Step | Blocked | Breaks:
        """A piston that is home starts to go out."""
        assert now.phase(piston) is Phase.HOME
        if now.stroke_of(piston) is not None:
            return Blocked(now.place(piston), Why.HELD)  # another piston moves it: it looks when it lands (rule M7)
        occupied = Occupied(self.drawing, now, around)
        row = self._row(occupied, now, piston)
        if isinstance(row, Blocked):
            return row
        toward = self.facing(piston)
        leaves = [now.place(home) for home in row.things]
        broken = tuple(self._broken(occupied, row, leaves))
        if broken:
            return Breaks(broken)
        own = now.place(piston)
        head = toward.from_(own)
        comes = [toward.from_(place) for place in leaves]
        water = tuple(place for place in (row.end,) if occupied.is_wet(place))
        stroke = Stroke(piston, True)
        after = now.but(
            {piston: Phase.GOING_OUT},
            dict(zip(row.things, comes, strict=True)),
            dict.fromkeys(row.things, stroke),
        )
        tells = _once((*water, *reversed(leaves), head, own))
        return Step(after, tells, self._felt_start(*leaves, *comes, head, own), water=water)

    def start_home(
        self, now: Configuration, piston: At, around: Around = AS_DRAWN, lets_go: bool = False
    ) -> Step | Breaks:
        """A piston that is out, or on its way out, starts to go home. It is never blocked (rule M7).

        With `lets_go` it pulls nothing: where a call home waits for the landing (`piston_lands wait`), one that came
        before it lets go of what the stroke moved (rule O3).
        """
        short = now.phase(piston) is Phase.GOING_OUT
        assert short or now.phase(piston) is Phase.OUT
        toward, own = self.facing(piston), now.place(piston)
        head = toward.from_(own)
        before = toward.from_(head)
        occupied = Occupied(self.drawing, now, around)
        thing = occupied.thing_at(before) if self._is_sticky(piston) else None
        if thing is not None and now.stroke_of(thing) == Stroke(piston, True) and self.rules.sticky_lets_go:
            return self._let_go(now, piston, thing, (head, own, before))
        if thing is not None and not lets_go and self._pulls(now, piston, thing):
            broken = (*self._detectors([thing], [before]), *self._unheld(occupied, [before]))
            if broken:
                return Breaks(broken)
            after = now.but({piston: Phase.GOING_HOME}, {thing: head}, {thing: Stroke(piston, False)})
            return Step(after, (*((head,) if short else ()), own, before), self._felt_start(own, head, before))
        after = now.but({piston: Phase.GOING_HOME})
        tells = (head, own) if short else (own, head)
        return Step(after, tells, self._felt_start(own, head))

    def _let_go(self, now: Configuration, piston: At, thing: At, places: tuple[At, At, At]) -> Step:
        """A short stroke: the thing before the head lands where it was moving to, at once (rule M6)."""
        head, own, before = places
        after = now.but({piston: Phase.GOING_HOME}, None, {thing: None})
        felt = (*self._felt_start(own, head), before)
        return Step(after, (head, own, before), felt, landed=(thing,), let_go=thing)

    def land(self, now: Configuration, stroke: Stroke) -> Step:
        """All that is still in motion by a stroke lands, and the head or the piston with it if it is under way."""
        piston = stroke.piston
        toward, own = self.facing(piston), now.place(piston)
        head = toward.from_(own)
        things = tuple(
            sorted(
                (home for home, each in now.moving if each == stroke),
                key=now.place,
                reverse=sum(toward.value) > 0,
            )
        )
        comes = tuple(now.place(home) for home in things)
        still: dict[At, Stroke | None] = dict.fromkeys(things)
        if not stroke.out:
            felt = self._felt_landing((own, *comes), head, *(toward.from_(place) for place in comes))
            return Step(now.but({piston: Phase.HOME}, None, still), (own, *comes), felt, things)
        left = tuple(toward.back.from_(place) for place in comes)
        if now.phase(piston) is not Phase.GOING_OUT:  # the piston itself was called home meanwhile (rule M6)
            return Step(now.but(None, None, still), comes, self._felt_landing(comes, *left), things)
        felt = self._felt_landing((*comes, head), own, *left)
        return Step(now.but({piston: Phase.OUT}, None, still), (*comes, head), felt, things)

    def already_out(self, pistons: Iterable[At], around: Around = AS_DRAWN) -> Configuration | Blocked | Breaks:
        """The drawing with some pistons out from the start, each with what it has moved."""
        now = Configuration()
        for piston in pistons:
            started = self.start_out(now, piston, around)
            if not isinstance(started, Step):
                return started
            now = self.land(started.after, Stroke(piston, True)).after
        return now

    def one_at_a_time(self) -> Iterator[FirstStroke]:
        """The first stroke of each piston that can go out from home."""
        for piston in self.pistons:
            step = self.start_out(AT_HOME, piston)
            if isinstance(step, Step):
                landed = self.land(step.after, Stroke(piston, True)).after
                yield FirstStroke(piston, self.facing(piston).from_(piston), step.after, landed)

    def footprint(self, now: Configuration, piston: At) -> frozenset[At]:
        """The places that the next stroke of a piston depends on or changes: where two have one in common, their order
        can matter (rule M13)."""
        toward, own = self.facing(piston), now.place(piston)
        found = [own]
        occupied = Occupied(self.drawing, now, AS_DRAWN)
        while len(found) <= 2 or occupied.thing_at(found[-1]) is not None:
            found.append(toward.from_(found[-1]))
        return frozenset(found)

    # What they depend on

    def facing(self, piston: At) -> Direction:
        """The way a piston moves out."""
        facing = self.drawing.things[piston].facing
        assert facing is not None
        return facing

    def _is_sticky(self, piston: At) -> bool:
        return "sticky" in self.drawing.things[piston].flags

    def _row(self, occupied: Occupied, now: Configuration, piston: At) -> Row | Blocked:
        toward = self.facing(piston)
        things: list[At] = []
        place = toward.from_(now.place(piston))
        while True:
            if occupied.is_held(place):
                return Blocked(place, Why.HELD)
            thing = occupied.thing_at(place)
            if thing is None:
                return Row(tuple(things), place)
            if len(things) == self.rules.push_limit:
                return Blocked(place, Why.TOO_LONG)
            things.append(thing)
            place = toward.from_(place)

    def _broken(self, occupied: Occupied, row: Row, leaves: Sequence[At]) -> Iterator[Broken]:
        """What a row that moves breaks, or takes the hold from, or can't have in it."""
        yield from self._detectors(row.things, leaves)
        if occupied.fragile_at(row.end) is not None:
            yield Broken(row.end, row.end, Why.BREAKS)
        yield from (each for each in self._unheld(occupied, leaves) if each.place != row.end)

    def _detectors(self, things: Iterable[At], places: Iterable[At]) -> Iterator[Broken]:
        """The detectors among things that move, under rules that have no such thing (rule M10)."""
        for thing, place in zip(things, places, strict=True):
            if self.drawing.things[thing].watches and not self.rules.detectors_move:
                yield Broken(place, thing, Why.NO_DETECTOR)

    def _pulls(self, now: Configuration, piston: At, thing: At) -> bool:
        """Whether a sticky piston takes along what is before its head."""
        stroke = now.stroke_of(thing)
        return (
            now.phase(thing) is Phase.HOME
            and stroke in (None, Stroke(piston, True))
            and is_movable(self.drawing.things[thing])
        )

    def _unheld(self, occupied: Occupied, leaves: Iterable[At]) -> Iterator[Broken]:
        """What hangs or lies on things that leave their places (rule M8)."""
        for left in leaves:
            for _, beside in neighbours(left):
                thing = occupied.fragile_at(beside)
                if thing is not None and holder(thing, beside) == left:
                    yield Broken(beside, beside, Why.UNHELD)

    def _felt_start(self, *places: At) -> tuple[At, ...]:
        return _once(places) if self.rules.detector_feels == "start" else ()

    def _felt_landing(self, comes: Iterable[At], *before: At) -> tuple[At, ...]:
        """What changes by a landing, and what changed before, at the start, where that was not felt (rule M10)."""
        return _once(comes if self.rules.detector_feels == "start" else (*comes, *before))


def _once(places: Iterable[At]) -> tuple[At, ...]:
    return tuple(dict.fromkeys(places))
