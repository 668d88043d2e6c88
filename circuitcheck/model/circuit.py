"""A circuit: its parts by name, its outputs and the rules it stands under. Frozen; holds no levels."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from types import MappingProxyType
from typing import TYPE_CHECKING

from circuitcheck.diagnostics import NOWHERE, Span
from circuitcheck.model.light import USUAL_CYCLE, Cycle, Place
from circuitcheck.model.parts.base import Latch, Part
from circuitcheck.model.rules import USUAL, RuleSet

if TYPE_CHECKING:
    import networkx

    from circuitcheck.model.drawing import At, Drawing


@dataclass(frozen=True, slots=True)
class Output:
    """A name under which a circuit, or a piece in it (with a dot in the name), gives out one of its signals."""

    name: str
    source: str
    span: Span = NOWHERE


@dataclass(frozen=True)
class Circuit:
    """Parts and what they are called. A part's sources are names of other parts or outputs.

    >>> mill.circuit.name, len(mill.circuit.parts)
    ('mill', 5)
    """

    name: str
    parts: tuple[Part, ...]
    outputs: tuple[Output, ...] = ()
    rules: RuleSet = USUAL
    title: str = ""
    span: Span = NOWHERE
    places: tuple[Place, ...] = ()
    cycle: Cycle = USUAL_CYCLE
    drawing: Drawing | None = None
    """The drawing that the circuit was read out of, if it was."""
    where: Mapping[str, At] = field(default_factory=dict)
    """Where in that drawing each part stands, by its name."""

    def __getstate__(self) -> dict[str, object]:
        """What is sent to another process: the fields, without what is computed from them."""
        return {each.name: getattr(self, each.name) for each in fields(self)}

    @cached_property
    def by_name(self) -> Mapping[str, Part]:
        """Every part that can be read, by its name; the latch side and its latch share one, so latches are left out.

        >>> list(mill.circuit.by_name)
        ['rope', 'bell_push', 'winch', 'open', 'bell']
        """
        return MappingProxyType({part.name: part for part in self.parts if part.latch is None})

    @cached_property
    def latches(self) -> Mapping[str, Latch]:
        """The set–reset latches by name.

        >>> list(mill.circuit.latches)
        []
        """
        return MappingProxyType({part.name: part.latch for part in self.parts if part.latch is not None})

    @cached_property
    def graph(self) -> networkx.DiGraph[str]:
        """The signal graph (see `model.graph`); made when it is first asked for.

        >>> mill.circuit.graph.has_edge("rope", "winch")
        True
        """
        from circuitcheck.model.graph import signal_graph

        return signal_graph(self)

    @property
    def own_outputs(self) -> tuple[Output, ...]:
        """The outputs of the circuit itself, without those of pieces in it.

        >>> mill.circuit.own_outputs
        ()
        """
        return tuple(output for output in self.outputs if "." not in output.name)

    def signal(self, name: str) -> str | None:
        """The part behind a name, be it that of a part or of an output; None where there is none.

        >>> mill.circuit.signal("open")
        'open'
        """
        if name in self.by_name:
            return name
        return next((output.source for output in self.outputs if output.name == name), None)

    @property
    def signals(self) -> list[str]:
        """Every name that can be read.

        >>> mill.circuit.signals
        ['rope', 'bell_push', 'winch', 'open', 'bell']
        """
        return [*self.by_name, *(output.name for output in self.outputs)]

    def upstream(self, names: Iterable[str]) -> list[str]:
        """These parts and all that their signals can come from, nearest first.

        >>> mill.circuit.upstream(["open"])
        ['open', 'winch', 'rope']
        """
        found = dict.fromkeys(names)
        queue = list(found)
        for name in queue:
            part = self.by_name.get(name)
            latch = self.latches.get(name)
            ports = (*(part.ports() if part else ()), *(latch.ports() if latch else ()))
            for source in (source for port in ports for source in port.sources):
                if source not in found:
                    found[source] = None
                    queue.append(source)
        return queue

    def with_part(self, old: Part, new: Part) -> Circuit:
        """The circuit with one part, this very one, in place of another.

        >>> rope = mill.circuit.by_name["rope"]
        >>> mill.circuit.with_part(rope, rope) == mill.circuit
        True
        """
        return replace(self, parts=tuple(new if part is old else part for part in self.parts))

    def starting(self, levels: Mapping[str, int]) -> Circuit:
        """The circuit with these starts declared of its parts; a latch starts as its two torches do (rule L5).

        >>> circuitcheck.Simulation(mill.circuit.starting({"rope": 15})).level("rope")
        15
        """
        parts = (
            replace(part, start=levels[part.name]) if part.name in levels and part.latch is None else part
            for part in self.parts
        )
        return replace(self, parts=tuple(parts))

    @property
    def things_move(self) -> bool:
        """Whether pistons move things while it runs: it is drawn with some, and its rules have power above a piston.

        >>> mill.circuit.things_move
        False
        """
        return self.drawing is not None and self.rules.power_above_piston and self.drawing.has_pistons

    @property
    def inputs(self) -> Iterable[Part]:
        """The parts that take outside actions.

        >>> [part.name for part in mill.circuit.inputs]
        ['rope', 'bell_push']
        """
        return (part for part in self.parts if part.verbs)
