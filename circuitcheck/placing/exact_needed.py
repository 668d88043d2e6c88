"""Nothing in a drawing that does nothing: where there is a drawing of a circuit, there is one without such things.

* A run of dust all of whose dust is taken away leaves all other dust joined as before. So it can go if nothing would
  miss it: where no source lights it, and where what lights it is not all wanted at any one input. That is so where
  power runs both ways along each join and from end to end of each run. It is otherwise where clear or half blocks may
  be used, and in boxes for longer dust: nothing is said of dust there.
* A block that holds nothing, carries nothing, has no power and lies on no dust, which it could cut from a step up,
  does nothing either.

Taking such things away one after the other ends, and what is left is a drawing of the same circuit in the same box.
"""

from __future__ import annotations

from itertools import combinations_with_replacement

from circuitcheck.model.drawing import ABOVE, BELOW, Direction
from circuitcheck.placing.exact_places import Places
from circuitcheck.placing.exact_power import Power
from circuitcheck.placing.exact_wanted import Wanted


def write(places: Places, power: Power, materials: frozenset[str]) -> None:
    """Adds that every run of dust and every block is needed for something, as far as that is said in few clauses."""
    clauses, parts = places.clauses, places.wanted.parts
    whole_runs = not power.counts and not materials & {"glass", "half"}
    apart = _never_together(places.wanted)
    for place in places.places:
        above = ABOVE.from_(place)
        used = [places.dust.get(above, -1), places.dust.get(BELOW.from_(place), -1)]
        used += [places.at(part.name, above) for part in parts if part.thing.block_type.lies]
        for part in parts:
            if part.thing.block_type.held:
                used += [places.way(part.name, way.back.from_(place), way) for way in Direction]
        clauses.add(-places.block[place], *used, *power.comes_to_block(place))
        if whole_runs:
            dead = [places.named[dust.name][place] for dust in places.wanted.dust if not dust.reached]
            clauses.add(-places.dust[place], *power.comes_to_dust(place), *dead)
            spread = power.spreads_to_dust(place)
            for one, other in apart:
                clauses.add(-spread[one], -spread[other])


def _never_together(wanted: Wanted) -> list[tuple[str, str]]:
    """Pairs of sources that nothing reads both of; a source that nothing reads is paired with itself."""
    read = [set(losses) for part in wanted.parts for losses in part.inputs.values()]
    read += [set(dust.reached) for dust in wanted.dust]
    names = [source.name for source in wanted.sources]
    pairs = combinations_with_replacement(names, 2)
    return [pair for pair in pairs if not any(read_here.issuperset(pair) for read_here in read)]
