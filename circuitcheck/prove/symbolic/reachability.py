"""Whether a formula of one gt can come to a state in which a claim is broken: property-directed reachability (IC3).

A. R. Bradley, "SAT-based model checking without unrolling" (VMCAI 2011), in the form of N. Eén, A. Mishchenko and
R. Brayton, "Efficient implementation of property directed reachability" (FMCAD 2011). Ours starts from a list of
states, keeps the next state as gates of the same variables, and shortens cubes by unsatisfiable cores and then literal
by literal, without the counterexamples to generalization of later work.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence
from typing import NamedTuple, Protocol

from circuitcheck.prove.meter import Meter
from circuitcheck.prove.symbolic.formula import Formula
from circuitcheck.prove.symbolic.sat import Sat

Cube = tuple[int, ...]
"""Literals of a state that are all true, by variable."""


class Reached(NamedTuple):
    """What the search came to."""

    depth: int
    """Up to how many gt after the start nothing breaks the claim; where a run was found, its length."""
    clauses: int
    """How many clauses the invariant has, where there is one."""
    run: tuple[set[int], ...] | None
    """Of a run that breaks the claim, what is true in each step."""


class _Duty(NamedTuple):
    """A cube from which the claim can be broken, to be kept from being reached within so many gt."""

    frame: int
    number: int
    cube: Cube
    model: set[int]
    """What is true in the step that leads from it to the cube of the next."""
    after: _Duty | None


class Searched(Protocol):
    """What is searched: one gt as a formula. A bit of a start that is None may be either."""

    @property
    def formula(self) -> Formula: ...
    @property
    def state(self) -> Sequence[int]: ...
    @property
    def following(self) -> Sequence[int]: ...
    @property
    def starts(self) -> Sequence[Sequence[int | None]]: ...
    @property
    def free(self) -> Sequence[int]: ...
    @property
    def allowed(self) -> int: ...
    @property
    def valid(self) -> int: ...


class Search:
    """One claim on one system. `broken` is a literal of a state."""

    def __init__(self, system: Searched, broken: int, known: Iterable[Sequence[int]], meter: Meter) -> None:
        self._system = system
        self._meter = meter
        self._allowed, self._broken = system.allowed, broken
        self._next = dict(zip(system.state, system.following, strict=True))
        self._starts = [
            {
                literal
                for variable, bit in zip(system.state, start, strict=True)
                for literal in ((variable, -variable) if bit is None else (variable,) if bit else (-variable,))
            }
            for start in system.starts
        ]
        formula = system.formula
        self._sat = Sat(formula.clauses, meter)
        self._lifter = Sat(formula.clauses, meter)
        self._frames: list[list[Cube]] = [[]]
        self._active = [formula.fresh()]
        self._used: set[int] = set()
        """The assumptions that the latest answer `no` needed."""
        self._sat.add(-self._active[0], self._initial())
        self._number = 0
        self.invariant: list[Cube] = []
        """After a proof: no state in one of these cubes can be reached, and together with what is known that is so of
        every step."""
        self._known: list[int] = [system.valid]
        """Literals of a state for what is so in every state that can be reached."""
        for clause in known:
            self._sat.add(*clause)
            self._lifter.add(*clause)

    def _initial(self) -> int:
        """A literal for: the state is one of the starts. Its clauses go to the solver."""
        formula = self._system.formula
        begins = []
        for start in self._starts:
            begin = formula.fresh()
            for literal in start:
                if -literal not in start:
                    self._sat.add(-begin, literal)
            begins.append(begin)
        some = formula.fresh()
        self._sat.add(-some, *begins)
        return some

    def run(self) -> Reached:
        """Searches. Raises OverBudget."""
        while True:
            model = self._solve(len(self._frames) - 1, (self._broken,), allowed=False)
            if model is None:
                invariant = self._deepen()
                if invariant is not None:
                    return Reached(len(self._frames) - 2, invariant, None)
                continue
            cube = self._needed(self._state(model), [-self._broken])
            run = self._block(_Duty(len(self._frames) - 1, 0, cube, model, None))
            if run is not None:
                return Reached(len(run), 0, run)

    @property
    def unbroken(self) -> int:
        """Up to how many gt it is known that nothing breaks the claim."""
        return max(len(self._frames) - 2, 0)

    def nearest(self) -> tuple[int, int]:
        """Of the clauses that come nearest to an invariant, how many a step keeps, and how many there are."""
        closed = self._frames[1:-1]
        if not closed:
            return 0, 0
        left = min(reversed(range(len(closed))), key=lambda place: len(closed[place]))
        kept = sum(map(len, self._frames[left + 2 :]))
        return kept, kept + len(closed[left])

    # Frames

    def _deepen(self) -> int | None:
        """Opens a frame and pushes clauses on; how many clauses the invariant has, if there is one."""
        self._frames.append([])
        self._active.append(self._system.formula.fresh())
        for frame in range(1, len(self._frames) - 1):
            for cube in list(self._frames[frame]):
                if self._before(frame, cube, None) is None:
                    self._add(frame + 1, cube)
            if not self._frames[frame]:
                self.invariant = [cube for cubes in self._frames[frame + 1 :] for cube in cubes]
                return len(self.invariant)
        return None

    def _add(self, frame: int, cube: Cube) -> None:
        """Keeps a cube from being reached within so many gt."""
        literals = set(cube)
        for lower in range(1, frame + 1):
            self._frames[lower] = [each for each in self._frames[lower] if not literals <= set(each)]
        self._frames[frame].append(cube)
        self._sat.add(-self._active[frame], *(-literal for literal in cube))

    def _block(self, first: _Duty) -> tuple[set[int], ...] | None:
        """Keeps a cube from being reached, and all that leads to it; the run where that can't be."""
        queue = [(first.frame, 0, first)]
        while queue:
            frame, _, duty = heapq.heappop(queue)
            if self._begins(duty.cube):
                return tuple(self._models(duty))
            if self._blocked(frame, duty.cube):
                continue
            found = self._before(frame - 1, duty.cube, duty.cube)
            self._number -= 1
            if found is not None:
                cube = self._lifted(found, duty.cube)
                heapq.heappush(queue, (frame - 1, self._number, _Duty(frame - 1, self._number, cube, found, duty)))
                heapq.heappush(queue, (frame, self._number, duty))
                continue
            cube = self._generalized(frame - 1, duty.cube)
            while frame < len(self._frames) - 1 and self._before(frame, cube, cube) is None:
                frame += 1
            self._add(frame, cube)
            if frame < len(self._frames) - 1:
                heapq.heappush(queue, (frame + 1, self._number, duty._replace(frame=frame + 1)))
        return None

    def _models(self, duty: _Duty) -> Iterable[set[int]]:
        """What is true in each step of a run, to the one that breaks the claim."""
        step: _Duty | None = duty
        while step is not None and step.after is not None:
            yield step.model
            step = step.after

    def _begins(self, cube: Cube) -> bool:
        return any(all(literal in start for literal in cube) for start in self._starts)

    def _blocked(self, frame: int, cube: Cube) -> bool:
        literals = set(cube)
        return any(literals.issuperset(each) for cubes in self._frames[frame:] for each in cubes)

    # Cubes

    def _state(self, model: set[int]) -> Cube:
        return tuple(variable if variable in model else -variable for variable in self._system.state)

    def _generalized(self, frame: int, cube: Cube) -> Cube:
        """A shorter cube that can't be reached within so many gt either, nor is a start."""
        kept = self._core(frame, cube)
        for literal in list(kept):
            shorter = tuple(each for each in kept if each != literal)
            if literal not in kept or not shorter or self._begins(shorter):
                continue
            if self._before(frame, shorter, shorter) is None:
                kept = self._core(frame, shorter)
        return kept

    def _core(self, frame: int, cube: Cube) -> Cube:
        """The literals that the latest question's answer needed, with enough to be no start."""
        core = self._used
        kept = tuple(literal for literal in cube if self._then(literal) in core)
        if not self._begins(kept):
            return kept
        for literal in cube:
            if literal not in kept and not self._begins((*kept, literal)):
                return (*kept, literal)
        return cube

    def _then(self, literal: int) -> int:
        return self._next[literal] if literal > 0 else -self._next[-literal]

    def _lifted(self, model: set[int], target: Cube) -> Cube:
        """As little of a state as leads to a cube, whatever else is so, if the same is done."""
        done = [variable if variable in model else -variable for variable in self._system.free]
        return self._needed(self._state(model), [-self._allowed, *(-self._then(literal) for literal in target)], done)

    def _needed(self, state: Cube, clause: Sequence[int], done: Sequence[int] = ()) -> Cube:
        """The literals of a state without which a clause, that is false there, might be true."""
        lifter = self._lifter
        guard = self._system.formula.fresh()
        lifter.add(-guard, *clause)
        possible = lifter.ask([guard, *done, *state])
        assert not possible, "what a step does follows from the state and from what is free"
        core = lifter.core()
        lifter.add(-guard)
        return tuple(literal for literal in state if literal in core)

    # Questions to the solver

    def _before(self, frame: int, cube: Cube, without: Cube | None) -> set[int] | None:
        """What is true in some step into a cube, from a state within so many gt and outside of a cube."""
        assumptions = [self._then(literal) for literal in cube]
        return self._solve(frame, assumptions, allowed=True, without=without)

    def _solve(
        self, frame: int, assumptions: Sequence[int], allowed: bool, without: Cube | None = None
    ) -> set[int] | None:
        active = self._active[frame:] if frame else self._active[:1]
        asked = [*active, *self._known, *assumptions]
        if allowed:
            asked.append(self._allowed)
        guard = 0
        if without is not None:
            guard = self._system.formula.fresh()
            self._sat.add(-guard, *(-literal for literal in without))
            asked.append(guard)
        possible = self._sat.ask(asked)
        model = self._sat.model() if possible else None
        self._used = set() if possible else self._sat.core()
        if guard:
            self._sat.add(-guard)
        return model
