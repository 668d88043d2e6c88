"""Water that nobody feels: however it flows, no other part comes out otherwise (rules Z2, Z7, Z8).

The order of its looks is unknown as that of all others, and its levels on the way depend on it. Where nothing else
does, one order is as good as all. The light that water takes is no part of this: in a run cells change by themselves.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from collections.abc import Set as AbstractSet

from circuitcheck.model.drawing import BELOW, At, Drawing, Thing
from circuitcheck.space.configuration import AT_HOME, Configuration, Phase, Stroke
from circuitcheck.space.flowing import is_washed_away
from circuitcheck.space.room import neighbours
from circuitcheck.space.strokes import Blocked, Breaks, Step, Strokes
from circuitcheck.space.water import freed_by_each
from circuitcheck.space.water_looks import Looks
from circuitcheck.space.wirings import Wirings


def unfelt_water(wirings: Wirings, strokes: Strokes, looks: Looks, places: AbstractSet[At]) -> frozenset[At]:
    """Of the places that water can reach, those of bodies of water that nobody feels.

    Felt is water that a detector watches, that may wash something away, that may come to stand over a half block, or
    that updates a piston which may take notice.
    """
    if not places:
        return frozenset()
    drawing, rules = strokes.drawing, strokes.rules
    freed = {home: frozenset(each.changes) for home, each in freed_by_each(drawing, rules).items()}
    anywhere = frozenset().union(*freed.values())
    if any(at in anywhere and _takes_part(thing) for at, thing in drawing.things.items()):
        return frozenset()  # what feels water, or is not allowed below it, may be moved to it
    felt, graded = set(_felt(drawing, places)), graded_parts(drawing)
    for home in strokes.pistons:
        if not _is_steady(wirings, strokes, home, freed, graded):
            head = strokes.facing(home).from_(home)
            felt |= {at for ear in (home, head) for at in (ear, *(beside for _, beside in neighbours(ear)))}
    return frozenset(at for body in bodies(looks, places) if felt.isdisjoint(body) for at in body)


def _takes_part(thing: Thing) -> bool:
    return thing.pushes or thing.watches or thing.word == "half"


def _felt(drawing: Drawing, places: AbstractSet[At]) -> Iterator[At]:
    """The places at which something feels water, or may not meet it, but for pistons."""
    for at in places:
        thing, below = drawing.things.get(at), drawing.things.get(BELOW.from_(at))
        if (thing is not None and is_washed_away(thing)) or (below is not None and below.word == "half"):
            yield at
    for at, thing in drawing.things.items():
        if thing.watches and thing.facing is not None:
            yield thing.facing.back.from_(at)


def _is_steady(
    wirings: Wirings, strokes: Strokes, home: At, freed: Mapping[At, frozenset[At]], graded: frozenset[str]
) -> bool:
    """Whether a piston always does what its power says, so that no further update makes it do anything.

    It feels each change of its power at once, as nothing powers the place above it that doesn't power itself (rule
    W9); nothing that moves changes what feeds it, itself and what it moves included; and it is never stopped (rule M7),
    as none moves anything where its row is.
    """
    drawing = wirings.drawing
    ports, looked_at = wirings.power_looked_at(AT_HOME, home)
    others = frozenset().union(*(places for other, places in freed.items() if other != home))
    out = strokes.start_out(AT_HOME, home)
    above = {name for name, _ in ports.get("above", ())}
    stuck = above - ({name for name, _ in ports["power"]} - graded)
    if drawing.starts.get(home, drawing.things[home].start) or stuck or not isinstance(out, Step):
        return False
    landed = strokes.land(out.after, Stroke(home, True)).after
    row = strokes.footprint(AT_HOME, home) | strokes.footprint(landed, home)
    if not row.isdisjoint(others):
        return False
    for now in _alone(strokes, home):
        fed, looked_at_there = wirings.power_looked_at(now, home)
        looked_at |= looked_at_there
        if fed != ports:
            return False
    return looked_at.isdisjoint(others)


def _alone(strokes: Strokes, home: At) -> Iterable[Configuration]:
    """Every configuration that a piston can bring about by itself, with what it moves pulled home or let go."""
    found, queue = {AT_HOME}, [AT_HOME]
    while queue:
        now, phase = queue[-1], queue.pop().phase(home)
        steps: list[Step | Blocked | Breaks] = []
        if phase is Phase.HOME:
            steps.append(strokes.start_out(now, home))
        elif phase is not Phase.GOING_HOME:
            steps += [strokes.start_home(now, home, lets_go=lets_go) for lets_go in (False, True)]
        if now.under_way:
            steps.append(strokes.land(now, max(now.under_way)))
        later = {step.after for step in steps if isinstance(step, Step)} - found
        found |= later
        queue += later
    return found


def graded_parts(drawing: Drawing) -> frozenset[str]:
    """The parts that give levels between none and full, so that their power may reach one place and not another."""
    kinds = ((drawing.name(at), thing.kind) for at, thing in drawing.things.items() if thing.is_part)
    return frozenset(name for name, kind in kinds if kind is None or any(part.graded for part in kind.samples))


def bodies(looks: Looks, places: AbstractSet[At]) -> Iterable[set[At]]:
    """Places of water in groups: no look in one reads or changes what is in another."""
    body_of = {at: {at} for at in places}
    for at in places:
        for other in (looks.reads(at) | looks.changes(at)) & places:
            mine, theirs = body_of[at], body_of[other]
            if mine is not theirs:
                mine |= theirs
                body_of.update(dict.fromkeys(theirs, mine))
    return {id(body): body for body in body_of.values()}.values()
