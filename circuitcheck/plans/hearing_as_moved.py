"""What detectors and stuck pistons hear while something is not where it is drawn, where that is otherwise than at home.

Of parts and dust only (W10, D1): whom strokes and water tell, `plans.hearing` says once for all configurations. A
piston that is out hears what its head hears as well; one that goes home is deaf, and so is what a stroke moves (M4,
M10).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.parts.base import Part
from circuitcheck.space.called import called
from circuitcheck.space.configuration import AT_HOME, Configuration, Phase
from circuitcheck.space.occupied import head_of
from circuitcheck.space.room import Room
from circuitcheck.space.scene import displacement, scene
from circuitcheck.space.telling import Hearing

Changing = tuple[str, At]
"""What changes, by name, and where it stands."""


class Otherwise(NamedTuple):
    """One listener in those configurations in which it stands at one place and hears the same, not as at home."""

    listener: str
    place: At
    """Where it stands in them."""
    more: tuple[Changing, ...]
    """What it hears there, and not at home."""
    fewer: tuple[Changing, ...]
    """What it hears at home, and not there."""
    configurations: int
    out: tuple[str, ...]
    """The pistons that are out in the first of them."""
    moved: tuple[Changing, ...]
    """What is not where it is drawn in the first of them, and where it is, or where it moves to."""
    going_out: tuple[str, ...] = ()
    """The pistons whose stroke out is under way in the first of them."""
    going_home: tuple[str, ...] = ()
    """The same of strokes home."""


class AsMoved(NamedTuple):
    """What listeners hear otherwise in the configurations in which a machine rests, and why not all were reached."""

    configurations: int
    otherwise: tuple[Otherwise, ...]
    ended: str
    on_the_way: int = 0
    """In how many configurations strokes were under way between these."""
    otherwise_on_the_way: tuple[Otherwise, ...] = ()
    """What is heard otherwise there, and not so at any rest."""


def as_moved(drawn: Circuit, rests: Iterable[Configuration], passed: Iterable[Configuration], ended: str) -> AsMoved:
    """What listeners hear otherwise where a drawn circuit rests, and in configurations that it passed on the way."""
    resting = tuple(dict.fromkeys(rests))
    moving = tuple(dict.fromkeys(now for now in passed if now.under_way))
    known = tuple(heard_as_moved(drawn, resting))
    at_rest = {each[:4] for each in known}
    more = tuple(each for each in heard_as_moved(drawn, moving) if each[:4] not in at_rest)
    return AsMoved(len(resting), known, ended, len(moving), more)


def heard_as_moved(drawn: Circuit, configurations: Iterable[Configuration]) -> Iterator[Otherwise]:
    """What each listener of a drawn circuit hears otherwise in some configurations, the first of a kind first."""
    drawing = drawn.drawing
    assert drawing is not None
    listening = [drawn.where[name] for name, part in drawn.by_name.items() if name in drawn.where and _listens(part)]
    usual = _heard(drawn, drawing, AT_HOME, listening)
    alike: dict[tuple[At, At, tuple[Changing, ...], tuple[Changing, ...]], list[Configuration]] = {}
    for now in dict.fromkeys(configurations):
        there = _heard(drawn, drawing, now, listening)
        for home in listening:
            new, gone = sorted(there[home] - usual[home]), sorted(usual[home] - there[home])
            if new or gone:
                alike.setdefault((home, now.place(home), tuple(new), tuple(gone)), []).append(now)
    for (home, place, more, fewer), found in sorted(alike.items(), key=lambda each: each[0][0]):
        first = found[0]
        out = tuple(drawing.name(piston) for piston, phase in first.phases if phase is Phase.OUT)
        moved = tuple((called(drawn, thing), stands) for thing, stands in first.places)
        ways = (
            tuple(drawing.name(each.piston) for each in first.under_way if each.out is way) for way in (True, False)
        )
        yield Otherwise(drawing.name(home), place, more, fewer, len(found), out, moved, *ways)


def _listens(part: Part) -> bool:
    return any(port.name == "watched" or port.silent for port in part.ports())


def _heard(
    drawn: Circuit, drawing: Drawing, now: Configuration, listening: Iterable[At]
) -> dict[At, frozenset[Changing]]:
    """What each of some listeners, by its home, hears of parts and dust while things stand so."""
    stands = scene(drawing, displacement(drawing, now))
    hearing = Hearing(Room(stands, drawn.rules))
    found: dict[At, frozenset[Changing]] = {}
    for home in listening:
        thing, place, phase = drawing.things[home], now.place(home), now.phase(home)
        ears = [place, *([head_of(drawing, now, home)] if phase is Phase.OUT else ())]
        if phase is Phase.GOING_HOME or now.stroke_of(home) is not None:
            ears = []
        if thing.watches:
            assert thing.facing is not None
            changing = [thing.facing.back.from_(each) for each in ears]
        else:
            changing = [each for ear in ears for each in hearing.at(ear)]
        changing = [each for each in changing if _changes(stands, each)]
        found[home] = frozenset((stands.name(each), each) for each in changing)
    return found


def _changes(stands: Drawing, place: At) -> bool:
    """Whether what stands at a place changes without moving: a part that is no piston, dust, what comes and goes."""
    thing = stands.things.get(place)
    return thing is not None and not thing.pushes and (thing.is_part or thing.is_dust or thing.when is not None)
