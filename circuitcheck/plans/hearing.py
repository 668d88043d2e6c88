"""What else can it hear? Every change in a drawing that updates a detector, or a piston that can be stuck.

Parts and what comes and goes with them (W10, D2), first strokes (M5, M10), and water that strokes can change (Z8).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from circuitcheck.checks.drawing.built import matched
from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.model.block_type import Tells
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import At, Drawing, placed_name
from circuitcheck.model.parts.base import Conducts
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.flowing import is_source
from circuitcheck.space.room import Room, neighbours
from circuitcheck.space.strokes import Strokes
from circuitcheck.space.telling import Hearing
from circuitcheck.space.water import freed_places, water_of


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
    hearing = Hearing(Room(drawing, drawn.rules))
    coming = _coming(drawing, drawn.rules)
    changing = _changing_water(drawing, drawn.rules)
    intended = _intended(meant, drawn) if meant is not None else None
    for part in drawn.parts:
        place = drawn.where.get(part.name)
        if place is None:
            continue
        wanted = None if intended is None else intended.get(part.name)
        ports = part.ports()
        if any(port.name == "watched" for port in ports):
            yield Listener(
                part.name,
                place,
                drawing.things[place].word,
                False,
                (
                    *_watched(drawn, drawing, place, coming, wanted),
                    *_water(drawing, [_behind_it(drawing, place)], changing),
                ),
            )
        elif any(port.silent for port in ports):
            stuck = all(port.silent or port.watches for port in ports)
            found = (_heard(drawn, drawing, each, wanted) for each in hearing.at(place))
            beside = sorted(each for _, each in neighbours(place))
            heard = (*found, *_water(drawing, beside, changing))
            yield Listener(part.name, place, drawing.things[place].word, stuck, heard)


def _intended(meant: Circuit, drawn: Circuit) -> dict[str, set[str]]:
    """For each listener, by its name in the drawing, the drawn parts that it is meant to hear or watch."""
    pairs = matched(meant, drawn) or {name: name for name in meant.by_name if name in drawn.by_name}
    wired = wiring(meant)
    return {
        pairs[reader]: {
            pairs.get(source, source)
            for port, heard in inputs
            if port in ("heard", "watched")
            for source in wired.behind(heard)
        }
        for reader, inputs in wired.inputs.items()
        if reader in pairs
    }


def seen_changing(drawn: Circuit, drawing: Drawing, place: At) -> set[str]:
    """The parts whose changes are seen at a place."""
    thing = drawing.things[place]
    if thing.when is not None:
        return {thing.when.part}
    dust = drawn.by_name.get(drawing.name(place))
    if dust is not None and dust.conducts is Conducts.RUN:
        return set(dust.powers)
    return {drawing.name(place)}


def _heard(drawn: Circuit, drawing: Drawing, place: At, wanted: set[str] | None) -> Heard:
    block_type = drawing.things[place].block_type
    reach = "within two steps" if block_type.tells is Tells.TWO_STEPS else "beside what it changes"
    meant = None if wanted is None else bool(seen_changing(drawn, drawing, place) & wanted)
    return Heard(drawing.name(place), place, f"{block_type.word}, {reach}", meant)


Coming = Mapping[At, Sequence[tuple[At, str]]]
"""For each place, the pistons of which something comes there or leaves, and what."""


def _coming(drawing: Drawing, rules: RuleSet) -> Coming:
    found: dict[At, list[tuple[At, str]]] = {}
    for stroke in Strokes(drawing, rules).one_at_a_time():
        if not stroke.moves:
            found.setdefault(stroke.head, []).append((stroke.piston, "its head comes there"))
        for home, place in stroke.moves:
            what = f"the {drawing.things[home].called} that it moves"
            found.setdefault(home, []).append((stroke.piston, f"{what} leaves from there"))
            found.setdefault(place, []).append((stroke.piston, f"{what} comes there"))
    return found


def _watched(drawn: Circuit, drawing: Drawing, place: At, coming: Coming, wanted: set[str] | None) -> Iterator[Heard]:
    """What changes in the one place that a pulse detector watches."""
    behind = _behind_it(drawing, place)
    thing = drawing.things.get(behind)
    if thing is not None and (thing.when is not None or thing.is_part or thing.is_dust):
        what = f"{thing.word}, which comes and goes with '{thing.when.part}'" if thing.when is not None else thing.word
        meant = None if wanted is None else bool(seen_changing(drawn, drawing, behind) & wanted)
        yield Heard(drawing.name(behind), behind, what, meant)
    for piston, comes in coming.get(behind, ()):
        name = drawing.name(piston)
        meant = None if wanted is None else bool({name, f"{name}.block"} & wanted)
        yield Heard(name, piston, f"piston: {comes}", meant)


def _behind_it(drawing: Drawing, detector: At) -> At:
    """The place that a detector watches."""
    facing = drawing.things[detector].facing
    assert facing is not None
    return facing.back.from_(detector)


def _changing_water(drawing: Drawing, rules: RuleSet) -> frozenset[At]:
    """The places whose water strokes can change: all that it reaches, but for sources that no stroke comes to."""
    water = water_of(drawing, rules)
    if not water.followed:
        return frozenset()
    freed = freed_places(drawing, rules)
    return frozenset(at for at in water.places if at in freed or not is_source(drawing.things.get(at)))


def _water(drawing: Drawing, places: Iterable[At], changing: frozenset[At]) -> Iterator[Heard]:
    """The water at some places that is heard (rule Z8). What is meant by words can't name it."""
    for place in places:
        if place in changing:
            name = drawing.name(place) if place in drawing.things else placed_name("water", place)
            yield Heard(name, place, "water, which strokes can change", None)
