"""What else can it hear? Every change in a drawing that tells a detector, or a piston that can be stuck (W10, D2)."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from circuitcheck.checks.wiring import wiring
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.parts.detector import Detector
from circuitcheck.model.parts.dust import Run
from circuitcheck.model.parts.piston import Piston
from circuitcheck.model.parts.stuck_piston import StuckPiston
from circuitcheck.space.moving import strokes
from circuitcheck.space.room import Room
from circuitcheck.space.telling import Hearing


class Heard(NamedTuple):
    """A change that is heard: what changes, where, and whether it is meant to be heard."""

    what: str
    place: At
    why: str
    wanted: bool | None
    """Whether the circuit that is drawn names it; None where nothing but the drawing says what is meant."""


class Listener(NamedTuple):
    """A detector or a piston, and all that it hears."""

    name: str
    place: At
    word: str
    stuck: bool
    heard: tuple[Heard, ...]


def listeners(drawn: Circuit, drawing: Drawing, meant: Circuit | None) -> Iterator[Listener]:
    """Every detector, and every piston that answers to power above it. `meant` is the circuit that is drawn, if any."""
    room = Room(drawing, drawn.rules)
    hearing = Hearing(room)
    for part in drawn.parts:
        place = drawn.where.get(part.name)
        named = meant.by_name.get(part.name) if meant is not None else None
        if place is None:
            continue
        if isinstance(part, Detector):
            wanted = set(named.watches) if isinstance(named, Detector) else None
            yield Listener(part.name, place, "detector", False, tuple(_watched(drawing, place, wanted)))
        elif isinstance(part, StuckPiston) or (isinstance(part, Piston) and part.above):
            wanted = _sources(meant, part.name) if meant is not None and isinstance(named, StuckPiston) else None
            found = (_heard(drawn, drawing, each, wanted) for each in hearing.at(place))
            yield Listener(part.name, place, "piston", isinstance(part, StuckPiston), tuple(found))


def _sources(meant: Circuit, piston: str) -> set[str]:
    """The parts whose changes a stuck piston is meant to hear, be it by way of dust."""
    return {source for port, source in wiring(meant).inputs[piston] if port == "heard"}


def _heard(drawn: Circuit, drawing: Drawing, place: At, wanted: set[str] | None) -> Heard:
    name = drawing.name(place)
    dust = drawn.by_name.get(name)
    behind = set(dust.feeds) if isinstance(dust, Run) else {name}
    word = drawing.things[place].word
    reach = "within two steps" if word in ("dust", "torch") else "beside what it changes"
    return Heard(name, place, f"{word}, {reach}", None if wanted is None else bool(behind & wanted))


def _watched(drawing: Drawing, place: At, wanted: set[str] | None) -> Iterator[Heard]:
    """What changes in the one place that a pulse detector watches."""
    facing = drawing.things[place].facing
    assert facing is not None
    behind = facing.back.from_(place)
    thing = drawing.things.get(behind)
    if thing is not None:
        name = drawing.name(behind)
        comes = f"{thing.word}, which comes and goes with '{thing.when.part}'" if thing.when is not None else thing.word
        yield Heard(name, behind, comes, None if wanted is None else name in wanted)
    for stroke in strokes(drawing):
        if behind in (stroke.head, stroke.out):
            name = drawing.name(stroke.piston)
            what = "its head comes there" if behind == stroke.head else "the block that it moves comes there"
            meant = None if wanted is None else bool({name, f"{name}.block"} & wanted)
            yield Heard(name, stroke.piston, f"piston: {what}", meant)
