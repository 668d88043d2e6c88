"""How large a drawing is, and in how few places its parts could stand at all: by counting; nothing is searched."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from circuitcheck.checks.drawing.wiring_graph import given_out
from circuitcheck.engine.program import Program
from circuitcheck.model.block_type import BlockType
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Study
from circuitcheck.model.drawing import Drawing


class DrawnBox(NamedTuple):
    """The smallest box around all that is drawn: floor and levers count, air around it does not."""

    layers: int
    rows: int
    columns: int
    least: int
    """No box of fewer places has room for its parts; whether there is a drawing in so many is another matter."""

    @property
    def places(self) -> int:
        """How many places it has."""
        return self.layers * self.rows * self.columns

    @property
    def is_least(self) -> bool:
        """Whether counting alone shows that there is no smaller one."""
        return self.places <= self.least


def drawn_box(study: Study) -> DrawnBox | None:
    """The box of what a study draws; None where it draws nothing."""
    drawn = study.drawn or study.circuit
    drawing = drawn.drawing
    if drawing is None or not drawing.things:
        return None
    types = [thing.block_type for thing in drawing.things.values() if thing.is_part]
    dust = _dust_given_out(study, drawing)
    return DrawnBox(*drawing.extent, least_places(types, _fed_otherwise(drawn), dust))


def least_places(parts: Iterable[BlockType], fed: int, dust: int) -> int:
    """How many places it takes at least, by counting: each part has its own, and so have what holds and carries.

    `fed` says how many of the blocks that hold torches are fed each by something else, `dust` how many dusts have to be
    there. Torches that are fed otherwise are held by different blocks, and each thing that lies has its own below it;
    only a part that is a solid block is a part and holds or carries as well.
    """
    types = list(parts)
    lying = sum(each.lies for each in types) + dust
    held = any(each.held for each in types)
    solid = sum(each.solid for each in types)
    return len(types) + dust + max(max(fed, lying, int(held)) - solid, 0)


def _dust_given_out(study: Study, drawing: Drawing) -> int:
    """How many dusts have a name that a circuit in text gives out; of one that is drawn alone, how many have a name."""
    named = {name for at, name in drawing.names.items() if drawing.things[at].is_dust}
    return len(named if study.drawn is None else named.intersection(given_out(study.circuit)))


def _fed_otherwise(circuit: Circuit) -> int:
    """How many different sets of parts feed the blocks that hold torches."""
    program = Program(circuit, still=True)
    feeds = (feeds for port, feeds in zip(program.ports, program.feeds, strict=True) if port.name == "block")
    return len({frozenset(source for source, _ in each) for each in feeds})
