"""The transition system of all netlists of some parts at once: who powers whom is a free bit each, and so are delays.

It is the system of `circuitcheck.certificate` of a circuit in which everything powers everything, but that each source
is read through the bit that says whether it is there. So what the rules allow of one netlist is what they allow of this
system under its bits; and where even the system can't keep all claims in a run, that netlist breaks one in each order.

Netlists that don't rest before anything is worked have no start here, so none of them is found.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from circuitcheck.certificate.behaviour import Behaviour, Source
from circuitcheck.certificate.gates import NO, YES, Gates, Latch
from circuitcheck.certificate.part_rules import LampRule, RepeaterRule, TorchRule
from circuitcheck.certificate.power_ways import PowerWays, Ways
from circuitcheck.certificate.start_levels import Levels
from circuitcheck.certificate.transition import Transition, Wired
from circuitcheck.certificate.turns import GOING_OFF, GOING_ON, STRAIGHT, WAITS, Turn, Turns
from circuitcheck.designing.netlist import DELAYS, GT_A_TICK, REPEATER, TORCH, Words
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.base import Part

Bit = tuple[str, str | int]
"""A reader and a source: whether the one is powered by the other; or a repeater and a delay (t): whether it has it."""


@dataclass(frozen=True)
class Chosen:
    """A source as a reader sees it: on only where it is one of the reader's sources."""

    part: Behaviour
    on: int
    then: int
    dipped: int

    @property
    def name(self) -> str:
        return self.part.name

    def turns(self) -> list[Turn]:
        return self.part.turns()

    def at_level(self, level: int) -> Source:
        return self


class Joined(Behaviour):
    """Dust that is read: on while a source is."""

    def __init__(self, gates: Gates, part: Part, sources: Sequence[Source]) -> None:
        self.gates, self.part, self.name = gates, part, part.name
        self.ports: Sequence[Ways] = ()
        self.on = gates.any(each.on for each in sources)
        self.then = gates.any(each.then for each in sources)
        self.driven = self.dipped = NO


class OpenTurns(Turns):
    """Who is first, of parts that may have many turns: an open repeater has one for each delay and class."""

    def before(self, one: str, its: Sequence[Turn], other: str, others: Sequence[Turn]) -> int:
        """`one` changes before `other` does: each turn is asked once, and not each pair of them."""
        if any(turn.moment is None for turn in (*its, *others)):
            return super().before(one, its, other, others)
        gates, when = self._gates, (_by_place(its), _by_place(others))
        found, later = [], NO
        for place in sorted({*when[0], *when[1]}, reverse=True):
            mine, theirs = (gates.any(each.get(place, ())) for each in when)
            found.append(gates.both(mine, later))
            if mine != NO and theirs != NO:
                found.append(gates.all((mine, theirs, self._tie(one, other))))
            later = gates.any((later, theirs))
        return gates.any(found)


Place = tuple[int, int, int]
"""Where in a gt a turn is: what has the smaller place is first."""


def _by_place(turns: Sequence[Turn]) -> dict[Place, list[int]]:
    found: dict[Place, list[int]] = {}
    for turn in turns:
        found.setdefault(turn.place, []).append(turn.when)
    return found


class _OpenWays(PowerWays):
    """What is read of dust whose sources are open is what it joins, under its own name."""

    joined: frozenset[str] = frozenset()

    def seen(self, name: str) -> Ways:
        return {name: 0} if name in self.joined else super().seen(name)


class _OpenWired(Wired):
    def __init__(self, circuit: Circuit, joined: Sequence[str]) -> None:
        super().__init__(circuit)
        ways = _OpenWays(circuit)
        ways.joined = frozenset(joined)
        self.ways = ways
        self.straight = frozenset()
        for name in joined:
            part = circuit.by_name[name]
            self.parts[name] = part
            self.ports[name] = tuple(map(ways.of_port, part.ports()))


class _OpenRepeater(RepeaterRule):
    """A repeater of which its delay is open, and whether it points straight into another (rule C3)."""

    def longest(self) -> int:
        return GT_A_TICK * max(DELAYS)

    def declare(self) -> None:
        super().declare()
        self._points = True
        self._second = self.bench.held(f"{self.name} waits again")
        self.straight = NO
        self.delays = {delay: self.gates.input(f"{self.name} has {delay}t") for delay in DELAYS}

    def acts(self) -> list[Turn]:
        both, straight, second = self.gates.both, self.straight, self._second
        return [
            Turn(both(bit, when), WAITS, order_class, GT_A_TICK * delay)
            for delay, bit in self.delays.items()
            for when, order_class in (
                (both(straight, second), GOING_OFF),
                (both(straight, second ^ 1), STRAIGHT),
                (both(straight ^ 1, self.on), GOING_OFF),
                (both(straight ^ 1, self.on ^ 1), GOING_ON),
            )
        ]

    def begins(self, *waits: tuple[int, int]) -> None:
        both = self.gates.both
        super().begins(
            *((both(condition, bit), GT_A_TICK * delay) for condition, _ in waits for delay, bit in self.delays.items())
        )


class OpenSystem(Transition):
    """The system of every netlist of some parts, in a circuit in which everything powers everything."""

    def __init__(self, circuit: Circuit, words: Words, lamps: Sequence[str], joined: Sequence[str]) -> None:
        """Raises Uncertified."""
        self._words = words
        self._joined = tuple(joined)
        self._readers = (*words, *lamps, *joined)
        self.bits: dict[Bit, int] = {}
        wired = _OpenWired(circuit, joined)
        super().__init__(wired, [name for name, part in circuit.by_name.items() if part.behaves])

    def _start_levels(self, kept: Sequence[str]) -> list[Levels]:
        return [{}]

    def _behaviour(self, name: str) -> Behaviour:
        if self._words.get(name) == REPEATER:
            return _OpenRepeater(self, self.wired.parts[name], self.wired.ports[name])
        return super()._behaviour(name)

    def _build(self) -> None:
        self._turns = OpenTurns(self.gates)
        for reader in self._readers:
            for ways in self.wired.ports[reader]:
                for source in ways:
                    self.bits[reader, source] = self.gates.input(f"{source} powers {reader}")
        for name, part in self.parts.items():
            if isinstance(part, _OpenRepeater):
                self.bits |= {(name, delay): bit for delay, bit in part.delays.items()}
        self._say_who_points_straight()
        super()._build()
        for name in self._joined:
            sources = [self._chosen(name, source) for ways in self.wired.ports[name] for source in ways]
            self.parts[name] = Joined(self.gates, self.wired.parts[name], sources)

    def _chosen(self, reader: str, source: str) -> Chosen:
        part, bit = self.parts[source], self.bits[reader, source]
        return Chosen(part, *(self.gates.both(bit, each) for each in (part.on, part.then, part.dipped)))

    def _source(self, name: str, reader: Behaviour) -> Source:
        return self._chosen(reader.name, name) if (reader.name, name) in self.bits else self.parts[name]

    def _say_who_points_straight(self) -> None:
        gates = self.gates
        directed = [name for name, word in self._words.items() if word == REPEATER]
        powers = {bit: literal for bit, literal in self.bits.items() if isinstance(bit[1], str)}
        ahead: dict[Bit, int] = {}
        for name in directed:
            readers = [self.bits[reader, name] for reader in self._readers]
            for reader in directed:
                mine = self.bits[reader, name]
                others = [bit for (who, source), bit in powers.items() if who == reader and source != name]
                only = [bit for bit in readers if bit != mine]
                ahead[name, reader] = gates.all((mine, *(bit ^ 1 for bit in (*others, *only))))
        for name in directed:
            part = self.parts[name]
            assert isinstance(part, _OpenRepeater)
            part.straight = gates.any(gates.both(ahead[name, reader], ahead[reader, name] ^ 1) for reader in directed)

    @property
    def torches(self) -> tuple[str, ...]:
        """The torches that are searched for."""
        return tuple(name for name, word in self._words.items() if word == TORCH)

    def kept(self) -> list[Latch]:
        """Every bit that is held, what it becomes, and how it is at the start if that is known."""
        return [Latch(name, literal, self._then[literal], resets[0]) for name, literal, resets in self._latches]

    def constraints(self) -> list[int]:
        """What is so in every step that counts."""
        return list(self._constraints)

    def rests(self) -> int:
        """Every part is as what it reads keeps it, and no input is on."""
        gates = self.gates
        found = []
        for name, part in self.parts.items():
            if name in self._joined:
                continue
            power = gates.any(self._source(each, part).on for ways in part.ports for each in ways)
            if isinstance(part, TorchRule):
                power ^= 1
            elif not isinstance(part, RepeaterRule | LampRule):
                power = YES if part.part.start else NO
            found.append(gates.same(part.on, power))
        return gates.all(found)
