"""A circuit of the product's, with each part exchanged for the oracle's own of the same name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

from circuitcheck.model.circuit import Circuit as Product
from circuitcheck.model.rules import RuleSet

from .parts.analogue import Analogue
from .parts.base import Part
from .parts.block import Block
from .parts.button import Button
from .parts.comparator import Comparator
from .parts.detector import Detector
from .parts.dust import Dust, Run
from .parts.lamp import Lamp
from .parts.latch import Latch
from .parts.lever import Lever
from .parts.piston import Piston, PushedBlock
from .parts.plate import Plate
from .parts.repeater import Repeater
from .parts.sensor import Cell
from .parts.stuck_piston import StuckPiston
from .parts.torch import Torch

OWN: Mapping[str, type[Part]] = {
    own.__name__: own
    for own in (
        Analogue,
        Block,
        Button,
        Cell,
        Comparator,
        Detector,
        Dust,
        Lamp,
        Latch,
        Lever,
        Piston,
        Plate,
        PushedBlock,
        Repeater,
        Run,
        StuckPiston,
        Torch,
    )
} | {"SensorCell": Cell}
"""By the names that the product's parts have; those of the oracle stay as they were set down."""


@dataclass(frozen=True, slots=True)
class Circuit:
    """What the engine asks of a circuit."""

    parts: tuple[Part, ...]
    by_name: Mapping[str, Part]
    """Every part that can be read; a latch shares its name with one of its torches, so latches are left out."""
    rules: RuleSet


def own_circuit(circuit: Product) -> Circuit:
    """The same circuit out of the oracle's parts."""
    parts = tuple(_own(part) for part in circuit.parts)
    return Circuit(parts, {part.name: part for part in parts if not isinstance(part, Latch)}, circuit.rules)


def _own(part: object) -> Part:
    """A part with the fields that a part of that name had when the oracle was set down."""
    own = OWN[type(part).__name__]
    return own(**{each.name: getattr(part, each.name) for each in fields(own)})
