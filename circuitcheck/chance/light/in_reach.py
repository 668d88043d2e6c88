"""What a signal can depend on, the light at its cells and what grows over them counted in."""

from __future__ import annotations

from collections.abc import Iterable

from circuitcheck.model.circuit import Circuit


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
                queue += places[cell.place].parts if cell.place else ()
    return found
