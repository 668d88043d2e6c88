"""The engine against the one that stood before it, state for state, on random circuits of every kind of part.

`CIRCUITCHECK_ORACLE=100000 python -m pytest tests/oracle` compares so many circuits instead of a few; `-s` shows the
numbers.
"""

from __future__ import annotations

import os
import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

from circuitcheck.engine.offs import offs_by_torch
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator, restore
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, TooManyStates, merge, run_game_tick, step
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.waits import CALLED

from . import machine as old_machine
from . import moment as old_moment
from . import orders as old_orders
from . import start as old_start
from . import step as old_step
from .parts.base import CALLED as OLD_CALLED
from .random_circuits import random_circuit, random_text

CIRCUITS = int(os.environ.get("CIRCUITCHECK_ORACLE", "0")) or 110
LENGTH = 60
"""How many gt of each circuit are compared, and of every tenth five times as many: an off of a torch counts so long."""
MOST_SIDE_BY_SIDE = 60
"""Where more states than this are possible at one time, a run ends early."""
TOO_LARGE = (TooManyStarts, TooManyOrders, TooManyStates)
OLD_TOO_LARGE = (old_start.TooManyStarts, old_orders.TooManyOrders, old_step.TooManyStates)
Plain = tuple[Any, ...]
Note = tuple[int, int, str]


def length(seed: int) -> int:
    """How many gt of a circuit are compared."""
    return LENGTH if seed % 10 else 5 * LENGTH


class Differ(Exception):
    """The two engines come to different things."""


class TooMany(Exception):
    """More states than a test follows, in both engines alike."""


def plain(state: Any) -> Plain:
    """A state of either engine as plain data: levels, marks, waits, each torch's offs by age, and what is open."""
    ties = (tuple((device, tuple(descent)) for device, descent in state.ties.descents), state.ties.known)
    offs = state.offs
    if not isinstance(state, State):
        device_state = state.marks
    else:
        device_state = state.device_state
        by_torch = sorted(offs_by_torch(0, offs).items())
        offs = tuple((torch, tuple(-at for at in times)) for torch, times in by_torch)
    # The oracle knows no class for looks of water: its called pistons come right behind the waits that are over.
    called = CALLED if isinstance(state, State) else OLD_CALLED
    waits = tuple((to_go, OLD_CALLED if kind == called else kind, devices) for to_go, kind, devices in state.waits)
    return (state.levels, device_state, waits, offs, ties)


def alike(mine: Callable[[], Any], theirs: Callable[[], Any], what: str) -> tuple[Any, Any]:
    """What the two come to. Raises Differ where only one of them gives up, and TooMany where both do."""
    found: list[Any] = []
    for run in (mine, theirs):
        try:
            found.append(run())
        except (*TOO_LARGE, *OLD_TOO_LARGE) as told:
            found.append(type(told).__name__)
    if isinstance(found[0], str) or isinstance(found[1], str):
        if found[0] != found[1]:
            raise Differ(f"{what}: {found[0]!r} and {found[1]!r}"[:400])
        raise TooMany
    return found[0], found[1]


def same(mine: Iterable[Any], theirs: Iterable[Any], what: str) -> None:
    """Raises Differ if two sets of plain things are not the same."""
    one, other = set(mine), set(theirs)
    if one != other:
        raise Differ(f"{what}: only the engine has {one - other}, only the oracle {other - one}")


@dataclass
class Pair:
    """One circuit in both engines, with the states that each is in."""

    circuit: Circuit
    seed: int
    forks: int = 0
    states: list[State] = field(default_factory=list)
    old_states: dict[Plain, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.program, self.old_machine = Program(self.circuit), old_machine.Machine(self.circuit)
        self.random = random.Random(self.seed)

    def begin(self) -> None:
        """Gt 0."""
        mine, theirs = alike(lambda: starts(self.program), lambda: old_start.starts(self.old_machine), "starts")
        same([each.levels for each in mine], [each.levels for each in theirs], "starts")
        notes: list[Note] = []
        old_notes: list[Note] = []
        now, then = alike(
            lambda: merge(
                told
                for start in mine
                for told in Simulator(self.program, 0, start.levels, lambda *note: notes.append(note)).tell_everyone()
            ),
            lambda: old_step.merge(
                told
                for start in theirs
                for told in old_moment.Moment(
                    self.old_machine, 0, start.levels, lambda *note: old_notes.append(note)
                ).tell_everyone()
            ),
            "gt 0",
        )
        same(notes, old_notes, "notes of gt 0")
        self._take([simulator.snapshot() for simulator in now], [moment.freeze() for moment in then], "gt 0")

    def next(self, at: int) -> None:
        """One gt, from each state that is possible."""
        hands = self._hands()
        mine: list[State] = []
        theirs: list[Any] = []
        for state in self.states:
            notes: list[Note] = []
            old_notes: list[Note] = []
            old = self.old_states[plain(state)]
            now, then = alike(
                lambda state=state, notes=notes: step(  # type: ignore[misc]
                    self.program, state, [Action(*hand) for hand in hands], notes=lambda *note: notes.append(note)
                ),
                lambda old=old, notes=old_notes: old_step.step(  # type: ignore[misc]
                    self.old_machine,
                    old,
                    [old_step.Action(*hand) for hand in hands],
                    notes=lambda *note: notes.append(note),
                ),
                f"gt {at}",
            )
            same(notes, old_notes, f"notes of gt {at}")
            same(
                [(plain(each.state), tuple(map(tuple, each.orders))) for each in now],
                [(plain(each.state), tuple(map(tuple, each.orders))) for each in then],
                f"gt {at}",
            )
            mine += [each.state for each in now]
            theirs += [each.state for each in then]
        self._take(mine, theirs, f"gt {at}")

    def _take(self, mine: list[State], theirs: list[Any], what: str) -> None:
        self.states = list(dict.fromkeys(mine))
        self.old_states = {plain(each): each for each in theirs}
        for state in self.states:
            if list(state.readings) != self.program.readings(state.levels):
                raise Differ(f"{what}: the readings of a state are not those of its levels")
        same(map(plain, self.states), self.old_states, what)
        self.forks += len(self.states) > 1
        if len(self.states) > MOST_SIDE_BY_SIDE:
            raise TooMany

    def _hands(self) -> list[tuple[int, str, int]]:
        """What is done in the next gt, by the levels of the first state."""
        if self.random.random() < 0.6:
            return []
        return [
            (number, self.random.choice(sorted(device.part.verbs)), self.random.randrange(16))
            for number, device in enumerate(self.program.devices)
            if device.part.verbs and self.random.random() < 0.4
        ]


def compared(seed: int, circuit: Circuit) -> tuple[int, int]:
    """How many gt were compared, and in how many more than one state was possible. Raises Differ."""
    pair = Pair(circuit, seed)
    done = 0
    try:
        pair.begin()
        for at in range(1, length(seed) + 1):
            pair.next(at)
            done = at
    except TooMany:
        pass
    return done, pair.forks


def test_the_engine_comes_to_the_states_choices_and_notes_of_the_oracle_in_every_gt() -> None:
    """Source: the engine as it stood before its kernel was written anew."""
    game_ticks = forks = refused = 0
    wrong: list[str] = []
    for seed in range(CIRCUITS):
        circuit = random_circuit(seed)
        if circuit is None:
            refused += 1
            continue
        try:
            done, split = compared(seed, circuit)
        except Differ as told:
            wrong.append(f"seed {seed}: {told}\n{random_text(seed)}\n")
            continue
        game_ticks += done
        forks += split
    print(f"\n{CIRCUITS} circuits, {refused} refused, {game_ticks} gt, more than one state in {forks}")
    assert not wrong, "\n".join([f"{len(wrong)} differ", *wrong[:3]])
    assert refused < CIRCUITS * 0.1
    assert game_ticks > CIRCUITS * LENGTH * 0.4
    assert forks > CIRCUITS


def test_a_moment_kept_from_gt_to_gt_comes_to_the_states_of_the_oracle() -> None:
    """The other door: moments that are never frozen on the way, as checks are run."""
    followed = 0
    for seed in range(0, CIRCUITS, 3):
        circuit = random_circuit(seed)
        if circuit is None:
            continue
        program, old = Program(circuit), old_machine.Machine(circuit)
        try:
            mine = merge(restore(program, state) for state in _at_rest(program))
            theirs = [old_moment.thaw(old, _old_state(simulator.snapshot())) for simulator in mine]
            for at in range(1, length(seed) + 1):
                for simulator in mine:
                    simulator.now = at
                for kept in theirs:
                    kept.now = at
                mine, theirs = merge(run_game_tick(mine, ())), old_step.merge(old_step.run_game_tick(theirs, ()))
                states = {plain(simulator.snapshot()) for simulator in mine}
                assert states == {plain(simulator.freeze()) for simulator in theirs}, random_text(seed)
                followed += 1
                if len(states) > MOST_SIDE_BY_SIDE:
                    break
        except (*TOO_LARGE, *OLD_TOO_LARGE):
            continue
    assert followed > CIRCUITS / 3 * LENGTH * 0.3


def _at_rest(program: Program) -> set[State]:
    return {
        told.snapshot() for start in starts(program) for told in Simulator(program, 0, start.levels).tell_everyone()
    }


def _old_state(state: State) -> Any:
    """The same state in the oracle's types."""
    from .state import State as OldState
    from .ties import Descent, FrozenTies

    levels, marks, waits, offs, (descents, known) = plain(state)
    ties = FrozenTies(tuple((device, Descent(*descent)) for device, descent in descents), known)
    return OldState(levels, marks, waits, offs, ties)
