"""What a drawing must be to be a circuit, as the exact search needs it: the parts, and who gives to which input.

It is the wiring graph by which the house compares a drawing with its circuit (`checks.drawing.wiring_graph`), put in
words of the search.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from circuitcheck.checks.drawing.drawn_box import least_places
from circuitcheck.checks.drawing.wiring_graph import wiring
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import Thing
from circuitcheck.model.parts.base import Part
from circuitcheck.placing.asked_places import NOTHING, Asked
from circuitcheck.placing.problem import CantPlace, shown_dust, thing_of

Losses = Mapping[str, int | None]
"""For each source the levels that are lost on its way, where a reader can feel them; else None."""

HANDLED = frozenset({"lever", "button", "torch", "repeater", "comparator", "lamp"})
"""The kinds of part that the exact search lays out."""


@dataclass(frozen=True)
class WantedPart:
    """A part that must stand somewhere."""

    name: str
    thing: Thing
    """What it is, without the way it faces or is held."""
    straight: bool
    """Whether it must point right into another repeater or comparator; else it must not (rule C3)."""
    inputs: Mapping[str, Losses]
    """What must come to each of its ports, and nothing else may."""

    @property
    def word(self) -> str:
        """The kind of part."""
        return self.thing.word

    @property
    def is_worked(self) -> bool:
        """Whether a hand must reach it."""
        return self.word in ("lever", "button")


@dataclass(frozen=True)
class WantedDust:
    """Dust that the circuit gives out, with what must reach it."""

    name: str
    reached: Losses


@dataclass(frozen=True)
class Wanted:
    """All that a drawing must have to be a circuit."""

    circuit: Circuit
    parts: tuple[WantedPart, ...]
    dust: tuple[WantedDust, ...]
    asked: Asked = NOTHING
    """Where parts and dust are to stand, and what stays free."""

    @cached_property
    def sources(self) -> tuple[WantedPart, ...]:
        """The parts that give power."""
        return tuple(part for part in self.parts if part.word != "lamp")

    @cached_property
    def measured(self) -> frozenset[str]:
        """The sources of which somebody feels how much is lost on the way."""
        every = [losses for part in self.parts for losses in part.inputs.values()]
        every += [dust.reached for dust in self.dust]
        return frozenset(name for losses in every for name, lost in losses.items() if lost is not None)

    @property
    def least_places(self) -> int:
        """How many places it takes at least, by counting."""
        fed = {str(sorted(part.inputs["block"].items())) for part in self.parts if "block" in part.inputs}
        return least_places((part.thing.block_type for part in self.parts), len(fed), len(self.dust))


def not_handled(circuit: Circuit) -> Part | None:
    """The first part, if any, that the exact search does not lay out."""
    return next((part for part in circuit.parts if part.behaves and part.word not in HANDLED), None)


def wanted(circuit: Circuit, asked_for: Iterable[str] = (), asked: Asked | None = None) -> Wanted:
    """What a drawing must be to be this circuit; `asked_for` is more dust that must have a name. Raises CantPlace."""
    other = not_handled(circuit)
    if other is not None:
        words = ", ".join(f"{word}{'es' if word.endswith('ch') else 's'}" for word in sorted(HANDLED))
        message = f"'{other.name}' is a {other.word}, and least boxes are searched for {words} and dust only"
        raise CantPlace(message, "leave out --least")
    shown = shown_dust(circuit, asked_for)
    graph = wiring(circuit, shown)
    dust = tuple(
        WantedDust(name, {source: lost[0] for (_, source), lost in graph.inputs[name].items()}) for name in shown
    )
    parts = []
    for part in circuit.parts:
        if part.behaves:
            straight = bool(graph.labels[part.name][2])
            parts.append(
                WantedPart(part.name, thing_of(part), straight, _inputs(circuit, part, graph.inputs[part.name]))
            )
    if not parts:
        raise CantPlace("the circuit has no part with a behaviour", "add parts")
    return Wanted(circuit, tuple(parts), dust, asked or NOTHING)


def _inputs(
    circuit: Circuit, part: Part, inputs: Mapping[tuple[str, str], tuple[int, ...]]
) -> dict[str, dict[str, int | None]]:
    found: dict[str, dict[str, int | None]] = {port.name: {} for port in part.ports()}
    for (port, source), lost in inputs.items():
        felt = part.measures or circuit.by_name[source].graded
        found[port][source] = lost[0] if felt else None
    return found
