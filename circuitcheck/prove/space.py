"""The states that a circuit can reach, as numbers, and what may follow each of them.

A state is three numbers packed into one: the states of all that feeds the root of the pieces, the root's own, and the
pace that inputs are held to. What may follow is computed by the engine once, piece by piece, and looked up from then
on.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from typing import NamedTuple

from circuitcheck.checks.conditions import Holds
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import starts
from circuitcheck.model.claims import LATCH_TESTS, AllOf, Assumption, Atom, Condition, Not, Test
from circuitcheck.prove.automaton import Word
from circuitcheck.prove.compose import Ask, Composed, Step, Stimulus
from circuitcheck.prove.cut import Plan, ProofScope, cone
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.world import UNBOUNDED, Pace, most_in_one_gt

FIELD = 24
"""Bits for each of the numbers that are packed into a state."""
MASK = (1 << FIELD) - 1
NOT_ALLOWED = -1
EDGES = 4
"""What it costs, in moves, to put together an edge of each feeder."""

Successor = tuple[int, int]
"""Which questions are answered yes at the end of the next gt, and the state by then."""
Row = tuple[int, int, int]
"""Of a part of a state: bits, outside actions, the part by then."""

Front = list[tuple[tuple[Word, ...], list[tuple[int, list[tuple[int, int]]]]]]
"""By what the feeders of the root show, and by how many outside actions that takes: bits, and their states by then."""


class Questions:
    """The atoms of a claim, each a question with a number, and conditions as functions of the answers."""

    def __init__(self) -> None:
        self.atoms: list[Atom] = []

    def compiles(self, condition: Condition) -> Holds:
        """A condition as a function of the answers (see `checks.watches.Compiles`)."""
        if isinstance(condition, Atom):
            number = self.number(condition)
            return lambda answers, _: bool(answers[number])
        if isinstance(condition, Not):
            inner = self.compiles(condition.part)
            return lambda answers, before: not inner(answers, before)
        parts = [self.compiles(part) for part in condition.parts]
        if isinstance(condition, AllOf):
            return lambda answers, before: all(part(answers, before) for part in parts)
        return lambda answers, before: any(part(answers, before) for part in parts)

    def number(self, atom: Atom) -> int:
        """The number of a question, a new one if it was not asked before."""
        plain = Atom(atom.name, atom.test, atom.level)
        if plain not in self.atoms:
            self.atoms.append(plain)
        return self.atoms.index(plain)

    def answers(self, bits: int) -> list[int]:
        """The answers that some bits stand for."""
        return [bits >> number & 1 for number in range(len(self.atoms))]


def seen_by(atom: Atom, program: Program) -> tuple[tuple[int, int], ...]:
    """The devices that a question is about, with the losses on the way."""
    latch = program.circuit.latches.get(atom.name)
    if latch is not None and atom.test in LATCH_TESTS:
        if atom.test is Test.FORBIDDEN:
            return (*program.probe_sources(latch.set_by), *program.probe_sources(latch.reset_by))
        return ((program.number[atom.name], 0), (program.number[latch.inverse], 0))
    return program.probe(atom.name)


class Setting(NamedTuple):
    """What a space is made of: a machine, what the world is taken to do, how it is cut, how much is looked at."""

    program: Program
    assumptions: tuple[Assumption, ...]
    planner: Callable[[ProofScope], Plan]
    meter: Meter
    grown: Callable[[int], None] = lambda states: None
    """Told now and then how many states have been found."""


class Space:
    """The states of all that has a say in some questions.

    If it is asked whether the circuit is `resting`, that is one more question, answered yes while anything waits, and
    every part has a say in it. Outside actions are `counted` where something bounds them, or where it is asked for.
    With `lumped`, states that differ in which of like units did what are one (`prove.interchange`).
    """

    def __init__(
        self,
        setting: Setting,
        atoms: Sequence[Atom],
        branching: bool = False,
        resting: bool = False,
        counted: bool = False,
        lumped: bool = True,
    ) -> None:
        program = setting.program
        questions = tuple(seen_by(atom, program) for atom in atoms)
        asked = (device for question in questions for device, _ in question)
        devices = cone(program, range(len(program.devices)) if resting else asked)
        levels = tuple(start.levels for start in starts(program))
        scope = ProofScope(program, devices, questions, levels, setting.assumptions)
        self._meter = setting.meter
        self._pace = Pace(setting.assumptions)
        busy = 1 << len(atoms) if resting else 0
        self._counted = counted or not self._pace.free
        most = most_in_one_gt(setting.assumptions)
        ask = Ask(scope, tuple(atoms), self._counted, most, branching, busy, setting.meter, lumped)
        self.plan = setting.planner(scope)
        self.root = Composed(ask, self.plan)
        self.devices = devices
        self._below = _Numbered()
        self._paces = _Numbered()
        self._fronts: dict[int, Front] = {}
        self._rows: dict[tuple[int, tuple[Word, ...], int], list[Row]] = {}
        self._rooms: dict[int, int] = {}
        self._next: dict[int, tuple[Successor, ...]] = {}
        self._paced: dict[tuple[int, int], int] = {}
        self._paces.number(())

    def starts(self) -> list[Successor]:
        """What may be so at the end of gt 0."""
        found: dict[Successor, None] = {}
        for step in self.root.starts():
            state = self.after(None, step)
            if state is not None:
                found[step.bits, state] = None
        return list(found)

    def after(self, before: int | None, step: Step) -> int | None:
        """The state that a step leads to; None where the pace does not allow it."""
        pace = self._pace_after(0 if before is None else before >> 2 * FIELD, step.acts)
        if pace == NOT_ALLOWED:
            return None
        below, local = step.target
        return (pace << FIELD | local) << FIELD | self._below.number(below)

    def steps(self, state: int) -> Iterable[Step]:
        """What may happen in the gt after a state, in full."""
        return self.root.steps((self._below.values[state & MASK], state >> FIELD & MASK))

    def successors(self, state: int) -> tuple[Successor, ...]:
        """What may follow a state. Raises TooMuch, OverBudget, PieceTooLarge."""
        known = self._next.get(state)
        if known is None:
            known = self._next[state] = tuple(self._work_out(state))
        return known

    def _work_out(self, state: int) -> Iterable[Successor]:
        local, pace = state >> FIELD & MASK, state >> 2 * FIELD
        found: dict[Successor, None] = {}
        room = self._room(pace)
        for words, ways in self._front(state & MASK):
            for more_acts, of_acts in ways:
                for bits, acts, target in self._moves(local, words, room - more_acts):
                    later = self._pace_after(pace, acts + more_acts) << FIELD
                    self._meter.count(0, len(of_acts))
                    for more_bits, below in of_acts:
                        found[bits | more_bits, (later | target) << FIELD | below] = None
        return found

    def untouched(self, state: int) -> tuple[Successor, ...]:
        """What may follow a state while nobody does anything; actions must be counted. Raises as `successors` does."""
        later = self._pace_after(state >> 2 * FIELD, 0)
        found: dict[Successor, None] = {}
        pairs = zip(self.root.children, self._below.values[state & MASK], strict=True)
        still = ([edge for edge in child.automaton.edges[each] if not edge.acts] for child, each in pairs)
        for edges in itertools.product(*still):
            below = self._below.number(tuple(edge.target for edge in edges))
            for move in self.root.piece.moves(state >> FIELD & MASK, tuple(edge.word for edge in edges), acts=0):
                bits = move.bits
                for edge in edges:
                    bits |= edge.bits
                found[bits, (later << FIELD | move.target) << FIELD | below] = None
        return tuple(found)

    def _room(self, pace: int) -> int:
        """How many outside actions the next gt may have; UNBOUNDED where they aren't counted."""
        known = self._rooms.get(pace)
        if known is None:
            known = self._rooms[pace] = self._pace.room(self._paces.values[pace])
        return known

    def _front(self, below: int) -> Front:
        """All that what feeds the root may do: the words it shows, and what may be so then, by the actions it takes."""
        known = self._fronts.get(below)
        if known is None:
            found: dict[tuple[Word, ...], dict[int, dict[tuple[int, int], None]]] = {}
            pairs = zip(self.root.children, self._below.values[below], strict=True)
            for edges in itertools.product(*(child.automaton.edges[each] for child, each in pairs)):
                bits = acts = 0
                for edge in edges:
                    bits |= edge.bits
                    acts += edge.acts
                self._meter.count(0, EDGES)
                row = (bits, self._below.number(tuple(edge.target for edge in edges)))
                of_words = found.setdefault(tuple(edge.word for edge in edges), {})
                of_words.setdefault(acts, {})[row] = None
            known = self._fronts[below] = [
                (words, [(acts, list(rows)) for acts, rows in ways.items()]) for words, ways in found.items()
            ]
        return known

    def _moves(self, local: int, words: tuple[Word, ...], room: int) -> list[Row]:
        """What the root itself may do with at most `room` outside actions."""
        most = min(room, self.root.piece.most_acts) if self._counted else UNBOUNDED
        if most < 0:
            return []
        known = self._rows.get((local, words, most))
        if known is None:
            piece = self.root.piece
            moves = piece.moves_within(local, words, most) if self._counted else piece.moves(local, words)
            rows = {(move.bits, len(move.actions) if self._counted else 0, move.target): None for move in moves}
            known = self._rows[local, words, most] = list(rows)
        return known

    def _pace_after(self, pace: int, acts: int) -> int:
        known = self._paced.get((pace, acts))
        if known is None:
            after = self._pace.after(self._paces.values[pace], acts)
            known = self._paced[pace, acts] = NOT_ALLOWED if after is None else self._paces.number(after)
        return known

    def stimulus(
        self,
        states: Sequence[int],
        last: Callable[[Step, int | None], bool] | None = None,
        fits: Callable[[int, Step], bool] = lambda place, step: True,
    ) -> Stimulus:
        """What the world does to come to each of some states in turn, and then to take a step that `last` accepts.

        Without `last` there is no such step.
        `fits` says of the steps to each of the states which are meant, where several lead there.
        """
        taken: list[Step] = []
        before: int | None = None
        for place, wanted in enumerate(states):
            taken.append(
                next(step for step in self._from(before) if self.after(before, step) == wanted and fits(place, step))
            )
            before = wanted
        if last is not None:
            taken.append(next(step for step in self._from(before) if last(step, self.after(before, step))))
        return self.root.stimulus(taken)

    def _from(self, before: int | None) -> Iterable[Step]:
        return self.root.starts() if before is None else self.steps(before)


class _Numbered:
    """Tuples by number, each once."""

    def __init__(self) -> None:
        self.values: list[tuple[int, ...]] = []
        self._numbers: dict[tuple[int, ...], int] = {}

    def number(self, value: tuple[int, ...]) -> int:
        """The number of a tuple, a new one if it was not met before."""
        known = self._numbers.get(value)
        if known is None:
            known = self._numbers[value] = len(self.values)
            self.values.append(value)
            if known > MASK:
                raise OverBudget("a part of the circuit has more states than can be numbered")
        return known
