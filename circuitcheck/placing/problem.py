"""What is to be laid out: the parts of a circuit, and what must feed each port of theirs, in numbers.

It is read from the circuit's wiring graph, by which the house judges whether a drawing is its circuit. So a layout that
keeps all that stands here is the circuit, and the true reading of drawings only confirms it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain, combinations

from circuitcheck.checks.drawing.wiring_graph import Inputs, given_out, label, wiring
from circuitcheck.diagnostics import NOWHERE, did_you_mean
from circuitcheck.model.block_type import Read, Reads
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.drawing import AROUND, MATTERS, Direction, Thing
from circuitcheck.model.parts import KINDS
from circuitcheck.model.parts.base import Part
from circuitcheck.model.parts.kinds import Request, Takes
from circuitcheck.placing.asked_places import NOTHING, Asked, Spot, together
from circuitcheck.placing.grid import (
    BACK,
    BELOW,
    BESIDE,
    COMPARATOR,
    DETECTOR,
    ENTRY,
    EXIT,
    GIVEN,
    HOLDER,
    LAMP,
    LEVER,
    LOCK,
    MOST_PARTS,
    MOST_PORTS,
    OVERHEAD,
    PISTON,
    POWER,
    REPEATER,
    SIDE,
    TORCH,
    WATCHED,
)
from circuitcheck.placing.staying import NOTHING_STAYS, Staying

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
    Reads.BESIDE: BESIDE,
    Reads.OVERHEAD: OVERHEAD,
}


NOWHERE_DRAWN = (0, 0, 0)


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
    """The parts; behind them the dust given out that is to lie at a place, which counts as a part."""
    things: tuple[Thing, ...]
    """What each part is in a drawing; which way it faces, or what holds it, is still open."""
    codes: tuple[int, ...]
    ports: tuple[Port, ...]
    straight: tuple[bool, ...]
    """Whether each part points straight into another (rule C3)."""
    shown: tuple[str, ...]
    """Dust that the circuit gives out and that may lie anywhere, in the order of its ports."""
    asked: Asked = NOTHING
    """Where parts and dust are to stand, and what stays free."""
    staying: Staying = NOTHING_STAYS
    """What stays as it is drawn."""

    @cached_property
    def given(self) -> tuple[str, ...]:
        """All dust that the circuit gives out."""
        asked = (name for name, code in zip(self.names, self.codes, strict=True) if code == EXIT)
        return (*asked, *self.shown)

    @property
    def parts(self) -> int:
        """How many parts it has; dust is none."""
        return len(self.codes) - self.codes.count(EXIT) - len(self.staying.marks)

    @cached_property
    def spots(self) -> tuple[Spot | None, ...]:
        """Where each part is to stand; None for anywhere."""
        spots = self.asked.spots
        return tuple(spots.get(name) for name in self.names)

    def fed_as_well(self, marks: Mapping[int, Iterable[str]]) -> Problem:
        """The same with ports, by their numbers, that marks are to feed as well."""
        number = {name: place for place, name in enumerate(self.names)}
        ports = list(self.ports)
        for port, by in marks.items():
            ports[port] = replace(ports[port], feeds={**ports[port].feeds, **{number[name]: 0 for name in by}})
        return replace(self, ports=tuple(ports))

    @cached_property
    def anywhere(self) -> int:
        """The bits of the parts that may stand anywhere."""
        return sum(1 << part for part, spot in enumerate(self.spots) if spot is None)

    @cached_property
    def faces(self) -> tuple[int, ...]:
        """To which side dust from outside joins each part that is dust; below for none."""
        ways: Mapping[str, Direction] = {**self.asked.enters, **self.asked.leaves}
        return tuple(list(Direction).index(ways[name]) if name in ways else BELOW for name in self.names)


def problem_of(
    circuit: Circuit, named: Iterable[str] = (), asked: Asked | None = None, staying: Staying = NOTHING_STAYS
) -> Problem:
    """A circuit as something to be laid out; dust that is named counts as given out. Raises CantPlace.

    Of what stays as it is drawn, only what is wired to the rest counts as a part.
    """
    shown = shown_dust(circuit, named)
    parts = [part for part in circuit.parts if part.behaves]
    asked = _called(asked or NOTHING, circuit, [part.name for part in parts], shown)
    placed = [name for name in (*shown, *asked.leaves) if name in asked.spots or name in staying.parts]
    parts = _wired(parts, staying) if staying else parts
    _refuse(parts, bool(staying))
    names = (*(part.name for part in parts), *dict.fromkeys(placed), *staying.marks)
    number = {name: place for place, name in enumerate(names)}
    wires = wiring(circuit, shown)
    inputs: dict[str, Inputs] = {**wires.inputs, **{leaving(part.name): {("power", part.name): (0,)} for part in parts}}
    inputs |= {mark: {} for mark in staying.marks}
    graded = frozenset(number[part.name] for part in parts if part.graded)
    ports = [
        _port(part.name, port, how, inputs[part.name], number, graded)
        for part in parts
        for port, how in _read_by(part, inputs[part.name], number, circuit, staying)
    ]
    anywhere = [name for name in shown if name not in number]
    for name in (*list(number)[len(parts) :], *anywhere):
        ports.append(_port(name, "power", GIVEN, inputs[name], number, graded, felt=name not in asked.leaves))
    dust = len(number) - len(parts)
    lies, drawn = Thing(MATTERS["dust"]), dict(staying.places)
    things = {part.name: drawn.get(staying.parts.get(part.name, NOWHERE_DRAWN)) or thing_of(part) for part in parts}
    return Problem(
        circuit,
        tuple(number),
        (*(lies if part.name in asked.enters else things[part.name] for part in parts), *[lies] * dust),
        (
            *(_code(part, asked) for part in parts),
            *(ENTRY if name in staying.marks else EXIT for name in names[len(parts) :]),
        ),
        tuple(ports),
        (*(bool(wires.labels[part.name][2]) for part in parts), *[False] * dust),
        tuple(anywhere),
        asked,
        staying.named_beside(name for name in number if name not in staying.parts),
    )


def _read_by(
    part: Part, inputs: Inputs, number: dict[str, int], circuit: Circuit, staying: Staying
) -> Iterator[tuple[str, int]]:
    """The ports of a part that are to be fed, each with how; of one that stays, not those that are fed as drawn."""
    for read in MATTERS[part.word if _is_laid_out(part) else "piston"].reads:
        if not (part.name in staying.parts and _as_drawn(read, inputs, number, circuit)):
            yield "arming" if part.stuck and read.port == "above" else read.port, PORTS[read.how]


def _wired(parts: list[Part], staying: Staying) -> list[Part]:
    """The parts that are laid out, or stay and may be wired to those. Raises CantPlace for others that don't stay."""
    others = [part for part in parts if not _is_laid_out(part)]
    if loose := [part for part in others if part.name not in staying.parts and part.word in MATTERS]:
        raise CantPlace(f"'{loose[0].name}' ({loose[0].word}) is not where it can stay", "name where it is drawn")
    pistons = {at for at, thing in staying.places if thing is not None and thing.pushes}
    kept = [part.name for part in others if part.word in MATTERS and staying.parts[part.name] in pistons]
    return [part for part in parts if _is_laid_out(part) or part.name in kept]


def _code(part: Part, asked: Asked) -> int:
    if part.name in asked.enters:
        return ENTRY
    return CODES[part.word] if _is_laid_out(part) else PISTON


def _is_laid_out(part: Part) -> bool:
    return part.word in CODES and not part.stuck


def _as_drawn(read: Read, inputs: Inputs, number: dict[str, int], circuit: Circuit) -> bool:
    """Whether an input of a part that stays is fed as drawn, whatever is laid out."""
    if read.how is Reads.OVERHEAD:
        return not circuit.rules.power_above_piston
    return read.how is Reads.WATCHED and any(source not in number for (port, source) in inputs if port == read.port)


def leaving(name: str) -> str:
    """What dust is called by which the power of a part that is given out leaves."""
    return f"{name} leaves"


def _called(asked: Asked, circuit: Circuit, parts: list[str], shown: list[str]) -> Asked:
    """What is asked, with each output as the part or dust that gives it. Raises CantPlace for an unknown name."""
    sources = {output.name: output.source for output in circuit.own_outputs}

    def called(name: str) -> str:
        known = name if name in parts or name in shown else sources.get(name, name)
        if known not in parts and known not in shown:
            hint = did_you_mean(name, [*parts, *shown, *sources]) or "name a part, or an output"
            raise CantPlace(f"it has no part and no output called '{name}'", hint)
        return known

    for name in asked.enters:
        if name not in parts or circuit.by_name[name].word not in ("lever", "button"):
            raise CantPlace(f"'{name}' is no lever or button: its power can't come from outside", "name one that is")
    if upright := [name for name, side in (*asked.enters.items(), *asked.leaves.items()) if side not in AROUND]:
        raise CantPlace(f"dust of '{upright[0]}' can't lead up or down", "ask for north, east, south or west")
    leaves = {called(name): side for name, side in asked.leaves.items()}
    leaves = {leaving(name) if name in parts else name: side for name, side in leaves.items()}
    return replace(asked, at=together((called(name), spot) for name, spot in asked.at.items()), leaves=leaves)


def _port(
    name: str, port: str, how: int, inputs: Inputs, number: dict[str, int], graded: frozenset[int], felt: bool = False
) -> Port:
    if strange := [source for which, source in inputs if which == port and source not in number]:
        raise CantPlace(f"'{name}' is fed by '{strange[0]}', which can't be laid out yet", "have both stay as drawn")
    feeds = {number[source]: lost[0] for (which, source), lost in inputs.items() if which == port}
    own = number.get(name, -1)
    felt = felt or own in graded or (how == WATCHED and any(source in graded for source in feeds))
    exact = frozenset(feeds) if felt else frozenset(feeds) & graded
    return Port(own, how, feeds, exact, how == WATCHED and not felt)


def shown_dust(circuit: Circuit, named: Iterable[str]) -> list[str]:
    """The dust that a circuit gives out, and more that is named. Raises CantPlace where it gives out a block."""
    shown = list(dict.fromkeys((*given_out(circuit), *named)))
    blocks = [name for name in shown if circuit.by_name[name].word == "block"]
    if blocks:
        raise CantPlace(f"the block '{blocks[0]}' is given out", "give out what powers it, or dust on it")
    return shown


def _refuse(parts: list[Part], stays: bool) -> None:
    """Raises CantPlace for what is not laid out yet."""
    if not parts:
        raise CantPlace("it has no parts", "give a circuit in text")
    strange = [f"'{part.name}' ({part.word})" for part in parts if not _is_laid_out(part) and not stays]
    if strange:
        kinds = ", ".join(sorted(CODES))
        raise CantPlace(f"{', '.join(strange[:8])} can't be laid out yet", f"what can: {kinds}, and dust")


def refuse_too_many(problem: Problem) -> None:
    """Raises CantPlace for a circuit that is too large to be laid out as one: each part is a bit of a number there."""
    parts, ports = len(problem.names), len(problem.ports)
    hint = "where nothing is asked of places it is laid out in pieces" if problem.asked else "lay it out in pieces"
    if parts > MOST_PARTS:
        raise CantPlace(f"it has {parts} parts, and {MOST_PARTS} at most are laid out together", hint)
    if ports > MOST_PORTS:
        raise CantPlace(
            f"its parts and outputs have {ports} inputs, and {MOST_PORTS} at most are laid out together", hint
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
