"""A circuit: its parts by name, its outputs and the rules it stands under. Frozen; holds no levels."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType

from circuitcheck.diagnostics import NOWHERE, Span
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.latch import Latch
from circuitcheck.model.rules import USUAL, RuleSet


@dataclass(frozen=True, slots=True)
class Output:
    """A name under which the circuit gives one of its signals to the outside."""

    name: str
    source: str
    span: Span = NOWHERE


@dataclass(frozen=True)
class Circuit:
    """Parts and what they are called. A part's sources are names of other parts or outputs."""

    name: str
    parts: tuple[Part, ...]
    outputs: tuple[Output, ...] = ()
    rules: RuleSet = USUAL
    title: str = ""
    span: Span = NOWHERE

    @cached_property
    def by_name(self) -> Mapping[str, Part]:
        """Every part that can be read, by its name; the latch side and its latch share one, so latches are left out."""
        return MappingProxyType({part.name: part for part in self.parts if not isinstance(part, Latch)})

    @cached_property
    def latches(self) -> Mapping[str, Latch]:
        """The set–reset latches by name."""
        return MappingProxyType({part.name: part for part in self.parts if isinstance(part, Latch)})

    @property
    def inputs(self) -> Iterable[Part]:
        """The parts that take outside actions."""
        return (part for part in self.parts if part.verbs)
