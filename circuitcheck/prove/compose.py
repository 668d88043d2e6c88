"""Pieces put together, from the leaves to the root: the automaton of each, and the way back to the actions on the
inputs.

A node is a piece with all that feeds it (`Composed`) or several twins of one (`Twins`). Its automaton has been reduced
(`prove.automaton`), so that a run of it names no actions any more. `unroll` finds them again: a run of the reduced
automaton is followed in the one it was made of, which every reduction promises to be possible.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from typing import NamedTuple, Protocol

from circuitcheck.model.claims import Atom
from circuitcheck.prove.automaton import Automaton, Transition, Word, reduced
from circuitcheck.prove.cut import Plan, ProofScope
from circuitcheck.prove.interleavings import highest
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.piece import Deed, Move, Piece

MOST_STATES = 100_000
"""How many states one piece may have before its reduction."""
STEP = 4
"""What a step costs to put together, in moves."""


Stimulus = list[list[Deed]]
"""The outside actions of each gt, from gt 0 on."""


class PieceTooLarge(Exception):
    """A piece has more states than are looked at; the circuit is explored without a cut there."""


class Node(Protocol):
    """What feeds a piece through one source."""

    @property
    def automaton(self) -> Automaton:
        """All it can show, reduced."""

    def unroll(self, run: Sequence[Transition]) -> Stimulus:
        """What must be done from outside for a run of the automaton, its first edge an initial one."""


class Ask(NamedTuple):
    """What a composition is made for."""

    scope: ProofScope
    atoms: tuple[Atom, ...]
    counted: bool
    """Whether outside actions are counted."""
    most_acts: int
    """How many outside actions one gt may have."""
    branching: bool
    """Whether it counts what the world can still choose in each state."""
    busy: int
    """The bit that says that something waits; 0 where nobody asks."""
    meter: Meter
    lumped: bool
    """Whether states that differ in which of like units did what are one."""

    def spend(self, moves: int) -> None:
        """Counts moves. Raises OverBudget."""
        self.meter.count(0, moves)


class Step(NamedTuple):
    """One thing that a piece and all that feeds it may do in a gt."""

    word: Word
    bits: int
    acts: int
    children: tuple[Transition, ...]
    move: Move
    sure: bool

    @property
    def target(self) -> State:
        """The state it leads to."""
        return (tuple(edge.target for edge in self.children), self.move.target)


State = tuple[tuple[int, ...], int]
"""The states of what feeds a piece, and its own."""


class Composed:
    """A piece and all that feeds it."""

    def __init__(self, ask: Ask, plan: Plan) -> None:
        self.children = [node(ask, group) for group in plan.groups]
        self.piece = Piece(ask.scope, plan, ask.atoms, ask.busy, ask.meter, ask.lumped)
        self._ask = ask
        self._numbers: dict[State, int] = {}
        self._states: list[State] = []
        self._classes: tuple[int, ...] = ()

    def starts(self) -> Iterator[Step]:
        """Every state that it can be in at the end of gt 0."""
        automata = [child.automaton for child in self.children]
        for move in self.piece.starts():
            levels = self.piece.sources_at(move.target)
            fitting = [
                [edge for edge in automaton.initial if automaton.levels[edge.target] == level]
                for automaton, level in zip(automata, levels, strict=True)
            ]
            for children in itertools.product(*fitting):
                self._ask.spend(STEP)
                yield self._step(children, move)

    def steps(self, state: State) -> Iterator[Step]:
        """All that may happen in the gt after a state."""
        below, local = state
        edges = [child.automaton.edges[each] for child, each in zip(self.children, below, strict=True)]
        for children in itertools.product(*edges):
            room = self._ask.most_acts - sum(edge.acts for edge in children)
            if room < 0:
                continue
            words = tuple(edge.word for edge in children)
            moves = tuple(self._moves(local, words, room))
            ways = Counter(move.actions for move in moves) if self._ask.branching else {}
            for move in moves:
                yield self._step(children, move, ways.get(move.actions, 1) == 1)

    def _moves(self, local: int, words: tuple[Word, ...], room: int) -> Iterable[Move]:
        """What the piece itself may do; where actions are counted, with at most `room` of them."""
        return self.piece.moves_within(local, words, room) if self._ask.counted else self.piece.moves(local, words)

    def _step(self, children: tuple[Transition, ...], move: Move, sure: bool = True) -> Step:
        bits, acts = move.bits, len(move.actions) if self._ask.counted else 0
        for edge in children:
            bits |= edge.bits
            acts += edge.acts
            sure = sure and edge.sure
        return Step(move.word, bits, acts, children, move, sure)

    @cached_property
    def automaton(self) -> Automaton:
        """All it can show, reduced. Raises PieceTooLarge, TooMuch, OverBudget."""
        numbers = self._numbers

        def edges(steps: Iterable[Step]) -> tuple[Transition, ...]:
            found: dict[Transition, None] = {}
            for step in steps:
                target = step.target
                self._ask.spend(STEP)
                if target not in numbers:
                    numbers[target] = len(numbers)
                    self._states.append(target)
                    if len(numbers) > MOST_STATES:
                        raise PieceTooLarge
                found[Transition(step.word, step.bits, step.acts, numbers[target], step.sure)] = None
            return tuple(found)

        initial = edges(self.starts())
        made = []
        for state in self._states:
            self._ask.meter.count(1)
            made.append(edges(self.steps(state)))
        levels = tuple(self.piece.level(local) for _, local in self._states)
        small, self._classes = reduced(Automaton(initial, tuple(made), levels), self._ask.branching, self._ask.spend)
        return small

    def unroll(self, run: Sequence[Transition]) -> Stimulus:
        """See Node."""
        taken: list[Step] = []
        for edge in run:
            steps = self.steps(taken[-1].target) if taken else self.starts()
            taken.append(next(step for step in steps if self._is(step, edge)))
        return self.stimulus(taken)

    def _is(self, step: Step, edge: Transition) -> bool:
        shown = (step.word, step.bits, step.acts, step.sure) == edge.label
        return shown and self._classes[self._numbers[step.target]] == edge.target

    def stimulus(self, taken: Sequence[Step]) -> Stimulus:
        """What must be done from outside for these steps."""
        own = self.piece.deeds([step.move for step in taken])
        below = [child.unroll([step.children[place] for step in taken]) for place, child in enumerate(self.children)]
        return [list(itertools.chain(*rows)) for rows in zip(own, *below, strict=True)]


class Twins:
    """Several pieces alike that feed the same places: how many are in which state is all that counts."""

    def __init__(self, ask: Ask, plans: Sequence[Plan]) -> None:
        self._one = Composed(ask, plans[0])
        self._ask = ask
        self._branching = ask.branching
        names = ask.scope.program.names
        first = plans[0].order
        self._names = [
            {names[mine]: names[other] for mine, other in zip(first, plan.order, strict=True)} for plan in plans
        ]
        """For each twin, what its parts are called, by the names of the first one's."""
        self._states: list[tuple[int, ...]] = []
        self._numbers: dict[tuple[int, ...], int] = {}
        self._classes: tuple[int, ...] = ()

    @cached_property
    def automaton(self) -> Automaton:
        """All they can show together, reduced. Raises PieceTooLarge, TooMuch."""
        one = self._one.automaton

        def edges(groups: Iterable[tuple[Transition, ...]], before: tuple[int, ...]) -> tuple[Transition, ...]:
            found: dict[Transition, None] = {}
            for chosen in groups:
                self._ask.spend(len(chosen))
                target = tuple(sorted(edge.target for edge in chosen))
                if target not in self._numbers:
                    self._numbers[target] = len(self._numbers)
                    self._states.append(target)
                    if len(self._numbers) > MOST_STATES:
                        raise PieceTooLarge
                words = tuple(self._words(one, before, chosen))
                sure = not self._branching or (len(words) == 1 and all(edge.sure for edge in chosen))
                acts, bits = sum(edge.acts for edge in chosen), _together_bits(chosen)
                found |= {Transition(word, bits, acts, self._numbers[target], sure): None for word in words}
            return tuple(found)

        initial = edges(self._together(one, ()), ())
        made = []
        for state in self._states:
            self._ask.meter.count(1)
            made.append(edges(self._together(one, state), state))
        levels = tuple(max(one.levels[each] for each in state) for state in self._states)
        small, self._classes = reduced(Automaton(initial, tuple(made), levels), self._branching, self._ask.spend)
        return small

    @staticmethod
    def _words(one: Automaton, before: tuple[int, ...], chosen: tuple[Transition, ...]) -> Iterable[Word]:
        """What the twins show together; `before` holds their states in the order of the edges chosen."""
        if not before:
            return ((),)
        levels = [one.levels[state] for state in before]
        changes = [(level, edge.word) for level, edge in zip(levels, chosen, strict=True) if edge.word]
        return highest(levels, changes) if changes else ((),)

    def _together(self, one: Automaton, state: tuple[int, ...]) -> Iterator[tuple[Transition, ...]]:
        """Every choice of an edge for each twin, those alike once; in the order of the states. None yet: the starts."""
        if not state:
            return (chosen for _, chosen in _multisets(one.initial, len(self._names), self._ask.most_acts))
        groups = [(one.edges[local], count) for local, count in sorted(Counter(state).items())]
        return (chosen for _, chosen in _joined(groups, self._ask.most_acts))

    def unroll(self, run: Sequence[Transition]) -> Stimulus:
        """See Node."""
        one = self._one.automaton
        runs: list[list[Transition]] = [[] for _ in self._names]
        state: tuple[int, ...] = ()
        for edge in run:
            chosen = self._chosen(one, state, edge)
            if not state:
                for each, row in zip(chosen, runs, strict=True):
                    row.append(each)
            else:
                waiting = {place: row[-1].target for place, row in enumerate(runs)}
                for before, each in zip(state, chosen, strict=True):
                    place = next(place for place, target in waiting.items() if target == before)
                    del waiting[place]
                    runs[place].append(each)
            state = tuple(sorted(row[-1].target for row in runs))
        stimulus = [
            [[action._replace(name=names[action.name]) for action in done] for done in self._one.unroll(row)]
            for names, row in zip(self._names, runs, strict=True)
        ]
        return [list(itertools.chain(*rows)) for rows in zip(*stimulus, strict=True)]

    def _chosen(self, one: Automaton, state: tuple[int, ...], edge: Transition) -> tuple[Transition, ...]:
        for chosen in self._together(one, state):
            target = self._numbers.get(tuple(sorted(each.target for each in chosen)))
            fits = target is not None and self._classes[target] == edge.target and _together_bits(chosen) == edge.bits
            if fits and sum(each.acts for each in chosen) == edge.acts and edge.word in self._words(one, state, chosen):
                return chosen
        raise AssertionError("a reduced automaton shows nothing that the one it was made of can't show")


def _multisets(edges: Sequence[Transition], count: int, most: int) -> Iterator[tuple[int, tuple[Transition, ...]]]:
    """Every choice of `count` edges, order aside, with at most `most` outside actions; each with how many it takes."""
    if not count:
        yield 0, ()
    elif edges:
        first, rest = edges[0], edges[1:]
        for times in range(count, -1, -1):
            spent = times * first.acts
            if spent <= most:
                for acts, others in _multisets(rest, count - times, most - spent):
                    yield spent + acts, (first,) * times + others


def _joined(
    groups: Sequence[tuple[Sequence[Transition], int]], most: int
) -> Iterator[tuple[int, tuple[Transition, ...]]]:
    """A choice for each group of twins in one state, with at most `most` outside actions in all."""
    if not groups:
        yield 0, ()
        return
    (edges, count), *rest = groups
    for acts, chosen in _multisets(edges, count, most):
        for more, others in _joined(rest, most - acts):
            yield acts + more, chosen + others


def _together_bits(edges: Iterable[Transition]) -> int:
    bits = 0
    for edge in edges:
        bits |= edge.bits
    return bits


def node(ask: Ask, group: Sequence[Plan]) -> Composed | Twins:
    """What feeds a piece through one source."""
    return Composed(ask, group[0]) if len(group) == 1 else Twins(ask, group)
