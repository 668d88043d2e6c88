"""What of a drawing stays as it is while the rest is laid out: what can't be moved yet, and what is to stay.

Soil cells, water, leaves and lights stay in beds: with everything around them up to the sky, on which their light
depends. Water that flows stays with all that is beside its way. Pistons stay with the places that their strokes change,
and with what is beside these. A detector stays that watches what stays, and so does whatever holds, or lies on, what
stays.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from itertools import product

from circuitcheck.model.drawing import BELOW, At, Drawing, Thing, said
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.dust import Dusts
from circuitcheck.space.room import Room, neighbours, within_two_steps
from circuitcheck.space.strokes import Strokes
from circuitcheck.space.water import water_of

PLACED = frozenset({"lever", "button", "torch", "repeater", "comparator", "lamp", "detector"})
"""The kinds of part that are laid out."""
TOGETHER = 2
"""What is no farther apart than so many places along each axis is of one bed."""


@dataclass(frozen=True)
class Staying:
    """The places that stay as they are, be there something or air."""

    places: tuple[tuple[At, Thing | None], ...] = ()
    names: Mapping[At, str] = field(default_factory=dict)
    starts: Mapping[At, int] = field(default_factory=dict)
    parts: Mapping[str, At] = field(default_factory=dict)
    """The parts of the circuit that stay, by their names, and the dust that does which it gives out."""
    marks: Mapping[str, At] = field(default_factory=dict)
    """Dust, one of each run, by which things that move may bring power or be heard: it is marked like a source, so that
    the same is wired to it."""

    def __bool__(self) -> bool:
        return bool(self.places)

    def named_beside(self, others: Iterable[str]) -> Staying:
        """The same, without the names that others have."""
        taken = set(others)
        return replace(self, names={at: name for at, name in self.names.items() if name not in taken})


NOTHING_STAYS = Staying()


def can_stand(thing: Thing) -> bool:
    """Whether something is laid out like any other."""
    plain = thing.word in ("block", "dust") and not thing.shape
    return thing.when is None and (plain or thing.word in PLACED) and "fixed" not in thing.flags


def staying_in(
    drawing: Drawing, rules: RuleSet, where: Mapping[str, At], asked: Iterable[At] = (), stuck: Iterable[At] = ()
) -> Staying:
    """What stays of a drawing, beside the places that are asked for.

    `where` has the places of parts and named dust, `stuck` those of stuck pistons: what these hear is within two steps.
    """
    strange = {at for at, thing in drawing.things.items() if not can_stand(thing)}
    strange |= {at for at, thing in drawing.things.items() if thing.watches and _watched(at, thing) in strange}
    moving = _around_strokes(drawing, rules)
    moving |= _inside(drawing, {beside for at in stuck for beside in within_two_steps(at)})
    stays = {*asked, *strange, *moving, *_beds(drawing, strange), *_around_water(drawing, rules)}
    before = 0
    while len(stays) > before:
        before = len(stays)
        for at, thing in drawing.things.items():
            holder = _holder(at, thing)
            if holder is not None and at in stays:
                stays.add(holder)
            elif holder in stays and not drawing.things[holder].block_type.solid:
                stays.add(at)
    places = tuple((at, drawing.things.get(at)) for at in sorted(stays))
    return Staying(
        places,
        {at: name for at, name in drawing.names.items() if at in stays},
        {at: start for at, start in drawing.starts.items() if at in stays},
        {name: at for name, at in where.items() if at in stays},
        _marks(drawing, rules, moving),
    )


def _marks(drawing: Drawing, rules: RuleSet, moving: set[At]) -> dict[str, At]:
    """One dust of each run that comes to where things move."""
    dusts = Dusts(Room(drawing, rules))
    runs = {min(dusts.whole_run(at)): at for at in sorted(moving, reverse=True) if _is_dust(drawing, at)}
    return {f"dust at {said(at)}": at for at in runs.values()}


def _is_dust(drawing: Drawing, at: At) -> bool:
    thing = drawing.things.get(at)
    return thing is not None and thing.is_dust


def _watched(at: At, thing: Thing) -> At | None:
    return thing.facing.back.from_(at) if thing.facing is not None else None


def _holder(at: At, thing: Thing) -> At | None:
    """The place of what holds something, or what it lies on."""
    if thing.on is not None:
        return thing.on.from_(at)
    return BELOW.from_(at) if thing.block_type.lies else None


def _around_strokes(drawing: Drawing, rules: RuleSet) -> set[At]:
    """The places that strokes change, and those beside them."""
    if not drawing.has_pistons:
        return set()
    strokes = Strokes(drawing, rules)
    changed = {strokes.facing(piston).from_(piston) for piston in strokes.pistons} | set(strokes.pistons)
    for stroke in strokes.one_at_a_time():
        changed |= stroke.changes
    return _inside(drawing, changed | {beside for at in changed for _, beside in neighbours(at)})


def _around_water(drawing: Drawing, rules: RuleSet) -> set[At]:
    """The places that water can flow to, and those beside them, where it is held back or finds a hole."""
    wet = water_of(drawing, rules).places
    return _inside(drawing, {*wet, *(beside for at in wet for _, beside in neighbours(at))})


def _beds(drawing: Drawing, strange: set[At]) -> set[At]:
    """The boxes around what lives by light or carries water, up to the sky."""
    lit = {at for at in strange if _is_of_a_bed(drawing.things[at])}
    found: set[At] = set()
    while lit:
        bed, edge = set(), {lit.pop()}
        while edge:
            bed |= edge
            edge = {at for at in lit if any(_apart(at, each) <= TOGETHER for each in edge)}
            lit -= edge
        low = [min(at[axis] for at in bed) for axis in range(3)]
        high = [max(at[axis] for at in bed) for axis in range(3)]
        found |= set(
            product(
                range(low[0], drawing.size[0] + 1),
                range(low[1] - 1, high[1] + 2),
                range(low[2] - 1, high[2] + 2),
            )
        )
    return _inside(drawing, found)


def _is_of_a_bed(thing: Thing) -> bool:
    return thing.is_cell or thing.word in ("sensor", "water", "leaf", "light")


def _apart(one: At, other: At) -> int:
    return max(abs(mine - theirs) for mine, theirs in zip(one, other, strict=True))


def _inside(drawing: Drawing, places: Iterable[At]) -> set[At]:
    """Those of some places that the drawing has."""
    return {at for at in places if all(1 <= each <= most for each, most in zip(at, drawing.size, strict=True))}
