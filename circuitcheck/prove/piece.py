"""A piece of a circuit run alone by the real engine, gt by gt, with everything it can do written into a table."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from circuitcheck.checks.conditions import Holds, compiled
from circuitcheck.engine import work
from circuitcheck.engine.memory import Memory
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator, restore
from circuitcheck.engine.source import packed
from circuitcheck.engine.state import State, Trail
from circuitcheck.engine.step import Action, run_game_tick
from circuitcheck.model.claims import Atom, Test
from circuitcheck.prove.automaton import Event, Word
from circuitcheck.prove.cut import Plan, ProofScope
from circuitcheck.prove.influence import influence
from circuitcheck.prove.interchange import Arrangement, Interchange, Turns, interchange
from circuitcheck.prove.interleavings import Ranked, interleavings
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.world import Choice, Held, World

if TYPE_CHECKING:
    from circuitcheck.model.drawing import At

BEGAN, CHANGED = 0, 1
MOVES_A_PORT = 1
"""What each port adds to the cost of running a gt, in moves."""


WORK_A_STATE = 10
"""How much of the engine's work is about one state looked at."""


class Deed(NamedTuple):
    """An outside action by name."""

    name: str
    verb: str
    level: int


class Local(NamedTuple):
    """The state of a piece between two gt."""

    state: State
    held: Held
    began: tuple[int, int] | None
    """For the wait that its exit holds: how many gt ago it began, and the class whose turn it was."""


class Move(NamedTuple):
    """One thing that a piece may do in a gt."""

    word: Word
    bits: int
    actions: tuple[Action, ...]
    target: int
    turns: Turns = ()
    """Which of its like units change places by it (`prove.interchange`)."""


class ExitRecorder:
    """Writes down when the exit of a piece begins to wait, and its changes (see `engine.memory.Recorder`)."""

    one_way = False

    def __init__(self, exit_: int) -> None:
        self._exit = exit_

    def began(self, memory: Memory, device: int) -> None:
        """A device has begun a wait."""
        if device == self._exit:
            memory.trail = Trail((BEGAN, memory.order_class, 0), memory.trail)

    def changed(self, memory: Memory, device: int, level: int) -> None:
        """A device is about to change its level."""
        if device == self._exit:
            memory.trail = Trail((CHANGED, memory.order_class, level), memory.trail)

    def stroked(self, memory: Memory, piston: int, rule: str, words: str, left: Sequence[At]) -> None:
        """A piston starts to move, which is no change of a level."""


class Piece:
    """The devices of a plan and the sources that feed them, with a table of all that was asked of it so far."""

    def __init__(
        self, scope: ProofScope, plan: Plan, atoms: Sequence[Atom], busy: int, meter: Meter, lumped: bool = True
    ) -> None:
        """With `lumped`, of states that like units make alike one is kept (`prove.interchange`)."""
        whole = scope.program
        groups = [[twin.exit for twin in group if twin.exit is not None] for group in plan.groups]
        # Where things move there are no cuts, and all that has a say is one piece.
        alone = whole.moving and influence(whole).alone(plan.devices)
        self.program = alone or Program.cut(whole, plan.devices, groups)
        self._whole_numbers = [*groups, *([device] for device in plan.devices)]
        self._sources = len(groups)
        self._exit = None if plan.exit is None else self.program.number[whole.names[plan.exit]]
        self._scribe = None if self._exit is None else ExitRecorder(self._exit)
        self._questions: list[tuple[int, Holds]] = [
            (1 << number, compiled(atoms[number], self.program)) for number in plan.questions
        ]
        self._busy = busy
        self._world = World(self.program, scope.assumptions)
        self._meter = meter
        self._starts = scope.levels
        self._numbers: dict[Local, int] = {}
        self.locals: list[Local] = []
        self._table: dict[tuple[int, tuple[Word, ...], int | None], tuple[Move, ...]] = {}
        self._cost = len(self.program.ports) * MOVES_A_PORT
        self._tied = self._sources_tie(scope, groups)
        self._only_felt = tuple(self._cells_only_felt(scope, atoms)) if whole.moving else ()
        """The cells of which only changes matter: states that differ by their levels alone are one."""
        self.like = self._like_units(scope) if whole.moving and lumped else None
        """The units of which it does not matter which of them did what."""
        named = {atom.name for atom in atoms}
        self._never_asked = [cell for cell in self._only_felt if self.program.names[cell] not in named]

    @staticmethod
    def _sources_tie(scope: ProofScope, groups: Sequence[Sequence[int]]) -> bool:
        matter = scope.program.orders.matter
        return any(
            matter(one[0], None, other[0], None) for place, one in enumerate(groups) for other in groups[place + 1 :]
        )

    def _cells_only_felt(self, scope: ProofScope, atoms: Sequence[Atom]) -> Iterator[int]:
        names = self.program.names
        asked = {atom.name for atom in atoms if atom.test is not Test.CHANGES}
        for number, device in enumerate(self.program.devices):
            if device.part.cell is not None and names[number] not in asked:
                whole = scope.program.number[names[number]]
                if not influence(scope.program).level_matters(whole):
                    yield number

    def _like_units(self, scope: ProofScope) -> Interchange | None:
        names, number = scope.program.names, self.program.number
        asked = {number[names[device]] for question in scope.questions for device, _ in question}
        return interchange(scope.program, self.program, asked, self._world)

    def level(self, local: int) -> int:
        """The level that its exit gives."""
        return 0 if self._exit is None else self.locals[local].state.levels[self._exit]

    def sources_at(self, local: int) -> tuple[int, ...]:
        """The levels of what feeds it."""
        return tuple(self.locals[local].state.levels[: self._sources])

    def starts(self) -> list[Move]:
        """Every state at the end of gt 0, and what is so there."""
        found: dict[Move, None] = {}
        for whole in dict.fromkeys(self._starts):
            drawn = bytearray(max(whole[each] for each in group) for group in self._whole_numbers)
            for cell in self._only_felt:
                drawn[cell] = 0
            levels = bytes(drawn)
            simulator = Simulator(self.program, 0, levels)
            simulator.recorder = self._scribe
            for told in simulator.tell_everyone():
                held = self._world.start()
                alike = self.like.alike(told.snapshot(), held) if self.like else ()
                for choice in self._world.choices(held, told.levels, told.device_state, alike=alike):
                    for after in self._after(told, choice):
                        found[self._move(after, levels, None, choice)] = None
        return list(found)

    def deeds(self, moves: Iterable[Move]) -> list[list[Deed]]:
        """What the world really does for some moves, from a start on: like units change places on the way."""
        names = self.program.names
        arrangement = self.like.arrangement() if self.like else Arrangement(())
        found = []
        for move in moves:
            found.append([Deed(names[arrangement.own(each)], each.verb, each.level) for each in move.actions])
            arrangement.turn(move.turns)
        return found

    @property
    def most_acts(self) -> int:
        """How many of its own inputs may change in one gt."""
        return self._world.most_acts

    def moves(self, local: int, words: tuple[Word, ...], acts: int | None = None) -> tuple[Move, ...]:
        """All that may happen in the gt after a state, its sources changing as told. Raises TooMuch, OverBudget.

        With `acts`, only what takes exactly so many outside actions.
        """
        key = (local, words, acts)
        known = self._table.get(key)
        if known is None:
            found: dict[Move, Move] = {}
            for move in self._work_out(self.locals[local], words, acts):
                found.setdefault(move._replace(turns=()), move)
            known = self._table[key] = tuple(found.values())
        return known

    def moves_within(self, local: int, words: tuple[Word, ...], room: int) -> Iterator[Move]:
        """The moves that take at most `room` outside actions, those with fewer first. Raises TooMuch, OverBudget."""
        for acts in range(min(room, self.most_acts) + 1):
            yield from self.moves(local, words, acts)

    def _work_out(self, local: Local, words: tuple[Word, ...], acts: int | None) -> Iterator[Move]:
        orders = interleavings(words)
        due = {device for to_go, _, devices in local.state.waits if to_go == 1 for device in devices}
        state = local.state
        alike = self.like.alike(state, local.held) if self.like else ()
        idle = self._unheard(state, alike) if self._only_felt else ()
        choices = tuple(self._world.choices(local.held, state.levels, state.device_state, due, acts, alike, idle))
        for order in (orders if self._tied else orders[:1]) if choices else ():
            before = self._begun(state, words, order)
            for choice in choices:
                for after in self._after(before, choice):
                    yield self._move(after, local.state.levels, local.began, choice)

    def _unheard(self, state: State, alike: Iterable[Sequence[int]]) -> frozenset[int]:
        """The cells that nobody is asked about, and whose change comes to nothing in the next gt.

        A run in which one of them changes then is a run in which it does not, with less of what is assumed used up. A
        cell is heard as cells are drawn, which gives no power, so whether one is heard does not depend on which others
        change, but for those that somebody hears as well.
        """
        before = restore(self.program, state)
        before.now = 1
        waited = before.run_waits()
        found = set[int]()
        like = {cell: group[0] for group in alike for cell in group}
        for cell in self._never_asked:
            first = like.get(cell, cell)
            if first in found or (first == cell and all(self._comes_to_nothing(each, cell) for each in waited)):
                found.add(cell)
        return frozenset(found)

    def _comes_to_nothing(self, waited: Simulator, cell: int) -> bool:
        readers = {reader.device for reader in waited.wiring.readers[cell]}
        for other in self._only_felt:
            if other != cell and not readers.isdisjoint(each.device for each in waited.wiring.readers[other]):
                return False
        before = self._without_cells(waited, waited.snapshot())
        after = waited.copy().act_outside(cell, "throw", 0)
        return all(self._without_cells(each, each.snapshot()) == before for each in after)

    def _after(self, before: Simulator, choice: Choice) -> list[Simulator]:
        """Runs one gt; what it costs grows with the piece, with what is done, and with the orders that are open."""
        self._meter.count(1 + len(choice.actions), self._cost)
        begun = work.done()
        after = run_game_tick([before.copy()], choice.actions)
        if self.program.moving:  # orders of strokes, and wirings that are read for the first time, cost more than that
            self._meter.count((work.done() - begun) // WORK_A_STATE)
        if len(after) > 1:
            self._meter.count(len(after) - 1, (len(after) - 1) * self._cost)
        return after

    def _begun(self, state: State, words: tuple[Word, ...], order: tuple[Ranked, ...]) -> Simulator:
        """The simulator before the next gt, with the changes of the sources entered in its calendar.

        Sources come before own devices of their class: where it could matter which comes first there is no cut.
        """
        due: dict[int, list[int]] = {}
        for source, event in order:
            due.setdefault(event.order_class, []).append(source)
        waits = []
        for to_go, order_class, devices in state.waits:
            waits.append((to_go, order_class, (*(due.pop(order_class, ()) if to_go == 1 else ()), *devices)))
        waits += [(1, order_class, tuple(sources)) for order_class, sources in due.items()]
        simulator = restore(self.program, state._replace(waits=tuple(waits)))
        for source, word in enumerate(words):
            if word:
                simulator.device_state[source] = packed([event.level for event in word])
        simulator.now = 1
        simulator.recorder = self._scribe
        return simulator

    def _move(self, after: Simulator, before: bytes, began: tuple[int, int] | None, choice: Choice) -> Move:
        word, stamp = self._shown(after, began)
        levels = after.levels
        state, held, turns = self._without_cells(after, after.snapshot()), choice.held, Turns()
        if self.like is not None:
            state, held, turns = self.like.in_order(state, held)
        local = Local(state, held, stamp)
        number = self._numbers.get(local)
        if number is None:
            number = self._numbers[local] = len(self.locals)
            self.locals.append(local)
        bits = self._busy if local.state.waits else 0
        for bit, holds in self._questions:
            if holds(levels, before):
                bits |= bit
        return Move(word, bits, choice.actions, number, turns)

    def _without_cells(self, simulator: Simulator, state: State) -> State:
        """A state with the levels of the cells of which only changes matter as if they were bare."""
        grown = [cell for cell in self._only_felt if state.levels[cell]]
        if not grown:
            return state
        levels, readings = bytearray(state.levels), bytearray(state.readings)
        for cell in grown:
            levels[cell] = 0
            for reader in simulator.wiring.readers[cell]:
                readings[reader.port] = 0
        return state._replace(levels=bytes(levels), readings=bytes(readings))

    def _shown(self, after: Simulator, began: tuple[int, int] | None) -> tuple[Word, tuple[int, int] | None]:
        """What the exit showed in this gt, and since when it waits now."""
        entries = []
        trail = after.trail
        while trail is not None:
            entries.append(trail.entry)
            trail = trail.before
        word: Word = ()
        stamp = None if began is None else (began[0] + 1, began[1])
        age, phase = stamp or (0, 0)
        for what, order_class, level in reversed(entries):
            if what == CHANGED:
                word = (*word, Event(order_class, age, phase, level))
        latest = next(((0, order_class) for what, order_class, _ in entries if what == BEGAN), stamp)
        waits = self._exit is not None and bool(after.waiting[self._exit])
        return word, latest if waits else None
