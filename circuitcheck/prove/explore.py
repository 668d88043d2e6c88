"""Explores every state that a circuit with its watches and its world can come to, nearest first.

The step is the engine's own (`engine.step`), one gt at a time, over all that the world may do and all open orders. As
what comes nearest is met first, the first way found to break a claim is a shortest one. Two reductions, both general:

* Only the parts upstream of what a claim speaks of are explored. No other part ever tells one of these anything, so
  their runs are the same without it.
* The level of a lever that is only watched by detectors is left out of what makes two states different: a detector
  answers to a change in either direction alike, so that swapping on and off changes nothing that a claim can see.

Burn-out is left out: its history would make the states many times more. What holds is said to hold until a torch burns
out.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, replace

from circuitcheck.checks.watches import Broken, Watch, watch
from circuitcheck.checks.watches import State as WatchState
from circuitcheck.engine.machine import Machine
from circuitcheck.engine.moment import Moment, Order, State
from circuitcheck.engine.record import Recording, record
from circuitcheck.engine.start import Start, starts
from circuitcheck.engine.step import Action, Outcome, step
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import EDGES, Assumption, Claim, Delay, Steady, atoms, conditions
from circuitcheck.model.parts.latch import Latch
from circuitcheck.model.parts.lever import Lever
from circuitcheck.prove.world import World, WorldState

USUAL_BUDGET = 100_000
"""How many states are looked at for one claim before it is left undecided."""


@dataclass(frozen=True, slots=True)
class Counterexample:
    """A shortest way to break a claim."""

    at: int
    """The gt in which the claim was broken."""
    actions: tuple[tuple[int, Action], ...]
    recording: Recording


@dataclass(frozen=True, slots=True)
class Proof:
    """What exploring came to for one claim: proved if nothing broke it and all was seen."""

    claim: Claim
    states: int
    depth: int
    """How many gt away the farthest state is."""
    complete: bool
    """Whether everything that can be reached was seen."""
    triggered: bool
    """Whether what the claim speaks of ever came up."""
    counterexample: Counterexample | None
    torches: bool
    """Whether there are torches upstream that could burn out."""


@dataclass(frozen=True, slots=True)
class _Node:
    state: State
    before: bytes
    watched: WatchState
    world: WorldState
    parent: int
    actions: tuple[Action, ...]
    orders: tuple[Order, ...]
    start: Start


def prove(
    circuit: Circuit,
    claim: Claim,
    assumptions: Sequence[Assumption] = (),
    budget: int = USUAL_BUDGET,
    grown: Callable[[int], None] = lambda states: None,
) -> Proof:
    """Explores all that matters to a claim. `grown` is told the number of states now and then.

    Raises TooManyStarts, TooManyOrders and TooMuch.
    """
    return _Exploration(upstream(circuit, claim), claim, assumptions, budget, grown).run()


def upstream(circuit: Circuit, claim: Claim) -> Circuit:
    """The parts that can have a say in a claim, under rules without burn-out."""
    names = {atom.name for condition in conditions(claim.body) for atom in atoms(condition)}
    latches = {latch.inverse for name in names if (latch := circuit.latches.get(name))}
    kept = set(circuit.upstream([*names, *latches]))
    parts = tuple(
        part
        for part in circuit.parts
        if (part.name in kept and not isinstance(part, Latch)) or (isinstance(part, Latch) and part.name in names)
    )
    return replace(circuit, parts=parts, outputs=(), rules=replace(circuit.rules, burn_out_window=0))


class _Exploration:
    def __init__(
        self,
        circuit: Circuit,
        claim: Claim,
        assumptions: Sequence[Assumption],
        budget: int,
        grown: Callable[[int], None],
    ) -> None:
        self._claim = claim
        self._machine = Machine(circuit)
        self._world = World(self._machine, assumptions)
        self._watch: Watch = watch(claim, self._machine)
        self._budget = budget
        self._grown = grown
        self._nodes: list[_Node] = []
        self._seen: set[Hashable] = set()
        self._hidden = self._only_watched()
        self._edges = self._felt_before()
        self._memo: dict[tuple[State, tuple[Action, ...]], tuple[Outcome, ...]] = {}

    def _only_watched(self) -> list[int]:
        """Levers whose level nothing can tell but by its changes."""
        machine = self._machine
        spoken_of = {atom.name for condition in conditions(self._claim.body) for atom in atoms(condition)}
        return [
            number
            for number, device in enumerate(machine.devices)
            if isinstance(device.part, Lever)
            and device.part.name not in spoken_of
            and all(machine.ports[r.port].watches and len(r.feeds) == 1 and r.felt for r in machine.readers[number])
        ]

    def _felt_before(self) -> list[int]:
        """Devices whose level in the gt before a claim can tell, because it asks for an edge of them."""
        body = self._claim.body
        asked = [atom.name for condition in conditions(body) for atom in atoms(condition) if atom.test in EDGES]
        asked += [body.name] if isinstance(body, Steady) else []
        asked += [body.start.name, body.end.name] if isinstance(body, Delay) else []
        return sorted({source for name in asked for source, _ in self._machine.probe(name)})

    def run(self) -> Proof:
        broken = None
        for start in starts(self._machine):
            for moment in Moment(self._machine, 0, start.levels).tell_everyone():
                broken = broken or self._meet(
                    moment.freeze(), start.levels, self._watch.start(), self._world.start(), -1, (), start, 0, ()
                )
        layer = list(range(len(self._nodes)))
        depth = 0
        while layer and broken is None and len(self._nodes) < self._budget:
            depth += 1
            first = len(self._nodes)
            for number in layer:
                broken = broken or self._follow(number, depth)
                if broken is not None or len(self._nodes) >= self._budget:
                    break
            self._grown(len(self._nodes))
            layer = list(range(first, len(self._nodes)))
        complete = broken is None and not layer
        torches = any(device.part.word == "torch" for device in self._machine.devices)
        return Proof(self._claim, len(self._nodes), depth, complete, self._watch.triggered, broken, torches)

    def _follow(self, number: int, depth: int) -> Counterexample | None:
        node = self._nodes[number]
        for actions, world in self._world.choices(node.world, node.state.levels, node.state.marks):
            for outcome in step(self._machine, node.state, actions):
                broken = self._meet(
                    outcome.state,
                    node.state.levels,
                    node.watched,
                    world,
                    number,
                    actions,
                    node.start,
                    depth,
                    outcome.orders,
                )
                if broken is not None:
                    return broken
        return None

    def _meet(
        self,
        state: State,
        before: bytes,
        watched: WatchState,
        world: WorldState,
        parent: int,
        actions: tuple[Action, ...],
        start: Start,
        at: int,
        orders: tuple[Order, ...],
    ) -> Counterexample | None:
        """Looks at a state with the watch; keeps it if it is new, and tells a way to it if it breaks the claim."""
        after = self._watch.step(watched, at, 1, state.levels, before)
        node = _Node(state, before, after, world, parent, actions, orders, start)
        if isinstance(after, Broken):
            return self._counterexample(node, after.at)
        levels = bytearray(state.levels)
        for lever in self._hidden:
            levels[lever] = 0
        felt = bytes(state.levels[device] for device in self._edges)
        key = (bytes(levels), state.marks, state.waits, felt, after, world)
        if key not in self._seen:
            self._seen.add(key)
            self._nodes.append(node)
        return None

    def _counterexample(self, node: _Node, at: int) -> Counterexample:
        way = [node]
        while way[-1].parent >= 0:
            way.append(self._nodes[way[-1].parent])
        way.reverse()
        actions = tuple((time, action) for time, each in enumerate(way) for action in each.actions)
        script = [order.devices for each in way for order in each.orders]
        recording = record(self._machine, node.start.levels, actions, script, len(way) + 8)
        return Counterexample(at, actions, recording)
