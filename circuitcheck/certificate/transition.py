"""The transition system of a circuit: what may follow in one gt, as and-gates.

A state is that at the end of a gt; the first is that before gt 0. A step may choose everything that the rules leave
open, and more: no order is kept from one gt to the next, so that of two waits of one class and one length either may be
first in each gt. So each run of a circuit is a run of its system, and what no run of the system breaks holds.

This is a second encoding of the rules, apart from the engine and from the prover, on purpose and as the one exception
to "one rule, one place": a certificate that is checked with the code that found it would certify that code's mistakes.
It shares with them what a circuit is (`circuitcheck.model`), and nothing else. When a rule changes, tests fail until it
is changed here as well.

Parts may be *left free*: then they may do anything, and what feeds them needs no place in the system.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from typing import Protocol

from circuitcheck.certificate.gates import NO, YES, Gates, Latch, Model, numbered
from circuitcheck.certificate.part_rules import RULES, Behaviour, LeftFree, Sight, known
from circuitcheck.certificate.power_ways import FULL, PowerWays, Ways
from circuitcheck.certificate.start_levels import Levels, start_levels
from circuitcheck.certificate.turns import Turn, Turns
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.model.circuit import Circuit

MOST_COMPARED = 8
"""Of so many parts that feed an input it is compared who changes first, to see whether it can dip."""
MOST_GATES = 400_000


class Wired:
    """The parts of a circuit that behave, and what feeds each of their inputs."""

    def __init__(self, circuit: Circuit) -> None:
        if circuit.things_move:
            raise Uncertified("it is about a machine that moves things, which certificates don't know")
        self.circuit = circuit
        self.ways = PowerWays(circuit)
        self.parts = {part.name: part for part in circuit.parts if part.behaves}
        self.ports = {name: tuple(map(self.ways.of_port, part.ports())) for name, part in self.parts.items()}
        self.straight = _pointing_straight(circuit)

    def feeding(self, names: Iterable[str]) -> dict[str, None]:
        """What feeds some parts."""
        return dict.fromkeys(source for name in names for ways in self.ports[name] for source in ways)

    def upstream(self, names: Iterable[str]) -> dict[str, None]:
        """Some parts and all that feeds them; behind what certificates don't know nothing is followed."""
        found = dict.fromkeys(names)
        queue = list(found)
        for name in queue:
            for source in self.feeding((name,)) if known(self.parts[name]) else ():
                if source not in found:
                    found[source] = None
                    queue.append(source)
        return found


def _pointing_straight(circuit: Circuit) -> frozenset[str]:
    """The parts that point straight into another (rule C3): at its back or its side, with nothing else there."""
    reads: dict[str, list[tuple[str, bool]]] = {}
    for part in circuit.parts:
        for port in part.ports():
            for source in () if port.watches else port.sources:
                alone = port.name == "side" or port.sources == (source,)
                reads.setdefault(source, []).append((part.name, alone and part.directed))
    ahead = {
        name: readers[0][0]
        for name, readers in reads.items()
        if circuit.by_name[name].directed and len(readers) == 1 and readers[0][1]
    }
    return frozenset(name for name, reader in ahead.items() if ahead.get(reader) != name)


class Source(Protocol):
    """What is read of a part by those that it feeds."""

    @property
    def name(self) -> str: ...
    @property
    def on(self) -> int: ...
    @property
    def then(self) -> int: ...
    @property
    def dipped(self) -> int: ...
    def turns(self) -> list[Turn]: ...


class Transition:
    """The system of some parts. Afterwards a claim and assumptions may be added, before it is numbered."""

    def __init__(self, wired: Wired, inside: Iterable[str]) -> None:
        """Raises Uncertified."""
        self.wired = wired
        self.gates = Gates()
        self.outside_first = wired.circuit.rules.outside_first
        self.straight = wired.straight
        self._turns = Turns(self.gates)
        self._latches: list[tuple[str, int, tuple[int | None, ...]]] = []
        self._then: dict[int, int] = {}
        self._owned: list[tuple[str, int]] = []
        self._owner = ""
        self.rows: list[list[int]] = []
        """The counters that belong to no part, each as its bits."""
        self._constraints: list[int] = []
        kept = [name for name in dict.fromkeys(inside) if known(wired.parts[name])]
        free = [name for name in wired.feeding(kept) if name not in kept]
        _refuse_levels(wired, kept, free)
        self._starts = self._start_levels(kept)
        self.parts: dict[str, Behaviour] = {}
        for name in free:
            self.parts[name] = LeftFree(self, wired.parts[name], ())
        for name in kept:
            self.parts[name] = self._behaviour(name)
        self.left_free = tuple(free)
        self._owner = ""
        self._build()

    def _start_levels(self, kept: Sequence[str]) -> list[Levels]:
        return start_levels(self.wired.parts, self.wired.ports, kept)

    def _behaviour(self, name: str) -> Behaviour:
        part = self.wired.parts[name]
        return RULES[type(part)](self, part, self.wired.ports[name])

    def _source(self, name: str, reader: Behaviour) -> Source:
        """A part as one that it feeds reads it."""
        return self.parts[name]

    def _build(self) -> None:
        for part in self.parts.values():
            part.build([self._sight(part, ways) for ways in part.ports])
            if len(self.gates.ands) > MOST_GATES:
                raise Uncertified("its system would be too large")

    # What parts are built on

    def level(self, part: str) -> int:
        """Whether a part is on: a bit that is held, and at the start is its level."""
        literal = self.gates.held()
        self._owner = part
        self._owned.append((part, literal))
        self._latches.append((f"{part} is on", literal, tuple(levels.get(part) for levels in self._starts)))
        return literal

    def held(self, name: str, reset: int = NO) -> int:
        """A bit that is held, and how it is at the start."""
        literal = self.gates.held()
        self._owned.append((self._owner, literal))
        self._latches.append((name, literal, (reset,) * len(self._starts)))
        return literal

    def becomes(self, held: int, then: int) -> None:
        """What a bit that is held is in the next gt."""
        self._then[held] = then

    def becoming(self, held: int) -> int:
        """What a bit that is held is when the gt ends, of one of which that has been said."""
        return self._then[held]

    def require(self, literal: int) -> None:
        """Only steps count in which this is so."""
        self._constraints.append(literal)

    def latches(self) -> list[int]:
        """Every bit that is held, in the order of the numbered system."""
        return [literal for _, literal, _ in self._latches]

    def held_by(self, part: str) -> list[int]:
        """The bits that a part holds."""
        return [literal for owner, literal in self._owned if owner == part]

    # What is read

    def reads(self, ways: Ways, level: int = 1, later: bool = False) -> int:
        """A place that is fed so has at least this level."""
        parts = [self.parts[name] for name, loss in ways.items() if FULL - loss >= level]
        return self.gates.any(part.then if later else part.on for part in parts)

    def changes(self, ways: Ways) -> int:
        """The level of a place is another when the gt ends than when it began."""
        gates = self.gates
        return gates.any(
            gates.same(self.reads(ways, level), self.reads(ways, level, later=True)) ^ 1 for level in _steps(ways)
        )

    def _sight(self, reader: Behaviour, ways: Ways) -> Sight:
        gates = self.gates
        sources = {name: self._source(name, reader) for name in ways}
        seen = {name: self._as_seen(source, reader) for name, source in sources.items()}
        last = {name: source.then for name, source in sources.items()}
        since = NO
        groups = [ways]
        if reader.levels:
            groups = [{name: loss for name, loss in ways.items() if FULL - loss >= level} for level in _steps(ways)]
            since = gates.any(
                gates.same(gates.any(seen[name] for name in group), gates.any(last[name] for name in group)) ^ 1
                for group in groups
            )
        return Sight(
            first=gates.any(source.on for source in sources.values()),
            acting=gates.any(seen.values()),
            last=gates.any(last.values()),
            dips=self._dips(reader, [[sources[name] for name in group] for group in groups]),
            changed=self.changes(ways) if reader.levels else NO,
            changed_since=since,
        )

    def _as_seen(self, source: Source, reader: Behaviour) -> int:
        """Whether a part is on as another acts."""
        if source.name == reader.name:
            return source.on
        gates = self.gates
        before = self._turns.before(source.name, source.turns(), reader.name, reader.acts())
        seen = gates.choose(before, source.then, source.on)
        if source.dipped == NO:
            return seen
        between = gates.input(f"{source.name} is on as {reader.name} acts")
        return gates.choose(source.dipped, between, seen)

    def _dips(self, reader: Behaviour, groups: Sequence[Sequence[Source]]) -> int:
        """A change of an input that is undone within the gt is noticed."""
        possible = self.gates.any(self._may_dip(sources) for sources in groups)
        if possible == NO:
            return NO
        return self.gates.both(possible, self.gates.input(f"{reader.name} notices a dip"))

    def _may_dip(self, sources: Sequence[Source]) -> int:
        gates = self.gates
        steady = gates.any(gates.all((each.on, each.then, each.dipped ^ 1)) for each in sources)
        falls = [gates.both(each.on, each.then ^ 1) for each in sources]
        rises = [gates.both(each.on ^ 1, each.then) for each in sources]
        if len(sources) > MOST_COMPARED:
            crossed = gates.both(gates.any(falls), gates.any(rises))
        else:
            crossed = gates.any(
                gates.all((falls[a], rises[b], self._before(sources[a], sources[b])))
                for a, b in itertools.permutations(range(len(sources)), 2)
            )
        dipped = gates.any(each.dipped for each in sources)
        return gates.both(steady ^ 1, gates.any((dipped, crossed)))

    def _before(self, one: Source, other: Source) -> int:
        return self._turns.before(one.name, one.turns(), other.name, other.turns())

    # The whole

    def numbered(self, bad: int) -> Model:
        """The system with a literal that is true where the claim is broken."""
        latches = [
            Latch(name, literal, self._then[literal], bits[0] if len(set(bits)) == 1 else None)
            for name, literal, bits in self._latches
        ]
        constraints = list(self._constraints)
        open_ = [(literal, bits) for _, literal, bits in self._latches if len(set(bits)) > 1]
        if open_:
            first = self.gates.held()
            latches.append(Latch("nothing has been yet", first, NO, YES))
            starts = (
                [literal ^ 1 ^ (bits[place] or 0) for literal, bits in open_] for place in range(len(self._starts))
            )
            constraints.append(self.gates.both(first, self.gates.any(map(self.gates.all, starts)) ^ 1) ^ 1)
        return numbered(self.gates, latches, constraints, bad)


def _steps(ways: Ways) -> list[int]:
    """The levels that a place can have."""
    return sorted({FULL - loss for loss in ways.values()})


def _refuse_levels(wired: Wired, kept: Sequence[str], free: Sequence[str]) -> None:
    """Refuses what needs to know how high a level is. Raises Uncertified."""
    for name in (*kept, *free):
        losses = {ways[name] for each in kept for ways in wired.ports[each] if name in ways}
        if wired.parts[name].graded and len(losses) > 1:
            raise Uncertified(f"it depends on how high a level '{name}' gives")
