"""The parts of a circuit in which things move, as they run there; and what the engine adds to them."""

from __future__ import annotations

from collections.abc import Iterator

from circuitcheck.engine.followed_block import FollowedBlock
from circuitcheck.engine.gauge import Gauge
from circuitcheck.engine.water_flow import Flow
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.base import Conducts, Part
from circuitcheck.space.light_on_cells import followed

SHOWN = (Conducts.RUN, Conducts.BLOCK)


def moving_parts(circuit: Circuit, flow: Flow) -> list[Part]:
    """The parts that behave, as they run where strokes move things; gauges for all else that is asked for; water, and
    what the light on cells follows of what stuck pistons move."""
    parts = [part.in_a_drawing() for part in circuit.parts if part.behaves]
    gauges = (Gauge(name=part.name, span=part.span) for part in shown_parts(circuit))
    blocks = (FollowedBlock(name=name, span=circuit.by_name[by].span) for name, by in followed(circuit).items())
    return [*parts, *gauges, *flow.parts(), *blocks]


def shown_parts(circuit: Circuit) -> Iterator[Part]:
    """The dust and blocks of a drawn circuit whose power may be asked for."""
    assert circuit.drawing is not None
    for part in circuit.by_name.values():
        at = circuit.where.get(part.name)
        thing = None if at is None else circuit.drawing.things.get(at)
        if part.conducts in SHOWN and not part.behaves and thing is not None and thing.word in ("dust", "block"):
            yield part
