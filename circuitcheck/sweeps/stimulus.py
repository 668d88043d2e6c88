"""What would show that two circuits with the same inputs differ: hands at random, then without those not needed.

A stimulus shows a difference only if at some gt everything that can be seen of the one, over all unknown orders, is
other than everything that can be seen of the other. That none was found proves nothing, and is said so.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from typing import ClassVar

from circuitcheck.checks.allowed import allowed
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine import work
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.engine.work import OutOfWork, Undecided
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Act, Assumption, Check, Holding, Study, Watched, atoms, conditions
from circuitcheck.prove.space import seen_by

TRIES = 400
MOST_ACTS = 6
AFTERWARDS = 60
"""For how many gt after the last action the two are compared."""
GAPS = (1, 2, 3, 4, 6, 8, 12, 16, 24, 40)
"""How many gt lie between two actions."""

Shown = tuple[tuple[Act, ...], int]
"""What is done, and the gt by which something is seen to differ."""


def seen(circuit: Circuit) -> list[str]:
    """What can be seen of a circuit from outside: its outputs and lamps; without any, every part but inputs."""
    lamps = [part.name for part in circuit.by_name.values() if part.indicates]
    found = dict.fromkeys([*(output.source for output in circuit.own_outputs), *lamps])
    return list(found) or [name for name, part in circuit.by_name.items() if not part.verbs]


def alike(one: Circuit, other: Circuit) -> bool:
    """Whether two circuits are wired to the same effect: the same devices, each of whose ports feels the same.

    What is lost on the way counts only at a port that feels levels, or where it swallows a full signal.
    """
    first, second = Program(one), Program(other)
    if first.moving and one.drawing != other.drawing:
        return False
    if [device.part for device in first.devices] != [device.part for device in second.devices]:
        return False
    probes = [(program.probe(name) for name in seen(one)) for program in (first, second)]
    felt = [
        [*(_felt(program, feeds, port.boolean) for port, feeds in zip(program.ports, program.feeds, strict=True))]
        for program in (first, second)
    ]
    return (
        felt[0] == felt[1] and first.straight == second.straight and _lit(first, probes[0]) == _lit(second, probes[1])
    )


def asked_alike(study: Study, other: Circuit) -> bool:
    """Whether all that is asked of a circuit sees the same of another that is alike, whatever is done."""
    first, second = Program(study.circuit), Program(other)
    bodies = [*study.claims, *(claim for check in study.checks for claim in check.throughout)]
    if not all(isinstance(claim.body, Watched) for claim in bodies):
        return False
    asked = [condition for claim in bodies for condition in conditions(claim.body)]
    asked += [expectation.condition for check in study.checks for expectation in check.expectations]
    return all(seen_by(atom, first) == seen_by(atom, second) for each in asked for atom in atoms(each))


def _felt(program: Program, feeds: tuple[tuple[int, int], ...], boolean: bool) -> tuple[tuple[int, int], ...]:
    graded = any(program.devices[source].part.graded for source, _ in feeds)
    return tuple((source, 0) for source, _ in feeds) if boolean and not graded else feeds


def _lit(program: Program, probes: Iterator[tuple[tuple[int, int], ...]]) -> list[tuple[tuple[int, int], ...]]:
    return [_felt(program, feeds, boolean=True) for feeds in probes]


def stimulus(one: Circuit, other: Circuit, assumptions: Sequence[Assumption]) -> Shown | None:
    """What is to be done so that something is seen to differ; None if nothing that was tried shows it."""
    pair = _Pair(one, other)
    if not list(one.inputs):
        at = pair.differ(())  # nothing can be done to it but to wait
        return None if at is None else ((), at)
    chance = random.Random(len(one.parts))
    for _ in range(TRIES):
        acts = _hands(one, chance, assumptions)
        at = pair.differ(acts) if acts else None
        if at is not None:
            return _shortened(pair, acts, at, assumptions)
    return None


def _hands(circuit: Circuit, chance: random.Random, assumptions: Sequence[Assumption]) -> tuple[Act, ...]:
    """A few actions at random that keep to what is assumed."""
    inputs = list(circuit.inputs)
    apart = [each.at_least if isinstance(each, Holding) else each.within for each in assumptions]
    acts: list[Act] = []
    at = 0
    for _ in range(chance.randint(1, MOST_ACTS)):
        part = chance.choice(inputs)
        verb = "throw" if "throw" in part.verbs else chance.choice(sorted(part.verbs))
        acts.append(Act(at, part.name, verb, chance.randint(0, 15) if verb == "is" else 0, NOWHERE))
        at += chance.choice((*GAPS, *apart))
    return tuple(acts) if _keeps(acts, assumptions) else ()


def _keeps(acts: Sequence[Act], assumptions: Sequence[Assumption]) -> bool:
    return allowed(Check("", tuple(acts), (), (), 0, NOWHERE), assumptions)


def _shortened(pair: _Pair, acts: tuple[Act, ...], at: int, assumptions: Sequence[Assumption]) -> Shown:
    """The same without actions that it does not take."""
    place = 0
    while place < len(acts):
        fewer = (*acts[:place], *acts[place + 1 :])
        sooner = pair.differ(fewer) if fewer and _keeps(fewer, assumptions) else None
        if sooner is None:
            place += 1
        else:
            acts, at = fewer, sooner
    return tuple(act for act in acts if act.at <= at), at


class _Pair:
    """Two circuits side by side."""

    def __init__(self, one: Circuit, other: Circuit) -> None:
        self._meant = _Kept.of(one)
        self._other = _Side(Program(other), seen(one))

    def differ(self, acts: Sequence[Act]) -> int | None:
        """The gt by which something is seen to differ for sure; None if it never is, or can't be followed."""
        until = (acts[-1].at if acts else 0) + AFTERWARDS
        try:
            runs = (self._meant.run(acts, until), self._other.run(acts, until))
            for at, (mine, others) in enumerate(zip(*runs, strict=True)):
                if mine.isdisjoint(others):
                    return at
        except OutOfWork:
            raise
        except (TooManyStarts, TooManyOrders, Undecided):
            return None
        return None


class _Side:
    """One of them. What comes of gt 0 is computed once, whatever is done from then on."""

    def __init__(self, program: Program, names: Sequence[str]) -> None:
        self._program = program
        self._probes = [program.probe(name) for name in names]
        self._begun: list[Simulator] | None = None

    def _begin(self) -> list[Simulator]:
        if self._begun is None:
            told = (Simulator(self._program, 0, start.levels).tell_everyone() for start in starts(self._program))
            self._begun = merge(simulator for each in told for simulator in each)
        return [simulator.copy() for simulator in self._begun]

    def run(self, acts: Sequence[Act], until: int) -> Iterator[frozenset[tuple[bool, ...]]]:
        """Everything that can be seen at the end of each gt."""
        by_time: dict[int, list[Action]] = {}
        for act in acts:
            by_time.setdefault(act.at, []).append(Action(self._program.number[act.name], act.verb, act.level))
        simulators = self._begin()
        shown: frozenset[tuple[bool, ...]] = frozenset()
        for at in range(until + 1):
            actions = by_time.get(at, ())
            if actions or at == 0 or any(simulator.next_due() == at for simulator in simulators):
                for simulator in simulators:
                    simulator.now = at
                simulators = merge(run_game_tick(simulators, actions))
                shown = frozenset(tuple(read(feeds, each.levels) > 0 for feeds in self._probes) for each in simulators)
            yield shown


class _Kept:
    """What a circuit shows, kept from one other circuit to the next: the same is tried on each. It counts as done
    again, so that work does not depend on which process does it."""

    _latest: ClassVar[_Kept | None] = None

    def __init__(self, circuit: Circuit) -> None:
        self._circuit = circuit
        self._side = _Side(Program(circuit), seen(circuit))
        self._runs: dict[tuple[tuple[Act, ...], int], tuple[list[frozenset[tuple[bool, ...]]], int]] = {}

    @classmethod
    def of(cls, circuit: Circuit) -> _Kept:
        """That of a circuit; of the latest one it is kept."""
        if cls._latest is None or cls._latest._circuit != circuit:
            cls._latest = cls(circuit)
        return cls._latest

    def run(self, acts: Sequence[Act], until: int) -> Sequence[frozenset[tuple[bool, ...]]]:
        """Everything that can be seen at the end of each gt."""
        key = (tuple(acts), until)
        if key in self._runs:
            shown, spent = self._runs[key]
            work.count(spent)
        else:
            begun = work.done()
            shown = list(self._side.run(acts, until))
            self._runs[key] = shown, work.done() - begun
        return shown
