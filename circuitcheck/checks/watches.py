"""Watches: small automata that run beside a circuit and say at which gt a claim is broken.

A watch's state is one small hashable value, so that equal states of circuit and watches can be merged. It is stepped
over a stretch of `count` equal gt at once: nothing changes between events, so only its counters move.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass

from circuitcheck.checks.conditions import Holds, Levels
from circuitcheck.model import claims as model


@dataclass(frozen=True, slots=True)
class Broken:
    """The state of a watch whose claim was broken at this gt."""

    at: int
    since: int | None = None
    """Of something that took too long or not long enough: the gt from which it counts."""


State = Hashable
Compiles = Callable[[model.Condition], Holds]
"""Makes a function of levels out of a condition."""


class Watch:
    """Looks at the end of each gt. `triggered` tells whether what it refers to ever came up."""

    def __init__(self) -> None:
        self.triggered = False

    def start(self) -> State:
        """The state before gt 0."""
        return None

    def step(self, state: State, at: int, count: int, now: Levels, before: Levels) -> State:
        """The state after the gt `at` to `at + count - 1`, all of whose ends look alike."""
        return state


class InvariantWatch(Watch):
    def __init__(self, body: model.Invariant, compiles: Compiles) -> None:
        super().__init__()
        self._holds = compiles(body.condition)

    def step(self, state: State, at: int, count: int, now: Levels, before: Levels) -> State:
        self.triggered = True
        return state if self._holds(now, before) else Broken(at)


class ResponseWatch(Watch):
    """Its state is how many gt are left to answer the earliest open trigger, or None."""

    def __init__(self, body: model.Response, compiles: Compiles) -> None:
        super().__init__()
        self._trigger = compiles(body.trigger)
        self._goal = compiles(body.goal)
        self._unless = compiles(body.unless) if body.unless else None
        self._within = body.within

    def step(self, state: State, at: int, count: int, now: Levels, before: Levels) -> State:
        triggers = self._trigger(now, before)
        self.triggered = self.triggered or triggers
        if self._goal(now, before) or (self._unless is not None and self._unless(now, before)):
            return None
        if state is None:
            if not triggers:
                return None
            left = self._within - (count - 1)
        else:
            assert isinstance(state, int)
            left = state - count
        return left if left > 0 else Broken(at + count - 1 + left)


class UntilWatch(Watch):
    """Its state is True while a trigger still holds the claim to its word."""

    def __init__(self, body: model.Until, compiles: Compiles) -> None:
        super().__init__()
        self._trigger = compiles(body.trigger)
        self._held = compiles(body.held)
        self._release = compiles(body.release)

    def step(self, state: State, at: int, count: int, now: Levels, before: Levels) -> State:
        triggers = self._trigger(now, before)
        self.triggered = self.triggered or triggers
        if not (state or triggers) or self._release(now, before):
            return None
        return True if self._held(now, before) else Broken(at)


class SteadyWatch(Watch):
    """Its state is how many gt the signal must still keep its level, or None."""

    def __init__(self, body: model.Steady, compiles: Compiles) -> None:
        super().__init__()
        self._trigger = compiles(body.trigger)
        self._changes = compiles(model.Atom(body.name, model.Test.CHANGES))
        self._duration = body.duration

    def step(self, state: State, at: int, count: int, now: Levels, before: Levels) -> State:
        if state is not None and self._changes(now, before):
            return Broken(at)
        if self._trigger(now, before):
            self.triggered = True
            return self._duration
        if state is None:
            return None
        assert isinstance(state, int)
        return state - count if state > count else None


class RelationWatch(Watch):
    """Its state is for how many gt the two have been wrong to each other."""

    def __init__(self, body: model.Relation, compiles: Compiles) -> None:
        super().__init__()
        self._one = compiles(model.Atom(body.name))
        self._other = compiles(model.Atom(body.other))
        self._inverted = body.inverted
        self._within = body.within

    def start(self) -> State:
        return 0

    def step(self, state: State, at: int, count: int, now: Levels, before: Levels) -> State:
        assert isinstance(state, int)
        self.triggered = True
        alike = self._one(now, before) is self._other(now, before)
        if alike is not self._inverted:
            return 0
        wrong = state + count
        return wrong if wrong <= self._within else Broken(at + self._within - state)


BEFORE_START = -1
"""The state of a length watch while the pulse is one whose beginning nobody saw."""


class LengthsWatch(Watch):
    """Its state: None outside a pulse, its age in gt inside, negative ages for one that was there at the start."""

    def __init__(self, body: model.Lengths, compiles: Compiles) -> None:
        super().__init__()
        test = model.Test.OFF if body.of_gaps else model.Test.ON
        self._inside = compiles(model.Atom(body.name, test))
        self._least, self._most = body.least or 0, body.most
        self._longest = max(self._least, body.most or 0)

    def start(self) -> State:
        return BEFORE_START

    def step(self, state: State, at: int, count: int, now: Levels, before: Levels) -> State:
        if not self._inside(now, before):
            if isinstance(state, int) and state > 0:
                self.triggered = True
                if state < self._least:
                    return Broken(at)
            return None
        whole = state is None or (isinstance(state, int) and state > 0)
        age = count + (abs(state) - (0 if whole else 1) if isinstance(state, int) else 0)
        if self._most is not None and age > self._most:
            return Broken(at + count - 1 - (age - self._most - 1))
        kept = min(age, self._longest + 1)
        return kept if whole else -1 - kept


class DelayWatch(Watch):
    """Its state is how long ago the first open start edge was, in gt, or None."""

    def __init__(self, body: model.Delay, compiles: Compiles) -> None:
        super().__init__()
        self._start = compiles(body.start)
        self._end = compiles(body.end)
        self._period = (body.start.name, body.start.test) == (body.end.name, body.end.test)
        self._least, self._most = body.least or 0, body.most

    def step(self, state: State, at: int, count: int, now: Levels, before: Levels) -> State:
        starts, ends = self._start(now, before), self._end(now, before)
        self.triggered = self.triggered or starts
        if state is None:
            if not starts:
                return None
            # An edge is not its own answer: from rise to rise is a period.
            if ends and not self._period:
                return None if self._least == 0 else Broken(at, at)
            return self._waited(count - 1, at, count)
        assert isinstance(state, int)
        if not ends:
            return self._waited(state + count, at, count)
        if state + 1 < self._least or (self._most is not None and state + 1 > self._most):
            return Broken(at, at - state - 1)
        # An edge that answers one start may be the next start as well.
        return self._waited(count - 1, at, count) if starts else None

    def _waited(self, age: int, at: int, count: int) -> State:
        """The age of a wait that has not been answered; at its last gt it is too late."""
        if self._most is not None and age >= self._most:
            late = at + count - 1 - (age - self._most)
            return Broken(late, late - self._most)
        return age if self._most is not None else min(age, self._least)


class ExpectationWatch(Watch):
    """Its state is True once an eventual expectation has been met."""

    def __init__(self, expectation: model.Expectation, compiles: Compiles) -> None:
        super().__init__()
        self._expectation = expectation
        self._holds = compiles(expectation.condition)

    def step(self, state: State, at: int, count: int, now: Levels, before: Levels) -> State:
        wanted = self._expectation
        first, last = max(at, wanted.start), min(at + count, wanted.end) - 1
        if first > last or state:
            return state
        self.triggered = True
        if self._holds(now, before):
            return True if wanted.eventually else state
        if not wanted.eventually:
            return Broken(first)
        return Broken(wanted.end - 1) if last == wanted.end - 1 else state


def watch(body: model.Body, compiles: Compiles) -> Watch:
    """The watch for what is claimed; for what no single run can show, one that never sees anything."""
    if isinstance(body, model.Invariant):
        return InvariantWatch(body, compiles)
    if isinstance(body, model.Response):
        return ResponseWatch(body, compiles)
    if isinstance(body, model.Until):
        return UntilWatch(body, compiles)
    if isinstance(body, model.Steady):
        return SteadyWatch(body, compiles)
    if isinstance(body, model.Relation):
        return RelationWatch(body, compiles)
    if isinstance(body, model.Lengths):
        return LengthsWatch(body, compiles)
    return DelayWatch(body, compiles) if isinstance(body, model.Delay) else Watch()


def longest_debt(claim: model.Claim) -> int:
    """For how many gt after the last event a claim may still be owed something."""
    body = claim.body
    if isinstance(body, model.Response | model.Relation):
        return body.within + 1
    if isinstance(body, model.Steady):
        return body.duration
    if isinstance(body, model.Lengths | model.Delay):
        return (body.most or 0) + 1
    return 0
