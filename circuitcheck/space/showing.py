"""Where power stands in a drawing: for every place, which parts' levels reach it, for showing it as powered."""

from __future__ import annotations

from collections.abc import Mapping

from circuitcheck.model.drawing import At, Drawing
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.drivers import DriverLookup
from circuitcheck.space.dust import Dusts
from circuitcheck.space.reach import Reach
from circuitcheck.space.room import Room, neighbours

Reaching = Mapping[At, Mapping[str, int]]
"""For each place: the parts whose level reaches it, with the levels lost on the way."""


def reaching(drawing: Drawing, rules: RuleSet) -> Reaching:
    """What reaches every part, every dust and every solid block of a drawing; of a part, its own level alone."""
    room = Room(drawing, rules)
    dusts = Dusts(room)
    giving = DriverLookup(room, dusts)
    reach = Reach(room, dusts, giving)
    found: dict[At, dict[str, int]] = {}
    for place, thing in drawing.things.items():
        if thing.is_part:
            found[place] = {drawing.name(place): 0}
        elif thing.is_dust:
            found[place] = reach.dust(place)
        elif thing.block_type.solid:
            found[place] = reach.into(giving.into_block(place)) if _is_touched(drawing, place) else {}
    return found


def _is_touched(drawing: Drawing, block: At) -> bool:
    """Whether anything is beside a block that could power it: of most blocks of a floor nothing is."""
    beside = (drawing.things.get(at) for _, at in neighbours(block))
    return any(thing is not None and (thing.is_part or thing.is_dust) for thing in beside)
