"""A machine in which things move, without its cells: what stands still or moves, whatever is grown or bare.

Of a cell nothing feels but that it changes: that is checked of each wiring. So what a gt makes of all the rest depends
on which cells change in it, and not on which are grown. All the rest is a *core*; the engine computes what becomes of
it once, and it serves every state of the cells.

Where an order is open (rule C5) a core has all states that it may have come to, side by side, as long as nobody can
tell them from each other: what is watched, and what the light depends on, is the same in all of them. Two pistons that
start in one gt come to the same in either order; as soon as they have landed, the core has one state again. Only where
two of its states come to differ in what can be seen is an order truly open: then the first is followed, and the step is
kept in `open`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from circuitcheck.chance.machine.alike import NotAlike
from circuitcheck.chance.machine.any_order import AnyOrder
from circuitcheck.chance.machine.calls_alike import Asked, CallsAlike, all_went_out
from circuitcheck.chance.machine.exchange import Classes, Exchange, Turn
from circuitcheck.chance.machine.joint import Changed, TooLarge
from circuitcheck.chance.machine.unfelt_looks import UnfeltLooks
from circuitcheck.engine.program import PortDrivers, Program, read
from circuitcheck.engine.simulator import Simulator, restore
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, act
from circuitcheck.engine.wiring import Wiring
from circuitcheck.model.parts.waits import CALLED
from circuitcheck.model.unsure import also, collected
from circuitcheck.space.configuration import Configuration

MOST_SIDE_BY_SIDE = 24
"""How many states a core may have; more orders than these come to are open."""

FEW = 4
"""One in so many are few."""

Seen = tuple[int, ...]
"""What can be seen of a state: the levels of what is watched, and of what the light depends on."""


class Led(NamedTuple):
    """What a step of a core leads to."""

    core: int
    turns: tuple[Turn, ...]
    """How the units of each group change their slots by it (`machine.exchange`)."""


class Cores:
    """The cores of one machine, numbered from 0 as they are met."""

    def __init__(
        self,
        program: Program,
        cells: Iterable[int],
        seen: Sequence[PortDrivers],
        exchange: Exchange | None,
        in_any_order: bool = True,
    ) -> None:
        """`in_any_order`: which of a row is called first is not told apart (`machine.any_order`); NotAlike is raised
        where it can be seen."""
        self._program = program
        self._exchange = exchange
        self._cells = tuple(cells)
        self._seen = tuple(seen)
        self.most = 0
        """How many there may be, as whoever follows them says; TooLarge is raised past them."""
        self.states: list[tuple[State, ...]] = []
        """The states that each may have; the first stands for all."""
        self.classes: list[tuple[Classes, ...]] = []
        """Which slots of each group have units that are alike."""
        self.open: set[tuple[int, Changed | None]] = set()
        """The steps behind which an order is open: a core and what changed, None before the draws."""
        self._numbers: dict[frozenset[State], int] = {}
        self._waited: dict[int, Led] = {}
        self._drawn: dict[tuple[int, Changed], Led] = {}
        self._ends: dict[tuple[State, Changed], list[State]] = {}
        """What second halves come to in which no water waits that nobody feels (`machine.unfelt_looks`)."""
        self._looks = UnfeltLooks(program.motion)
        self._orders = AnyOrder(program) if in_any_order else None
        self._calls = CallsAlike(program, self._looks.still) if in_any_order else None
        self._opened: set[int] = set()
        """The cores with strokes to land of which the order was known, and was opened."""
        self._heard: dict[Wiring, tuple[int, ...]] = {}
        self._relied: dict[object, frozenset[str]] = {}
        """The rules that are not certain and that what is kept came to (V6): whoever it serves depends on them too."""

    def has_room(self, most: int) -> bool:
        """Whether but few of as many as there may be have been met."""
        return len(self.states) * FEW < most

    @property
    def asked(self) -> int:
        """How often the engine was asked for the second half of a gt, which is what takes the time."""
        return len(self._ends)

    def begun(self, simulators: Iterable[Simulator]) -> Led:
        """The core that a machine starts with."""
        return self._numbered([simulator.snapshot() for simulator in simulators], (0, None))

    def waited(self, core: int) -> Led:
        """The core behind the waits that are over in the next gt: before the draws, and before pistons start."""
        known = self._waited.get(core)
        if known is not None:
            self._depends(core)
            return known
        with collected() as relied:
            after = [later for state in self.states[core] for later in self._waits_over(state)]
            known = self._waited[core] = self._numbered(after, (core, None))
        self._came_to(core, relied)
        return known

    def drawn(self, core: int, changed: Changed) -> Led:
        """The core at the end of the gt, if these cells change in it: pistons have started, what was due has landed."""
        key = (core, changed)
        known = self._drawn.get(key)
        if known is not None:
            self._depends(key)
            return known
        with collected() as relied:
            after = [later for state in self.states[core] for later in self._ended(state, changed)]
            known = self._drawn[key] = self._numbered(after, key)
        self._came_to(key, relied)
        return known

    def is_known(self, core: int, changed: Changed) -> bool:
        """Whether the same has been asked for before."""
        return (core, changed) in self._drawn

    def _came_to(self, key: object, relied: set[str]) -> None:
        if relied:
            self._relied[key] = frozenset(relied)

    def _depends(self, key: object) -> None:
        if key in self._relied:
            also(self._relied[key])

    def _waits_over(self, state: State) -> list[State]:
        if not state.waits:
            return [state]
        if not state.ties.descents and all(to_go > 1 or order >= CALLED for to_go, order, _ in state.waits):
            return [state.later(0)]
        simulator = restore(self._program, state, -1, kept=False)
        simulator.now = 0
        return [each.snapshot() for each in simulator.run_waits()]

    def _ended(self, state: State, changed: Changed) -> list[State]:
        if not changed and all(to_go > 0 for to_go, _, _ in state.waits):
            return [state]
        alone = self._looks.without(state)
        asked = Asked(changed, None) if self._calls is None else self._calls.instead_of(alone, changed)
        known = self._ends_of(alone, asked.changed)
        if asked.goes_out is not None and not all_went_out(asked.goes_out, known):
            known = self._ends_of(alone, changed)
        return [self._looks.beside(each, state) for each in known]

    def _ends_of(self, state: State, changed: Changed) -> list[State]:
        """What the second half of a gt comes to, in which no water waits that nobody feels."""
        key = (state, changed)
        known = self._ends.get(key)
        if known is not None:
            self._depends(key)
            return known
        with collected() as relied:
            simulators = [restore(self._program, state, 0, kept=False)]
            simulators = act(simulators, [Action(cell, "throw") for cell in changed])
            ended = (later.snapshot() for simulator in simulators for later in simulator.run(0))
            known = self._ends[key] = list(map(self._looks.lone, ended))
        self._came_to(key, relied)
        return known

    def _numbered(self, states: Iterable[State], origin: tuple[int, Changed | None]) -> Led:
        """The core with these states, as far as nobody can tell them from the first."""
        lone = [self._looks.lone(self._without_cells(state)) for state in states]
        found = lone if self._orders is None else list(map(self._orders.opened, lone))
        opened = found != lone or origin[0] in self._opened
        found = list(dict.fromkeys(found))
        if len(found) > 1:
            seen = self._seen_of(found[0])
            alike = [state for state in found if self._seen_of(state) == seen][:MOST_SIDE_BY_SIDE]
            if len(alike) < len(found):
                if origin[0] in self._opened:
                    raise NotAlike
                self.open.add(origin)
                found = alike
        turns: tuple[Turn, ...] = ()
        classes: tuple[Classes, ...] = ()
        if self._exchange is not None:
            found, turns, classes = self._exchange.turned(found)
        key = frozenset(found)
        number = self._numbers.get(key)
        if number is None:
            if len(self.states) >= self.most:
                raise TooLarge(f"it has more than {self.most:,} states beside its cells")
            number = self._numbers[key] = len(self.states)  # whoever follows it next may have more room
            self.states.append(tuple(found))
            self.classes.append(classes)
        if opened and any(state.ties.descents for state in self.states[number]):
            self._opened.add(number)
        return Led(number, turns)

    def _seen_of(self, state: State) -> Seen:
        return tuple(read(feeds, state.levels) for feeds in self._seen)

    def _without_cells(self, state: State) -> State:
        """A state with every cell as if it were bare."""
        levels = state.levels
        if not any(levels[cell] for cell in self._cells):
            return state
        bare, readings = bytearray(levels), bytearray(state.readings)
        for cell in self._cells:
            bare[cell] = 0
        for port in self._ports_of_cells(state.configuration):
            readings[port] = 0
        return state._replace(levels=bytes(bare), readings=bytes(readings))

    def _ports_of_cells(self, configuration: Configuration | None) -> tuple[int, ...]:
        """The ports at which a cell is felt in a configuration; checked is that each feels but that it changes."""
        motion = self._program.motion
        assert motion is not None
        assert configuration is not None
        standing = motion.standing(configuration)
        wiring = standing.wiring
        known = self._heard.get(wiring)
        if known is None:
            found = []
            for cell in self._cells:
                for reader in wiring.readers[cell]:
                    if reader.feeds != ((cell, 0),) or not wiring.ports[reader.port].watches:
                        raise TooLarge("something feels whether a cell is grown, and not only that it changes")
                    found.append(reader.port)
            known = self._heard[wiring] = tuple(found)
        return known
