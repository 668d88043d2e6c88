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

from circuitcheck.certificate.behaviour import Behaviour, LeftFree, LevelLeftFree, Measured, Sight, Source
from circuitcheck.certificate.gates import NO, YES, Gates, Latch, Model, numbered
from circuitcheck.certificate.part_rules import known, rule_of
from circuitcheck.certificate.possible_levels import steps_of
from circuitcheck.certificate.power_ways import PowerWays, Ways
from circuitcheck.certificate.start_levels import Levels, start_levels
from circuitcheck.certificate.turns import Turns
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
        self._acting: dict[tuple[str, str], int] = {}
        self._changed: dict[tuple[str, str], int] = {}
        self.rows: list[list[int]] = []
        """The counters that belong to no part, each as its bits."""
        self._constraints: list[int] = []
        kept = [name for name in dict.fromkeys(inside) if known(wired.parts[name])]
        free = [name for name in wired.feeding(kept) if name not in kept]
        self._starts = self._start_levels(kept)
        self._steps = steps_of(wired.parts, wired.ports, kept, self._starts)
        self.parts: dict[str, Behaviour] = {}
        for name in free:
            left = LevelLeftFree if wired.parts[name].graded else LeftFree
            self.parts[name] = left(self, wired.parts[name], ())
        for name in kept:
            self.parts[name] = self._behaviour(name)
        self.left_free = tuple(free)
        self._owner = ""
        self._build()

    def _start_levels(self, kept: Sequence[str]) -> list[Levels]:
        return start_levels(self.wired.parts, self.wired.ports, kept)

    def _behaviour(self, name: str) -> Behaviour:
        part = self.wired.parts[name]
        rule = rule_of(part)
        assert rule is not None, "what is not known of is left free"
        return rule(self, part, self.wired.ports[name])

    def _source(self, name: str, reader: Behaviour) -> Source:
        """A part as one that it feeds reads it."""
        return self.parts[name]

    def _build(self) -> None:
        for part in self.parts.values():
            part.build([self._sight(part, ways) for ways in part.ports])
            if len(self.gates.ands) > MOST_GATES:
                raise Uncertified("its system would be too large")

    # What parts are built on

    def level(self, part: str, least: int = 1) -> int:
        """Whether a part gives at least a level: a bit that is held, and at the start is as the part starts."""
        literal = self.gates.held()
        self._owner = part
        self._owned.append((part, literal))
        starts = (levels.get(part) for levels in self._starts)
        bits = tuple(None if level is None else int(level >= least) for level in starts)
        self._latches.append((f"{part} is on" if least == 1 else f"{part} gives {least} or more", literal, bits))
        return literal

    def steps(self, part: str) -> tuple[int, ...]:
        """The levels above none that a part may give, lowest first."""
        return self._steps[part]

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
        parts = [self.parts[name].at_level(level + loss) for name, loss in self._reaching(ways, level).items()]
        return self.gates.any(part.then if later else part.on for part in parts)

    def _reaching(self, ways: Ways, level: int) -> Ways:
        """Those ways by which a place may come to a level."""
        return {name: loss for name, loss in ways.items() if self.parts[name].steps[-1] - loss >= level}

    def _levels(self, ways: Ways) -> list[int]:
        """The levels above none that a place can have."""
        each = (step - loss for name, loss in ways.items() for step in self.parts[name].steps)
        return sorted({level for level in each if level > 0})

    def changes(self, ways: Ways) -> int:
        """The level of a place is another when the gt ends than when it began."""
        gates = self.gates
        return gates.any(
            gates.same(self.reads(ways, level), self.reads(ways, level, later=True)) ^ 1 for level in self._levels(ways)
        )

    def _sight(self, reader: Behaviour, ways: Ways) -> Sight:
        gates = self.gates
        levels = self._levels(ways) if reader.levels or reader.measures else [1]
        groups = [self._sources(reader, ways, level) for level in levels]
        any_power = groups[0] if groups else []
        seen = [gates.any(self._as_seen(each, reader) for each in group) for group in groups]
        last = [gates.any(each.then for each in group) for group in groups]
        since = NO
        if reader.levels:
            since = gates.any(gates.same(*pair) ^ 1 for pair in zip(seen, last, strict=True))
        measured: tuple[Measured, ...] = ()
        if reader.measures:
            between = [gates.any(self._in_between(each, reader) for each in group) for group in groups]
            first = [gates.any(each.on for each in group) for group in groups]
            measured = tuple(map(Measured, levels, first, seen, between, last))
        return Sight(
            first=gates.any(each.on for each in any_power),
            acting=seen[0] if seen else NO,
            last=last[0] if last else NO,
            dips=NO if reader.measures else self._dips(reader, groups),
            changed=self.changes(ways) if reader.levels else NO,
            changed_since=since,
            measured=measured,
            possible=self._possible(reader) if reader.measures else YES,
        )

    def _sources(self, reader: Behaviour, ways: Ways, level: int) -> list[Source]:
        """What may bring a place to a level, each as it is read there."""
        reaching = self._reaching(ways, level)
        return [self._source(name, reader).at_level(level + loss) for name, loss in reaching.items()]

    def _as_seen(self, source: Source, reader: Behaviour) -> int:
        """Whether a part is on as another acts."""
        if source.name == reader.name:
            return source.on
        gates = self.gates
        before = self._acts_before(source, reader)
        seen = gates.choose(before, source.then, source.on)
        if source.dipped == NO:
            return seen
        between = gates.input(f"{source.name} is on as {reader.name} acts")
        return gates.choose(source.dipped, between, seen)

    def _acts_before(self, source: Source, reader: Behaviour) -> int:
        pair = (source.name, reader.name)
        if pair not in self._acting:
            self._acting[pair] = self._turns.before(source.name, source.turns(), reader.name, reader.acts())
        return self._acting[pair]

    def _in_between(self, source: Source, reader: Behaviour) -> int:
        """Whether a part is on at that moment of the gt at which another may be called by what then undoes itself."""
        if source.name == reader.name:
            return source.then
        gates = self.gates
        seen = gates.choose(self._changed_by_then(source.name, reader), source.then, source.on)
        if source.dipped == NO:
            return seen
        return gates.choose(source.dipped, gates.input(f"{source.name} is on as {reader.name} looks"), seen)

    def _changed_by_then(self, name: str, reader: Behaviour) -> int:
        pair = (name, reader.name)
        if pair not in self._changed:
            self._changed[pair] = self.gates.input(f"{name} has changed as {reader.name} looks")
        return self._changed[pair]

    def _possible(self, reader: Behaviour) -> int:
        """What has changed by that moment in between is so in the order of the gt, and after the reader has acted."""
        gates = self.gates
        parts = [self.parts[name] for ways in reader.ports for name in ways if name != reader.name]
        parts = list({part.name: part for part in parts}.values())
        changes = {part.name: self._changes_once(part) for part in parts}
        by_then = {part.name: self._changed_by_then(part.name, reader) for part in parts}
        kept = [
            gates.all((reader.due, changes[part.name], self._acts_before(part, reader), by_then[part.name] ^ 1)) ^ 1
            for part in parts
        ]
        if len(parts) <= MOST_COMPARED:
            for one, other in itertools.permutations(parts, 2):
                both = gates.both(changes[one.name], changes[other.name])
                wrong = gates.both(by_then[other.name], by_then[one.name] ^ 1)
                kept.append(gates.all((both, wrong, self._before(one, other))) ^ 1)
        return gates.all(kept)

    def _changes_once(self, part: Behaviour) -> int:
        """A part gives another level when the gt ends, and has gone there at one moment."""
        return self.gates.both(part.dipped ^ 1, self.changes({part.name: 0}))

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
