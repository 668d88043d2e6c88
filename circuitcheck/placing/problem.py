"""What is to be laid out: the parts of a circuit, and what must feed each port of theirs, in numbers.

It is read from the circuit's wiring graph, by which the house judges whether a drawing is its circuit. So a layout that
keeps all that stands here is the circuit, and the true reading of drawings only confirms it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain, combinations

from circuitcheck.checks.drawing.wiring_graph import Inputs, given_out, label, wiring
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.block_type import Reads
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import MATTERS, Thing
from circuitcheck.model.parts import KINDS
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.kinds import Request, Takes
from circuitcheck.placing.grid import (
    BACK,
    COMPARATOR,
    DETECTOR,
    GIVEN,
    HOLDER,
    LAMP,
    LEVER,
    LOCK,
    MOST_PARTS,
    MOST_PORTS,
    POWER,
    REPEATER,
    SIDE,
    TORCH,
    WATCHED,
)

CODES = {
    "lever": LEVER,
    "button": LEVER,
    "torch": TORCH,
    "repeater": REPEATER,
    "comparator": COMPARATOR,
    "lamp": LAMP,
    "detector": DETECTOR,
}
"""What can be laid out, by the number that the fast reading knows it by."""
PORTS = {
    Reads.HOLDER: HOLDER,
    Reads.AS_BLOCK: POWER,
    Reads.BEHIND: BACK,
    Reads.LOCKS: LOCK,
    Reads.SIDES: SIDE,
    Reads.WATCHED: WATCHED,
}


class CantPlace(Exception):
    """Why a circuit can't be laid out; the second argument says what would help."""


@dataclass(frozen=True)
class Port:
    """An input, and which parts are to feed it: each with the levels lost on the way, where that can be felt."""

    part: int
    """The number of the part that reads; -1 for dust that the circuit gives out."""
    how: int
    feeds: dict[int, int]
    exact: frozenset[int]
    """Of which of them the levels lost are felt."""
    ranked: bool
    """Whether of levels lost only the order is felt."""


@dataclass(frozen=True)
class Problem:
    """A circuit in numbers."""

    circuit: Circuit
    names: tuple[str, ...]
    things: tuple[Thing, ...]
    """What each part is in a drawing; which way it faces, or what holds it, is still open."""
    codes: tuple[int, ...]
    ports: tuple[Port, ...]
    straight: tuple[bool, ...]
    """Whether each part points straight into another (rule C3)."""
    shown: tuple[str, ...]
    """Dust that the circuit gives out, in the order of its ports."""


def problem_of(circuit: Circuit, named: Iterable[str] = ()) -> Problem:
    """A circuit as something to be laid out; dust that is named counts as given out. Raises CantPlace."""
    shown = shown_dust(circuit, named)
    wires = wiring(circuit, shown)
    parts = [part for part in circuit.parts if part.behaves]
    _refuse(parts)
    number = {part.name: place for place, part in enumerate(parts)}
    graded = frozenset(number[part.name] for part in parts if part.graded)
    ports: list[Port] = []
    for part in parts:
        block_type = MATTERS[part.word]
        for read in block_type.reads:
            ports.append(_port(part.name, read.port, PORTS[read.how], wires.inputs[part.name], number, graded))
    ports += [_port(name, "power", GIVEN, wires.inputs[name], number, graded) for name in shown]
    if len(ports) > MOST_PORTS:
        raise CantPlace(
            f"its parts and outputs have {len(ports)} inputs, and {MOST_PORTS} at most are laid out together",
            "lay it out in pieces",
        )
    return Problem(
        circuit,
        tuple(number),
        tuple(map(thing_of, parts)),
        tuple(CODES[part.word] for part in parts),
        tuple(ports),
        tuple(bool(wires.labels[part.name][2]) for part in parts),
        tuple(shown),
    )


def _port(name: str, port: str, how: int, inputs: Inputs, number: dict[str, int], graded: frozenset[int]) -> Port:
    feeds = {number[source]: lost[0] for (which, source), lost in inputs.items() if which == port}
    own = number.get(name, -1)
    felt = how == GIVEN or own in graded or (how == WATCHED and any(source in graded for source in feeds))
    exact = frozenset(feeds) if felt else frozenset(feeds) & graded
    return Port(own, how, feeds, exact, how == WATCHED and not felt)


def shown_dust(circuit: Circuit, named: Iterable[str]) -> list[str]:
    """The dust that a circuit gives out, and more that is named. Raises CantPlace where it gives out a block."""
    shown = list(dict.fromkeys((*given_out(circuit), *named)))
    blocks = [name for name in shown if circuit.by_name[name].word == "block"]
    if blocks:
        raise CantPlace(f"the block '{blocks[0]}' is given out", "give out what powers it, or dust on it")
    return shown


def _refuse(parts: list[Part]) -> None:
    """Raises CantPlace for what is not laid out yet."""
    if not parts:
        raise CantPlace("it has no parts", "give a circuit in text")
    strange = [f"'{part.name}' ({part.word})" for part in parts if part.word not in CODES or part.stuck]
    if strange:
        kinds = ", ".join(sorted(CODES))
        raise CantPlace(f"{', '.join(strange[:8])} can't be laid out yet", f"what can: {kinds}, and dust")
    if len(parts) > MOST_PARTS:
        raise CantPlace(
            f"it has {len(parts)} parts, and {MOST_PARTS} at most are laid out together", "lay it out in pieces"
        )


def thing_of(part: Part) -> Thing:
    """What a part is in a drawing, with the settings that it has."""
    kind = KINDS[part.word]
    numbers = {
        option.word: getattr(part, option.word)
        for option in kind.options
        if option.takes is Takes.DURATION and isinstance(getattr(part, option.word, None), int)
    }
    sources: dict[str, tuple[str, ...]] = {read.option: (part.name,) for read in MATTERS[part.word].reads}
    words = [option.word for option in kind.options if option.takes is Takes.FLAG]
    for flags in map(frozenset, chain.from_iterable(combinations(words, count) for count in range(2))):
        request = Request(part.name, NOWHERE, sources, {**kind.usual, **numbers}, None, flags, {})
        again = kind.build(request)
        if not request.mistakes and label(again[0], False) == label(part, False):
            told = {word: value for word, value in numbers.items() if kind.usual.get(word) != value}
            return Thing(MATTERS[part.word], flags=flags, numbers=tuple(sorted(told.items())), start=part.start)
    raise CantPlace(f"'{part.name}' has settings that can't be drawn", "give it others")
