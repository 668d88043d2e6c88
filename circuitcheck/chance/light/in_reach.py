"""What a signal can depend on, the light at its cells and what grows over them counted in."""

from __future__ import annotations

from collections.abc import Iterable

from circuitcheck.model.circuit import Circuit
from circuitcheck.model.light import BLOCK


def upstream(circuit: Circuit, names: Iterable[str]) -> set[str]:
    """The names of all parts that some signals can depend on, themselves among them."""
    places = {place.name: place for place in circuit.places}
    found: set[str] = set()
    queue = list(names)
    while queue:
        more = [name for name in circuit.upstream(queue) if name not in found]
        found.update(more)
        queue = []
        for name in more:
            part = circuit.by_name.get(name)
            cell = part.cell if part is not None else None
            if cell is not None:
                queue += cell.grows
                parts = places[cell.place].parts if cell.place else ()
                # What a stuck piston has moved is where it is by that piston's doing, and is no part of the circuit.
                queue += [*parts, *(each.removesuffix(BLOCK) for each in parts if each.endswith(BLOCK))]
    return found
