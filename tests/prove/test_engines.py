"""The explorer and its tables against the engine: run for run, 500 gt each.

`CIRCUITCHECK_RANDOM=100000 python -m pytest tests/prove/test_engines.py` compares so many random circuits instead of a
few; `-s` shows the numbers.
"""

from __future__ import annotations

import os
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from circuitcheck.checks.conditions import Holds, compiled
from circuitcheck.engine.memory import CLASS_MASK
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, TooManyStates, act, step
from circuitcheck.model.claims import Atom, Test
from circuitcheck.prove.compose import PieceTooLarge, Step, Stimulus
from circuitcheck.prove.cut import Plan, ProofScope, cut, uncut
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.piece import Piece
from circuitcheck.prove.space import Setting, Space, Successor

from .plain import quiet
from .random_circuits import LARGE, MIDDLING, Drawn, Size, sluice

CIRCUITS = int(os.environ.get("CIRCUITCHECK_RANDOM", "0")) or 75
SHARES = 3
"""Each of the three tests below takes every third circuit."""
EACH = CIRCUITS // SHARES
LENGTH = 500
MOST_SIDE_BY_SIDE = 300
"""Where more states than this are possible at one time, a run ends early."""
BUDGET = 5_000
"""How much is calculated for one circuit before its run ends early."""
NO_BOUND = 10**12
TOGETHER = 1.0
"""Hands so eager work all inputs in one gt, or none."""
TOO_LARGE = (PieceTooLarge, TooMuch, TooManyStarts, TooManyOrders, TooManyStates, OverBudget)


@dataclass
class Tally:
    """What was compared, and every disagreement in words with its circuit."""

    runs: int = 0
    game_ticks: int = 0
    forks: int = 0
    """In how many gt there was more than one state of the engine."""
    too_large: int = 0
    cut: int = 0
    """How many of the runs are of circuits cut into pieces."""
    can_tie: int = 0
    """In how many of those exits can tie in an order that matters."""
    spurious: int = 0
    """Ways through the space that the engine can't go, after a tie of two exits."""
    wrong: list[str] = field(default_factory=list)

    def compare(self, one: Callable[[Drawn, Tally], None], size: Size, share: int) -> None:
        """Compares one of the three shares of all circuits, as far as they are not too large."""
        for seed in range(share, CIRCUITS, SHARES):
            try:
                one(sluice(seed, size), self)
            except TOO_LARGE:
                self.too_large += 1
        print(f"\n{self}"[:2_000])

    def say(self, drawn: Drawn, at: int, what: str) -> None:
        self.wrong.append(f"seed {drawn.seed}, gt {at}: {what}\n{drawn.text}\n")


class Hands:
    """Somebody who works the inputs at random: for a while not at all, for a while all at once."""

    def __init__(self, program: Program, seed: int) -> None:
        self._machine = program
        self._random = random.Random(seed)
        self._eager = 0.1

    def next(self, state: State) -> tuple[Action, ...]:
        """What they do in the gt after a state; to each input only what changes something."""
        if self._random.random() < 0.03:
            self._eager = self._random.choice([0.0, 0.02, 0.1, 0.4, TOGETHER])
        together = self._random.random() < 0.15
        return tuple(
            self._one(number, state)
            for number, device in enumerate(self._machine.devices)
            if device.part.verbs
            and (together if self._eager == TOGETHER else self._random.random() < self._eager)
            and not ("press" in device.part.verbs and state.levels[number])
        )

    def _one(self, number: int, state: State) -> Action:
        verbs = self._machine.devices[number].part.verbs
        if "throw" in verbs:
            return Action(number, "throw")
        if "press" in verbs:
            return Action(number, "press")
        if "is" in verbs:
            others = [level for level in range(16) if level != state.levels[number]]
            return Action(number, "is", self._random.choice(others))
        return Action(number, "off" if state.device_state[number] else "on")


def begun(program: Program, hand: Sequence[Action]) -> Iterator[tuple[bytes, State]]:
    """Every state at the end of gt 0 in which this was done, each with the levels before."""
    for start in starts(program):
        for told in Simulator(program, 0, start.levels).tell_everyone():
            for simulator in act([told.copy()], hand):
                yield start.levels, simulator.snapshot()


# One piece, looked up


def same_states(drawn: Drawn, tally: Tally) -> None:
    """Follows one circuit through the table of its only piece and through the engine, in all orders."""
    program = Program(quiet(drawn.study().circuit))
    levels = tuple(start.levels for start in starts(program))
    scope = ProofScope(program, tuple(range(len(program.devices))), (), levels, ())
    piece = Piece(scope, uncut(scope), (), 0, Meter(BUDGET))
    hands = Hands(program, drawn.seed)
    states = dict.fromkeys(state for _, state in begun(program, ()))
    looked_up = {move.target for move in piece.starts() if not move.actions}
    tally.runs += 1
    for at in range(LENGTH):
        if at:
            hand = hands.next(next(iter(states)))
            states = dict.fromkeys(each.state for state in states for each in step(program, state, hand))
            moves = (move for local in looked_up for move in piece.moves(local, ()))
            looked_up = {move.target for move in moves if move.actions == hand}
        if {piece.locals[number].state for number in looked_up} != set(states):
            tally.say(drawn, at, "the table and the engine come to different states")
            return
        tally.game_ticks += 1
        tally.forks += len(states) > 1
        if len(states) > MOST_SIDE_BY_SIDE:
            raise TooManyStates


def test_the_table_of_a_circuit_in_one_piece_comes_to_the_states_that_the_engine_comes_to_in_every_gt() -> None:
    tally = Tally()
    tally.compare(same_states, MIDDLING, 0)
    assert not tally.wrong, "\n".join(tally.wrong[:3])
    assert tally.game_ticks > EACH * LENGTH * 0.3
    assert tally.forks > EACH


# Many pieces, put together


class Asked:
    """A circuit with some questions: what the engine answers, and the space that is to answer the same."""

    def __init__(self, drawn: Drawn, assuming: bool) -> None:
        study = drawn.study()
        self.random = random.Random(drawn.seed)
        self.program = Program(quiet(study.circuit))
        atoms = self._atoms(drawn)
        self.meter = Meter(BUDGET)
        self.assumptions = study.assumptions if assuming else ()
        self.space = Space(Setting(self.program, self.assumptions, cut, self.meter), atoms)
        self._holds: list[Holds] = [compiled(atom, self.program) for atom in atoms]
        self.exits = list(self._tying(self.space.plan))

    def _atoms(self, drawn: Drawn) -> list[Atom]:
        """A few questions; sometimes about every input, which pins down what was done but leaves no twins."""
        tests = [Test.ON, Test.ON, Test.RISES, Test.CHANGES, Test.AT_LEAST]
        names = self.random.sample(drawn.signals, min(len(drawn.signals), self.random.randint(1, 3)))
        names.append(drawn.signals[-1])
        atoms = [Atom(name, test, 9 if test is Test.AT_LEAST else 0) for name in names for test in [self._one(tests)]]
        if self.random.random() < 0.6:
            atoms += [Atom(name, Test.CHANGES) for name in drawn.inputs]
        return list(dict.fromkeys(atoms))

    def _one(self, tests: Sequence[Test]) -> Test:
        return self.random.choice(tests)

    def answers(self, before: bytes, after: bytes) -> int:
        """The engine's answers at the end of a gt, as bits."""
        return sum(1 << number for number, holds in enumerate(self._holds) if holds(after, before))

    def _tying(self, plan: Plan) -> Iterator[tuple[int, int]]:
        """Pairs of exits that feed one piece, may act in one class, and matter to each other."""
        found = [twin.exit for group in plan.groups for twin in group if twin.exit is not None]
        for place, one in enumerate(found):
            for other in found[place + 1 :]:
                meet = self._classes(one) & self._classes(other)
                if meet and self.program.orders.matter(one, None, other, None):
                    yield one, other
        for group in plan.groups:
            for twin in group:
                yield from self._tying(twin)

    def _classes(self, device: int) -> set[int]:
        behaviour = self.program.devices[device]
        waits = behaviour.waits | behaviour.waits_on_change(None) | behaviour.own_waits(None)
        return {wait & CLASS_MASK for wait in waits}

    def tie(self, before: bytes, after: bytes) -> bool:
        """Whether two exits that can tie change in one gt."""
        return any(before[one] != after[one] and before[other] != after[other] for one, other in self.exits)

    def count(self, tally: Tally) -> None:
        tally.runs += 1
        tally.cut += bool(self.space.plan.groups)
        tally.can_tie += bool(self.exits)


def all_within(drawn: Drawn, tally: Tally) -> None:
    """Follows a run of the engine in the space, as the set of all states that answer the same so far.

    In every gt the space must know every answer that the engine may give in some order; the run then goes on by one.
    """
    asked = Asked(drawn, assuming=False)
    hands = Hands(asked.program, drawn.seed)
    asked.count(tally)
    possible = asked.space.starts()
    ways = list(dict.fromkeys(begun(asked.program, ())))
    for at in range(LENGTH):
        known = {bits for bits, _ in possible}
        answers = [asked.answers(before, state.levels) for before, state in ways]
        if not known.issuperset(answers):
            tally.say(drawn, at, f"the engine can answer {set(answers) - known}, the space only {known}")
            return
        tally.game_ticks += 1
        tally.forks += len(ways) > 1
        chosen = asked.random.randrange(len(ways))
        state = ways[chosen][1]
        fitting = dict.fromkeys(after for bits, after in possible if bits == answers[chosen])
        if len(fitting) > MOST_SIDE_BY_SIDE:
            raise TooManyStates
        possible = list(dict.fromkeys(each for after in fitting for each in asked.space.successors(after)))
        ways = [(state.levels, each.state) for each in step(asked.program, state, hands.next(state))]


def test_whatever_the_engine_can_do_the_pieces_put_together_can_do_as_well() -> None:
    tally = Tally()
    tally.compare(all_within, LARGE, 1)
    assert not tally.wrong, "\n".join(tally.wrong[:3])
    assert tally.game_ticks > EACH * LENGTH * 0.2
    assert tally.cut > EACH * 0.2
    assert tally.can_tie > EACH * 0.05


def walked(asked: Asked) -> list[Successor]:
    """A random walk through the space, as far as the budget goes."""
    walk: list[Successor] = []
    following: Sequence[Successor] = asked.space.starts()
    try:
        while len(walk) < LENGTH:
            walk.append(asked.random.choice(following))
            following = asked.space.successors(walk[-1][1])
    except OverBudget:
        asked.meter.most = NO_BOUND
    return walk


def unrolled(asked: Asked, walk: Sequence[Successor]) -> Stimulus:
    """What the world does on this walk."""
    bits, states = [each for each, _ in walk], [state for _, state in walk]

    def last(step: Step, after: int | None) -> bool:
        return after == states[-1] and step.bits == bits[-1]

    return asked.space.stimulus(states[:-1], last, lambda place, step: step.bits == bits[place])


def none_missing(drawn: Drawn, tally: Tally) -> None:
    """Walks through the space at random, and has the engine do what the world does on that walk.

    In every gt some order must lead to the same answers as in the walk. Where two exits tie, the space takes any order
    each time anew (`prove.words`), while the engine may know which came first, or keep to what it once chose: then, and
    only after such a tie, a walk may be spurious.
    """
    asked = Asked(drawn, assuming=True)
    walk = walked(asked)
    stimulus = unrolled(asked, walk)
    asked.count(tally)
    tied, ways = False, dict.fromkeys(begun(asked.program, hand_of(asked.program, stimulus[0])))
    several_starts = len({before for before, _ in ways}) > 1
    for at, (bits, _) in enumerate(walk):
        tied = tied or any(asked.tie(before, state.levels) for before, state in ways)
        states = dict.fromkeys(state for before, state in ways if asked.answers(before, state.levels) == bits)
        if not states:
            tally.spurious += 1
            if not tied:
                tally.say(drawn, at, f"no order answers {bits:b}, and no exits tied (several starts: {several_starts})")
            return
        tally.game_ticks += 1
        tally.forks += len(ways) > 1
        if at + 1 < len(walk):
            hand = hand_of(asked.program, stimulus[at + 1])
            after = ((state.levels, each.state) for state in states for each in step(asked.program, state, hand))
            ways = dict.fromkeys(after)
        if len(ways) > MOST_SIDE_BY_SIDE:
            raise TooManyStates


def hand_of(program: Program, stimulus: Sequence[tuple[str, str, int]]) -> tuple[Action, ...]:
    return tuple(Action(program.number[name], verb, level) for name, verb, level in stimulus)


def test_a_walk_through_the_pieces_put_together_is_one_that_the_engine_can_go() -> None:
    tally = Tally()
    tally.compare(none_missing, LARGE, 2)
    assert not tally.wrong, "\n".join(tally.wrong[:3])
    assert tally.game_ticks > EACH * LENGTH * 0.2
    assert tally.cut > EACH * 0.2
    assert tally.spurious <= tally.can_tie
