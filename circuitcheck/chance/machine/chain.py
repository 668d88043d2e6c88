"""The machine and its cells as one Markov chain: states, what a gt makes of them, and with what chance.

A gt has two halves (rule C2). In the first, waits that are over act; it is the engine's own step, and what comes of it
is certain. In the second, cells are drawn; then, where things move, pistons start and what is due lands. Both are
computed by the engine once for each state and looked up from then on. States that differ by exchanging like cells are
one (`machine.units`). A chain that is not `whole` has only what the watched signals can depend on.

Torches are taken never to burn out (rule T4). Where an order is open (rule C5) the first is taken, and counted: whoever
uses a chain says so.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import ClassVar, NamedTuple

from circuitcheck.chance.light.in_reach import upstream
from circuitcheck.chance.machine.draws import Drawn, Draws
from circuitcheck.chance.machine.joint import NEGLIGIBLE, Changed, TooLarge
from circuitcheck.chance.machine.units import Mark, Marks, Unit, Units
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import PortDrivers, Program, read
from circuitcheck.engine.simulator import Simulator, restore
from circuitcheck.engine.start import the_start
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, TooManyStates, act, run_game_tick
from circuitcheck.engine.work import Undecided
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.rules import NO_BURN_OUT

MOST_WORK = 1_000_000
"""How many states, times the devices of the circuit, are computed before it is called too large to be followed."""
MOST_OUTCOMES = 200_000
"""How many outcomes of draws are usually computed."""
MOST_ORDERS = 1_000
"""How many orders of cells that change in one gt are looked at side by side."""
MOST_WALKED = 1_000_000
"""How many states are met on the way through many days before a circuit is called too large for that."""


def _only(program: Program, names: Container[str]) -> Program:
    """A machine with only the devices of these names, which no others feed; a piston stays beside its block.

    Where things move, any device may come to feed any, and none is left out.
    """
    if program.moving:
        return program
    kept = {number for number, name in enumerate(program.names) if name in names}
    kept |= {number + program.devices[number].beside for number in kept}
    return Program.cut(program, sorted(kept), ())


def quiet_program(circuit: Circuit) -> Program:
    """The program of a circuit whose torches never burn out."""
    return Program(replace(circuit, rules=replace(circuit.rules, burn_out_window=NO_BURN_OUT)))


@contextmanager
def small_enough() -> Iterator[None]:
    """What has too many open orders to be followed is too large for a chain as well."""
    try:
        yield
    except (Undecided, TooManyOrders):
        raise TooLarge("it has too many open orders (C5)") from None


class Closer(NamedTuple):
    """How a machine is followed at last that nearly was followed closely enough, and the room that it gets for that."""

    rare: float
    """A turn of a passage that is rarer than this is left out."""
    faint: float
    """A state that holds less probability than this is left out."""
    at_once: float
    """Where more than this was left out, nothing less close is tried any more."""
    most_left_out: float
    """Where more than this was left out before, it would be in vain."""
    times_the_states: int
    """By how many times it may have more states than were allowed before."""
    most_outcomes: int
    """How many outcomes of draws may be computed."""
    most_steps: int
    """How often probability may be taken from one state to the next."""


class Closeness(NamedTuple):
    """How closely a chain is followed: what is rarer is left out, and its probability is added up."""

    faint: float = 1e-12
    """A state that holds less probability than this is left out."""
    faintest: float = 1e-12
    """The same where nearly all is so already, and what is faint would be much of the little that is in question."""
    rare: tuple[float, ...] = (1e-10,)
    """A turn of a passage that is rarer than this, once the passage has begun, is left out; the coarsest first."""
    negligible: float = NEGLIGIBLE
    """An outcome of one gt that is rarer than this is left out."""
    most_steps: int = 1_000_000
    """How often probability is taken from one state to the next, gt by gt, before a machine is called too large."""
    steps_of_engine: int = 50
    """How many such steps it counts as to have the engine find out where one of them leads."""
    most_outcomes: int = MOST_OUTCOMES
    """How many outcomes of draws are computed before a circuit is called too large to be followed everywhere."""
    most_unasked: float = 0.0
    """What takes the engine longest is left out as long as it comes to no more than this in all."""
    most_left_out: float = 1e-3
    """Where more than this would be left out of what is in question, days are sampled instead."""
    most_sampled: int = 2_000_000
    """After so many gt in which anything went on, times the devices of the circuit, no further day is sampled."""
    most_outcomes_sampled: int = MOST_OUTCOMES
    """After so many outcomes of draws no further day is sampled."""
    most_asked_sampled: int = 1_000_000
    """After so many questions to the engine no further day is sampled."""
    few_states: int = 0
    """A machine that has come to no more states than this is followed more closely, as that costs little."""
    closest: Closer | None = None
    """How one that leaves out too much otherwise is followed at last."""


class Chain:
    """The states of one circuit under chance, numbered from 0 as they are met."""

    closeness: ClassVar[Closeness] = Closeness()

    def __init__(
        self,
        circuit: Circuit,
        watched: Sequence[str],
        most_states: int = 0,
        whole: bool = True,
        program: Program | None = None,
    ) -> None:
        """Begins a chain; raises `TooLarge` past `most_states`, where 0 stands for as many as the usual work allows.

        `program` is that of the whole circuit without burn-out, if it is known.
        """
        program = program or quiet_program(circuit)
        self.program = program = program if whole else _only(program, upstream(program.circuit, watched))
        self._probes: dict[str, PortDrivers] = {name: program.probe(name) for name in watched}
        self.units = Units(program, self._probes.values())
        self.draws = Draws(program, self.units, self.closeness.negligible)
        self.open_orders: set[tuple[int, Changed | None]] = set()
        """Where an order was open and the first was taken: a state and what changed, None in a first half."""
        self._most_outcomes = self.closeness.most_outcomes if not most_states else None
        self.most_steps = self.closeness.most_steps
        """How often probability may be taken from one state to the next before it is called too large."""
        self._most_states = most_states or MOST_WORK // len(program.devices) + 1
        self._numbers: dict[State, int] = {}
        self._states: list[State] = []
        self.states: Sequence[State] = self._states
        self.levels: dict[str, list[int]] = {name: [] for name in watched}
        """For each watched signal, its level in each state."""
        self.resting: list[bool] = []
        """For each state, whether nothing waits in it."""
        self._waited: list[int] = []
        self._marks: list[Marks] = []
        self._after: dict[tuple[int, Changed], int] = {}
        self._drawn: dict[tuple[int, int], Drawn] = {}
        self._turns: dict[tuple[int, Changed | None], Sequence[int]] | None = None
        self._distinct_turns: dict[tuple[int, ...], tuple[int, ...]] = {}

    def keep_turns(self) -> None:
        """From here on it is kept which like devices change places where; call it before anything is followed."""
        self._turns = {}

    @property
    def keeps_turns(self) -> bool:
        """Whether that is kept."""
        return self._turns is not None

    def like(self, number: int) -> Iterator[tuple[tuple[Unit, ...], tuple[Mark, ...]]]:
        """The groups of units that can be exchanged, with what a state says of each: those of one mark are alike."""
        return zip(self.units.groups, self._marks[number], strict=True)

    def turn(self, number: int, changed: Changed | None) -> Sequence[int] | None:
        """Where each device is moved to in the state behind this one; `changed` is None for a first half."""
        return None if self._turns is None else self._turns.get((number, changed))

    def give_room(self, closer: Closer) -> None:
        """From here on it may have as many states and outcomes as that allows."""
        self._most_states *= closer.times_the_states
        self._most_outcomes, self.most_steps = closer.most_outcomes, closer.most_steps

    def start(self) -> int:
        """The state at the end of gt 0. Raises ManyStarts and TooManyStarts."""
        return self._first(self._begun(), (0, None))

    def first_state(self) -> State:
        """The same with every cell in its own place. Raises ManyStarts and TooManyStarts."""
        return self._begun()[0].snapshot()

    def _begun(self) -> list[Simulator]:
        return Simulator(self.program, 0, the_start(self.program).levels).tell_everyone()

    def waited(self, number: int) -> int:
        """The state after the first half of the next gt: waits that are over have acted."""
        known = self._waited[number]
        if known < 0:
            simulator = restore(self.program, self.states[number], -1)
            simulator.now = 0
            with small_enough():
                simulators = simulator.run_waits() if self.program.moving else run_game_tick([simulator], ())
            known = self._waited[number] = self._first(simulators, (number, None))
        return known

    def drawn(self, number: int, changed: Changed) -> int:
        """The state after the second half: these cells have changed, all others have not."""
        if not changed and not self._strokes_due(number):
            return number
        key = (number, changed)
        known = self._after.get(key)
        if known is None:
            with small_enough():
                simulators = self._in_every_order(number, changed)
                if self.program.moving:
                    simulators = [later for each in simulators for later in each.run(each.now)]
            known = self._after[key] = self._first(simulators, key)
        return known

    def _strokes_due(self, number: int) -> bool:
        """Whether a piston starts or something lands in a gt behind its first half, whatever is drawn."""
        waits = self.states[number].waits
        return self.program.moving and bool(waits) and waits[0][0] == 0

    def _in_every_order(self, number: int, changed: Changed) -> list[Simulator]:
        """Everything that can come of some cells changing one by one. Of like cells any order is as good as another."""
        kinds = list(self.units.exchangeable(self._marks[number], changed))
        begun = restore(self.program, self.states[number], 0)
        front: dict[tuple[tuple[int, ...], State | None], Simulator] = {((0,) * len(kinds), None): begun}
        for _ in changed:
            later: dict[tuple[tuple[int, ...], State | None], Simulator] = {}
            for (done, _state), simulator in front.items():
                for kind, cells in enumerate(kinds):
                    if done[kind] == len(cells):
                        continue
                    more = (*done[:kind], done[kind] + 1, *done[kind + 1 :])
                    branch = simulator if len(kinds) == 1 else simulator.copy()
                    for after in act([branch], [Action(cells[done[kind]], "throw")]):
                        state = None if len(kinds) == 1 else self.units.in_order(after.snapshot()).state
                        later.setdefault((more, state), after)
            if len(later) > MOST_ORDERS:
                raise TooManyStates
            front = later
        return list(front.values())

    def chances(self, number: int, sky: int) -> Drawn:
        """What can be drawn in a state after its first half, under a sky that stands for all alike."""
        key = (number, sky)
        known = self._drawn.get(key)
        if known is None:
            state = self.states[number]
            known = self._drawn[key] = self.draws.of(state.levels, self._marks[number], sky)
            if self._most_outcomes is not None and self.draws.outcomes > self._most_outcomes:
                raise TooLarge("what can be drawn has too many outcomes")
        return known

    @property
    def asked(self) -> int:
        """About how often the engine was asked what becomes of a state."""
        return len(self.states)

    def is_worth(self, number: int, changed: Changed, chance: float) -> bool:
        """Whether to find out where it leads that cells change in the gt behind a state, which has some probability."""
        return True

    def met(self) -> dict[int, set[int]]:
        """For each state, those that the next gt led to as far as it was followed."""
        drawn: dict[int, set[int]] = {}
        for (middle, _), after in self._after.items():
            drawn.setdefault(middle, set()).add(after)
        waited = ((number, middle) for number, middle in enumerate(self._waited) if middle >= 0)
        return {number: {middle, *drawn.get(middle, ())} for number, middle in waited}

    def was_open(self, number: int, changed: Changed) -> bool:
        """Whether an order was open in the gt behind a state, if these cells change in it."""
        return bool(self.open_orders) and (
            (number, None) in self.open_orders or (self._waited[number], changed) in self.open_orders
        )

    def _first(self, simulators: list[Simulator], origin: tuple[int, Changed | None]) -> int:
        """The number of the first of what may follow; that there was more is kept in mind."""
        least = self.units.in_order(simulators[0].snapshot())
        if any(self.units.in_order(simulator.snapshot()).state != least.state for simulator in simulators[1:]):
            self.open_orders.add(origin)
        if self._turns is not None:
            self._turns.pop(origin, None)
            if least.turn is not None:
                turn = tuple(least.turn)
                self._turns[origin] = self._distinct_turns.setdefault(turn, turn)
        state = least.state
        number = self._numbers.get(state)
        if number is None:
            if len(self.states) >= self._most_states:
                raise TooLarge(f"it has more than {self._most_states:,} states")
            number = self._numbers[state] = len(self.states)
            self._states.append(state)
            self._marks.append(least.marks)
            for name, feeds in self._probes.items():
                self.levels[name].append(read(feeds, state.levels))
            self.resting.append(not state.waits)
            self._waited.append(number if not state.waits else -1)
        return number
