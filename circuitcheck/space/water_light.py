"""The water whose coming and going light and cells follow (rule Z9)."""

from __future__ import annotations

from collections.abc import Iterable

from circuitcheck.model.drawing import ABOVE, At, Drawing, placed_name
from circuitcheck.model.rules import RuleSet
from circuitcheck.space.flowing import is_source
from circuitcheck.space.light import Flowing, Moved
from circuitcheck.space.water import freed_places, water_of


def fades_below_flow(drawing: Drawing, rules: RuleSet, fading: Iterable[At]) -> bool:
    """Whether there may be flowing water above one of some cells that fade, as far as light and cells follow it."""
    above = {ABOVE.from_(cell) for cell in fading}
    return not above.isdisjoint(water_in_light(drawing, rules, ()))


def water_in_light(drawing: Drawing, rules: RuleSet, moved: Iterable[Moved]) -> Flowing:
    """The water whose coming and going the light follows: what runs follow, where nothing else comes and goes (Z9)."""
    if not rules.power_above_piston:
        return {}
    water = water_of(drawing, rules)
    if not water.followed:
        return {}
    freed = freed_places(drawing, rules)
    as_drawn = {place for each in moved for place in (each.home, each.out)}
    # A source lasts where no head and nothing moved can come to take it.
    as_drawn |= {at for at, thing in drawing.things.items() if not is_source(thing) or at not in freed}
    return {at: placed_name("water", at) for at in sorted(water.places - as_drawn)}
