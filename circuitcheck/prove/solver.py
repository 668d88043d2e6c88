"""What exploring can't finish, asked of a SAT solver: a bounded search for a counterexample to a claim, and induction.

The rules are the same: what each piece may do in a gt was computed by the engine, and the formula says no more than
that each piece does one of those things, one after the other, and what the claim's watch makes of it. Taking the pieces
apart, the solver need not walk through all combinations of their states, which is what makes exploring long.

* The search asks for each number of gt in turn whether the claim can be broken then, so that the first trace found is a
  shortest one; as always it is run again by the engine before it is believed.
* Induction over k gt: no trace of k gt from a start breaks the claim, and no k gt in a row without a break, wherever
  they begin and no state twice, lead to one. Together no trace of any length does (Sheeran, Singh, Stålmarck, "Checking
  safety properties using induction and a SAT-solver", FMCAD 2000).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple

from circuitcheck.checks.watches import Broken, Watch
from circuitcheck.checks.watches import State as WatchState
from circuitcheck.prove.automaton import Transition, Word
from circuitcheck.prove.compose import Composed, Step, Stimulus
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.interrupts import interruptible
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.piece import Move
from circuitcheck.prove.space import Questions, Space

if TYPE_CHECKING:
    from pysat.solvers import Solver

MOST_MOVES = 20_000
"""How many moves of the root are written into the formula for each gt."""
MOST_QUESTIONS = 8
"""How many questions a claim may have: the watch is written down for every set of answers."""
DEEPEST = 40
"""How many gt are unrolled."""
CONFLICTS = 5_000
"""How much the solver tries at each depth before it gives up; a count of its own, so that it never depends on time."""
CLAUSE, CONFLICT = 1, 32
"""What a clause and a conflict cost, in moves."""
SOLVER = "glucose4"
NAME = "python-sat"


class Solved(NamedTuple):
    """What the solver came to."""

    depth: int
    """Up to how many gt nothing breaks the claim; where a trace was found, its length."""
    proved: bool
    """Whether induction over that many gt proves it."""
    counterexample: Stimulus | None
    limit: str = ""


class _Row(NamedTuple):
    """A move of the root: from which of its states, with which words of its sources, and what comes of it."""

    source: int
    words: tuple[Word, ...]
    move: Move


class _Frame(NamedTuple):
    """The variables of one gt: a number for each thing that each piece may do, and for each state of the watch."""

    edges: tuple[tuple[int, ...], ...]
    moves: tuple[int, ...]
    watch: tuple[int, ...]
    broken: int


class Tables:
    """Everything that each piece may do, numbered."""

    def __init__(self, space: Space, watch: Watch, questions: Questions, meter: Meter) -> None:
        self._meter = meter
        self.root: Composed = space.root
        self.children = [[*enumerate(child.automaton.edges)] for child in self.root.children]
        self.edges: list[list[tuple[int, Transition]]] = [
            [(state, edge) for state, edges in states for edge in edges] for states in self.children
        ]
        self.questions = len(questions.atoms)
        if self.questions > MOST_QUESTIONS:
            raise TooMuch(f"the claim asks more than {MOST_QUESTIONS} questions")
        self.starts = list(self.root.starts())
        self.rows = self._closed()
        self.watch_states: list[WatchState] = []
        self.watch_table: dict[tuple[int, int], int] = {}
        self._tabulate(watch, questions)

    def _closed(self) -> list[_Row]:
        """The root's moves from every state that any words of its sources, one after the other, can lead it to."""
        words = [list(dict.fromkeys(edge.word for _, edge in edges)) for edges in self.edges]
        rows: list[_Row] = []
        seen = dict.fromkeys(step.move.target for step in self.starts)
        queue = list(seen)
        for local in queue:
            for chosen in itertools.product(*words):
                self._meter.count(1)
                for move in dict.fromkeys(self.root.piece.moves(local, chosen)):
                    rows.append(_Row(local, chosen, move))
                    if move.target not in seen:
                        seen[move.target] = None
                        queue.append(move.target)
                if len(rows) > MOST_MOVES:
                    raise TooMuch("the part of the circuit that can't be cut has too many states for the solver")
        return rows

    def _tabulate(self, watch: Watch, questions: Questions) -> None:
        """Every state of the watch under every set of answers; BROKEN is -1."""
        numbers: dict[WatchState, int] = {watch.start(): 0}
        self.watch_states = [watch.start()]
        for state in self.watch_states:
            for bits in range(1 << self.questions):
                answers = questions.answers(bits)
                after = watch.step(state, 0, 1, answers, answers)
                if isinstance(after, Broken):
                    self.watch_table[numbers[state], bits] = -1
                    continue
                if after not in numbers:
                    numbers[after] = len(self.watch_states)
                    self.watch_states.append(after)
                self.watch_table[numbers[state], bits] = numbers[after]


class Unrolled:
    """The formula for a number of gt, growing at its end."""

    def __init__(self, tables: Tables, from_start: bool, meter: Meter) -> None:
        self._tables = tables
        self._meter = meter
        self._count = 0
        self._conflicts = 0
        self._solver = _solver()
        self.frames: list[_Frame] = []
        self._from_start = from_start

    def fresh(self) -> int:
        """A new variable."""
        self._count += 1
        return self._count

    def grow(self) -> _Frame:
        """Adds one gt."""
        tables = self._tables
        first = not self.frames
        if first and self._from_start:
            frame = self._started()
        else:
            frame = _Frame(
                tuple(tuple(self.fresh() for _ in edges) for edges in tables.edges),
                tuple(self.fresh() for _ in tables.rows),
                tuple(self.fresh() for _ in tables.watch_states),
                self.fresh(),
            )
            for group in (*frame.edges, frame.moves):
                self._one_of(group)
            self._words(frame)
            if first:
                self._anywhere(frame)
            else:
                self._follows(self.frames[-1], frame)
        self.frames.append(frame)
        return frame

    def _add(self, *literals: int) -> None:
        self._meter.count(0, CLAUSE + len(literals) // 16)
        self._solver.add_clause(literals)

    def _one_of(self, variables: Sequence[int]) -> None:
        """Exactly one, with a chain of helpers: `at most one` for neighbours, so that it grows by the count only."""
        self._add(*variables)
        so_far = variables[0]
        for variable in variables[1:]:
            self._add(-so_far, -variable)
            later = self.fresh()
            self._add(-so_far, later)
            self._add(-variable, later)
            so_far = later

    def _started(self) -> _Frame:
        """Gt 0: one of the starts, whose answers the watch has seen."""
        tables = self._tables
        steps = tuple(self.fresh() for _ in tables.starts)
        self._one_of(steps)
        edges = tuple(tuple(self.fresh() for _ in edges) for edges in tables.edges)
        moves = tuple(self.fresh() for _ in tables.rows)
        watch = tuple(self.fresh() for _ in tables.watch_states)
        broken = self.fresh()
        self._add(*watch, broken)
        for variable, step in zip(steps, tables.starts, strict=True):
            for place, group in enumerate(edges):
                target = step.children[place].target
                for each, (_, edge) in zip(group, tables.edges[place], strict=True):
                    if edge.target != target:
                        self._add(-variable, -each)
            for each, row in zip(moves, tables.rows, strict=True):
                if row.move.target != step.move.target:
                    self._add(-variable, -each)
            after = tables.watch_table[0, step.bits]
            self._add(-variable, broken if after < 0 else watch[after])
        self._at_most_one([*watch, broken])
        self.steps = steps
        return _Frame(edges, moves, watch, broken)

    def _at_most_one(self, variables: Sequence[int]) -> None:
        for one, other in itertools.combinations(variables, 2):
            self._add(-one, -other)

    def _words(self, frame: _Frame) -> None:
        """A move of the root goes with what its sources show."""
        tables = self._tables
        for place, group in enumerate(frame.edges):
            shown: dict[Word, list[int]] = {}
            for variable, (_, edge) in zip(group, tables.edges[place], strict=True):
                shown.setdefault(edge.word, []).append(variable)
            for variable, row in zip(frame.moves, tables.rows, strict=True):
                self._add(-variable, *shown.get(row.words[place], ()))

    def _anywhere(self, frame: _Frame) -> None:
        """The first gt of an induction: the watch in any state, unbroken."""
        self._one_of(frame.watch)
        self._add(-frame.broken)

    def _follows(self, before: _Frame, frame: _Frame) -> None:
        """Each piece goes on from where it came to, and the watch sees the answers."""
        tables = self._tables
        for place, group in enumerate(frame.edges):
            self._continues(
                [
                    (variable, edge.target)
                    for variable, (_, edge) in zip(before.edges[place], tables.edges[place], strict=True)
                ],
                [(variable, source) for variable, (source, _) in zip(group, tables.edges[place], strict=True)],
            )
        self._continues(
            [(variable, row.move.target) for variable, row in zip(before.moves, tables.rows, strict=True)],
            [(variable, row.source) for variable, row in zip(frame.moves, tables.rows, strict=True)],
        )
        answers = self._answers(frame)
        self._at_most_one([*frame.watch, frame.broken])
        for (state, bits), after in tables.watch_table.items():
            seen = [answer if not bits >> number & 1 else -answer for number, answer in enumerate(answers)]
            self._add(-before.watch[state], *seen, frame.broken if after < 0 else frame.watch[after])

    def _continues(self, before: Iterable[tuple[int, int]], after: Iterable[tuple[int, int]]) -> None:
        leading: dict[int, list[int]] = {}
        for variable, target in before:
            leading.setdefault(target, []).append(variable)
        for variable, source in after:
            self._add(-variable, *leading.get(source, ()))

    def _answers(self, frame: _Frame) -> list[int]:
        """A variable for each question: whether anything that happens in this gt answers it yes."""
        tables = self._tables
        found = []
        for number in range(tables.questions):
            yes = [v for v, row in zip(frame.moves, tables.rows, strict=True) if row.move.bits >> number & 1]
            for group, edges in zip(frame.edges, tables.edges, strict=True):
                yes += [v for v, (_, edge) in zip(group, edges, strict=True) if edge.bits >> number & 1]
            answer = self.fresh()
            self._add(-answer, *yes)
            for variable in yes:
                self._add(-variable, answer)
            found.append(answer)
        return found

    def apart(self, one: _Frame, other: _Frame) -> None:
        """Two gt after which not everything is alike."""
        tables = self._tables
        differing = []
        for place, edges in enumerate(tables.edges):
            targets = [edge.target for _, edge in edges]
            differing += self._differ(targets, one.edges[place], other.edges[place])
        targets = [row.move.target for row in tables.rows]
        differing += self._differ(targets, one.moves, other.moves)
        differing += self._differ(range(len(one.watch)), one.watch, other.watch)
        self._add(*differing)

    def _differ(self, targets: Sequence[int], one: Sequence[int], other: Sequence[int]) -> list[int]:
        """For each state a variable that says that the first is in it and the second is not."""
        found = []
        for state in dict.fromkeys(targets):
            here = [v for v, target in zip(one, targets, strict=True) if target == state]
            there = [v for v, target in zip(other, targets, strict=True) if target == state]
            differs = self.fresh()
            self._add(-differs, *here)
            for variable in there:
                self._add(-differs, -variable)
            found.append(differs)
        return found

    def breaks(self, frame: _Frame) -> bool | None:
        """Whether the claim can be broken in a gt and not before; None if the solver gave up."""
        self._solver.conf_budget(CONFLICTS)
        with interruptible():
            answer: bool | None = self._solver.solve_limited(assumptions=[frame.broken])
        conflicts = self._solver.accum_stats()["conflicts"]
        self._meter.count(0, (conflicts - self._conflicts) * CONFLICT)
        self._conflicts = conflicts
        return answer

    def unbroken(self, frame: _Frame) -> None:
        """From now on the claim is not broken in this gt."""
        self._add(-frame.broken)

    def counterexample(self) -> Stimulus:
        """What the world does in the trace that was found."""
        model = set(self._solver.get_model())
        tables = self._tables
        start = next(step for v, step in zip(self.steps, tables.starts, strict=True) if v in model)
        taken = [start]
        for frame in self.frames[1:]:
            row = next(row for v, row in zip(frame.moves, tables.rows, strict=True) if v in model)
            children = tuple(
                next(edge for v, (_, edge) in zip(group, edges, strict=True) if v in model)
                for group, edges in zip(frame.edges, tables.edges, strict=True)
            )
            taken.append(Step(row.move.word, 0, 0, children, row.move, True))
        return tables.root.stimulus(taken)


def solve(space: Space, watch: Watch, questions: Questions, meter: Meter) -> Solved:
    """Searches and inducts, one gt deeper at a time. Raises TooMuch and OverBudget."""
    tables = Tables(space, watch, questions, meter)
    base, step = Unrolled(tables, True, meter), Unrolled(tables, False, meter)
    step.grow()
    for depth in range(DEEPEST):
        frame = base.grow()
        broken = base.breaks(frame)
        if broken is None:
            return Solved(depth, False, None, f"the solver gave up at {depth}gt")
        if broken:
            return Solved(depth, False, base.counterexample())
        base.unbroken(frame)
        last = step.grow()
        for earlier in step.frames[:-2]:
            step.apart(earlier, step.frames[-2])
        if step.breaks(last) is False:
            return Solved(depth, True, None)
        step.unbroken(last)
    return Solved(DEEPEST, False, None, f"nothing breaks it within {DEEPEST}gt, and induction does not prove it")


def _solver() -> Solver:
    from pysat.solvers import Solver

    return Solver(name=SOLVER)
