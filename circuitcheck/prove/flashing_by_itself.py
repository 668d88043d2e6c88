"""Flashing that a machine makes by itself (rule S1): in every state in which nobody has touched an input for a second.

A lever that is thrown quickly flashes any lamp, so only what goes on without hands counts. A *touch* is a gt in which
somebody acts from outside.

1. Every state is found, those with fewer touches first, each with all that follows it untouched, before anybody touches
   it again. So a budget that is used up has seen all that comes of a few touches, however long it takes.
2. The *quiet* states are those that an untouched second can end in: what follows every state untouched, 20 gt later.
   What follows a quiet state untouched is quiet as well.
3. For each quiet state the most changes in turn of the second after it are computed backwards, from one gt to the
   next, over every open order (C5). That is exact: no trace has to be written down for it.
4. The worst second is run again by the engine, with burn-out (T4), before it is reported.

What is found comes of runs that the space has, and the reductions of `prove.automaton` leave the runs that can be seen
as they are, outside actions counted. Where the circuit is cut, orders between pieces are followed freely, so a second
that the engine can't go through is looked for once more without cuts.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from circuitcheck.checks.finding import Finding, FlashingSearch
from circuitcheck.checks.flashing import (
    BOTH,
    DARK,
    EITHER,
    HARMFUL_FLASHES,
    HARMFUL_TURNS,
    LIT,
    caution,
    lamps_of,
    turn,
)
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.program import Program
from circuitcheck.model.claims import Act, Atom, Study, Test
from circuitcheck.model.duration import GAME_TICKS_PER_SECOND, show
from circuitcheck.prove.burnt_torches import TOO_LARGE, quiet
from circuitcheck.prove.compose import Step, Stimulus
from circuitcheck.prove.cut import cut, uncut
from circuitcheck.prove.flashing_run import mended, worst_second
from circuitcheck.prove.influence import until_wide_enough
from circuitcheck.prove.meter import Limits, Meter, OverBudget
from circuitcheck.prove.space import Setting, Space

MOST_STATES = 50_000
"""How many states are looked at, at most, in search of it."""
AFTERWARDS = 400
"""For how many gt a machine is left alone where a torch burns out on the way: eight offs, and the rest after them."""
NOT_GONE = "the quickest trace burns out a torch (T4) or takes an order that it can't; others were not tried"


def flashing(study: Study, limits: Limits, grown: Callable[[int], None] = lambda states: None) -> FlashingSearch:
    """The worst second of flashing that a study's circuit makes by itself, if it is harmful."""
    real = Program(study.circuit)
    lamps = lamps_of(real)
    if not lamps:
        return FlashingSearch()
    program = Program(quiet(study.circuit))
    limits = limits._replace(states=min(limits.states, MOST_STATES))
    search = FlashingSearch()
    for planner in (cut, uncut):
        try:
            meter = Meter(limits.states, limits.memory, "for flashing", until=limits.until)
            setting = Setting(program, study.assumptions, planner, meter, grown)
            search, trace, since = until_wide_enough(partial(_searched, setting, sorted(lamps)))
        except TOO_LARGE as large:
            search = FlashingSearch(complete=False, limit=_said(large))
            continue
        if trace is None and (search.complete or search.touches):
            break
        finding = None if trace is None else _confirmed(study, real, trace, since)
        if finding is not None:
            return replace(search, finding=finding)
        if trace is not None:
            search = replace(search, complete=False, limit=NOT_GONE)
    # What it does from the start on is cheap to see, whatever was too large.
    return search if search.complete else replace(search, finding=_confirmed(study, real, (), GAME_TICKS_PER_SECOND))


def _said(large: Exception) -> str:
    return str(large) or "there are too many states, or unknown orders, to write down"


def _confirmed(study: Study, real: Program, acts: Sequence[Act], since: int) -> Finding | None:
    """The worst second after a trace, as the engine goes it, burn-out and all; None if it is harmless or not told."""
    try:
        for after in (GAME_TICKS_PER_SECOND, AFTERWARDS):
            second = worst_second(real, acts, since, since + after)
            if second.flashes.number > HARMFUL_FLASHES:
                when = f"from {show(second.flashes.begins)} to {show(second.flashes.ends)}, while no input changes"
                cure = mended(study.circuit, acts, second.flashes, since)
                return caution(real, second.flashes, when, acts, cure, second.recording)
    except TOO_LARGE:
        pass
    return None


def _searched(setting: Setting, lamps: Sequence[int]) -> tuple[FlashingSearch, tuple[Act, ...] | None, int]:
    """What was found, what is done on the way to the worst second, and the gt in which that begins at the earliest."""
    names = [setting.program.names[lamp] for lamp in lamps]
    atoms = [Atom(name, test) for name in names for test in (Test.RISES, Test.FALLS)]
    walk = _Walk(Space(setting, atoms, counted=True), setting)
    limit = ""
    try:
        walk.explore()
    except OverBudget as over:
        limit = str(over)
    except TOO_LARGE as large:
        if setting.planner is not uncut:
            raise
        limit = _said(large)
    setting.meter.release()
    worst, count = walk.worst()
    search = FlashingSearch(None, len(walk.after), count, walk.touches, not limit, limit)
    if worst is None:
        return search, None, 0
    trace, since = walk.trace(worst)
    acts = tuple(
        Act(at, action.name, action.verb, action.level, NOWHERE)
        for at, actions in enumerate(trace)
        for action in actions
    )
    return search, acts, since


Best = tuple[int, int, int]
"""The most changes in turn of some gt to come, by which change came last: either, to light, to dark."""
NOTHING: Best = (0, 0, 0)
Ahead = tuple[tuple[int, int], ...]
"""What may follow a state untouched: what lamps do in that gt, and the state by then."""


class _Walk:
    """The states of a space with what follows each untouched."""

    def __init__(self, space: Space, setting: Setting) -> None:
        self._space = space
        self._setting = setting
        self._parents: dict[int, int | None] = {}
        self.after: dict[int, Ahead] = {}
        """For every state that was looked at, those with fewer touches first."""
        self.touches = 0
        self._still: dict[int, int] = {}

    def explore(self) -> None:
        """Finds the states. Raises PieceTooLarge, TooMuch, OverBudget."""
        layer: list[int] = []
        following: list[int] = []
        for step in sorted(self._space.root.starts(), key=lambda step: step.acts):
            state = self._space.after(None, step)
            if state is not None:
                self._meet(state, None, following if step.acts else layer)
        while layer or following:
            for state in layer:  # it grows while it is gone through
                ahead = dict.fromkeys((_kind(bits), later) for bits, later in self._space.untouched(state))
                self.after[state] = tuple(ahead)
                for _, later in ahead:
                    self._meet(later, state, layer)
                self._setting.meter.count(1)
                self._setting.grown(len(self._parents))
            for state in layer:
                successors = self._space.successors(state)
                self._setting.meter.count(0, len(successors))
                for _, later in successors:
                    self._meet(later, state, following)
            self.touches += bool(following)
            layer, following = following, []

    def _meet(self, state: int, before: int | None, layer: list[int]) -> None:
        if state not in self._parents:
            self._parents[state] = before
            layer.append(state)

    def worst(self) -> tuple[int | None, int]:
        """The quiet state before the worst second, None if none is harmful; and how many states are quiet."""
        resting = {state for state, ahead in self.after.items() if ahead == ((0, state),)}
        self._still = self._stillness(resting)
        quiet_states = [state for state, still in self._still.items() if still == GAME_TICKS_PER_SECOND]
        best = self._most_turns(quiet_states)
        worst = max(quiet_states, key=lambda state: best[state][EITHER], default=None)
        harmful = worst is not None and best[worst][EITHER] >= HARMFUL_TURNS
        return worst if harmful else None, len(quiet_states) + len(resting)

    def _stillness(self, resting: set[int]) -> dict[int, int]:
        """For how many gt, at most a second, nobody may have touched anything when a state is come to; rest left out.

        All that follows a looked-at state untouched has been looked at, or nothing has been seen to follow it.
        """
        still = {state: 0 for state in self.after if state not in resting}
        front = list(still)
        for gt in range(1, GAME_TICKS_PER_SECOND + 1):
            front = list(dict.fromkeys(later for state in front for _, later in self.after[state] if later in still))
            still |= dict.fromkeys(front, gt)
        return still

    def _most_turns(self, states: Sequence[int]) -> dict[int, Best]:
        """The most changes in turn of the second after each state."""
        best: dict[int, Best] = dict.fromkeys(states, NOTHING)
        if not any(kind for state in states for kind, _ in self.after[state]):
            return best
        for _ in range(GAME_TICKS_PER_SECOND):
            best = {state: self._one_more(self.after[state], best) for state in states}
        return best

    @staticmethod
    def _one_more(ahead: Ahead, best: dict[int, Best]) -> Best:
        either = lit = dark = 0
        for kind, later in ahead:
            known = best.get(later, NOTHING)
            if not kind:
                turns = known
            elif kind == BOTH:
                turns = (2 + known[EITHER], 2 + known[LIT], 2 + known[DARK])
            else:
                gone_on = known[kind]
                turns = (1 + gone_on, gone_on + (kind == DARK), gone_on + (kind == LIT))
            either, lit, dark = max(either, turns[EITHER]), max(lit, turns[LIT]), max(dark, turns[DARK])
        return either, lit, dark

    # The trace there

    def trace(self, worst: int) -> tuple[Stimulus, int]:
        """What is done on a trace through the worst second, and the gt in which that begins."""
        there = self._untouched_to(worst)
        before = self._parents[there[0]]
        touched: list[int] = []
        while before is not None:
            touched.append(before)
            before = self._parents[before]
        second = self._through(worst)
        states = [*reversed(touched), *there, *(state for _, state in second)]
        left_alone = len(touched) + 1
        since = len(touched) + len(there)
        kinds = [0] * since + [kind for kind, _ in second]

        def fits(place: int, step: Step) -> bool:
            return place < left_alone or (not step.acts and (place < since or _kind(step.bits) == kinds[place]))

        last = states[-1]
        trace = self._space.stimulus(
            states[:-1], lambda step, after: after == last and fits(len(states) - 1, step), fits
        )
        return trace, since

    def _untouched_to(self, state: int) -> list[int]:
        """A second of states, each following the one before untouched, that ends in this one."""
        before: dict[int, list[int]] = {}
        for each in self._still:
            for _, later in self.after[each]:
                before.setdefault(later, []).append(each)
        chain = [state]
        for still in range(GAME_TICKS_PER_SECOND - 1, -1, -1):
            chain.append(next(each for each in before[chain[-1]] if self._still[each] >= still))
        return chain[::-1]

    def _through(self, state: int) -> list[tuple[int, int]]:
        """What lamps do in each gt of the worst second after a state, and the states on the way."""
        known: dict[tuple[int, int, int], int] = {}

        def most(at: int, left: int, last: int) -> int:
            if not left or at not in self._still:
                return 0
            if (at, left, last) not in known:
                known[at, left, last] = max((value(each, left, last) for each in self.after[at]), default=0)
            return known[at, left, last]

        def value(step: tuple[int, int], left: int, last: int) -> int:
            more, then = turn(last, step[0])
            return more + most(step[1], left - 1, then)

        found: list[tuple[int, int]] = []
        last = EITHER
        for left in range(GAME_TICKS_PER_SECOND, 0, -1):
            ahead = self.after.get(state, ())
            if not ahead:
                break
            kind, state = max(ahead, key=lambda each: value(each, left, last))
            last = turn(last, kind)[1]
            found.append((kind, state))
        return found


def _kind(bits: int) -> int:
    """What lamps do in a gt: the questions come in pairs, whether a lamp lights up and whether it goes dark."""
    kind = 0
    while bits and kind != BOTH:
        kind |= bits & BOTH
        bits >>= 2
    return kind
