"""A lasso gone again by the engine, with burn-out, until a round ends in a state that a round began in.

What the prover found without burn-out (rule T4) may burn a torch out as it goes round. So the round is run on the
circuit as it is, over every open order, until it leads back: from there on the run goes on for ever, and what was not
so till then never is.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import partial
from typing import NamedTuple

from circuitcheck.checks.conditions import compiled
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import Start, starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, run_game_tick, step
from circuitcheck.engine.work import Undecided
from circuitcheck.model.claims import ForEver, Resting, atoms, conditions
from circuitcheck.prove.cut import cone
from circuitcheck.prove.forever import Lasso
from circuitcheck.prove.owed import Owed
from circuitcheck.prove.piece import Deed
from circuitcheck.prove.space import seen_by

MOST_ROUNDS = 400
"""How many states rounds may begin in, at most."""
MOST_TIME = 20_000
"""For how many gt the circuit is run, at most, all rounds together."""


class GoneRound(NamedTuple):
    """A lasso that the engine went: the round leads back to the state that it began in."""

    lasso: Lasso
    certain: bool
    """Whether it goes so in every order."""
    start: Start
    """The start that it goes so from."""


class _Now(NamedTuple):
    """Where one way of going a round is: the state, whether something is owed, and what of that given has held."""

    state: State
    owed: bool
    held: frozenset[int]


def gone_round(program: Program, body: ForEver, lasso: Lasso) -> GoneRound | None:
    """The lasso as the engine goes it, rounds before it repeats put into the way; None where it does not.

    What has no say in the claim is left out, since it may be long in coming back to where it was. Raises TooManyStarts.
    """
    devices: Sequence[int] = range(len(program.devices))
    if not isinstance(body, Resting) and not program.moving:
        asked = (atom for condition in conditions(body) for atom in atoms(condition))
        devices = cone(program, [device for atom in asked for device, _ in seen_by(atom, program)])
    part = program if len(devices) == len(program.devices) else Program.cut(program, devices, ())
    for start in starts(program):
        levels = bytes(start.levels[device] for device in devices)
        try:
            gone = _Rounds(part, body, start, levels).gone(lasso)
        except (TooManyOrders, Undecided):
            continue
        if gone is not None:
            return gone
    return None


class _Rounds:
    """One claim on one circuit from one start."""

    def __init__(self, program: Program, body: ForEver, start: Start, levels: bytes) -> None:
        self._program, self._start, self._levels = program, start, levels
        self._claim = Owed(body, partial(compiled, program=program))
        self._certain = True
        self._time = 0

    def gone(self, lasso: Lasso) -> GoneRound | None:
        """See `gone_round`."""
        now = list(self._begin(lasso.way[0]))
        for deeds in lasso.way[1:]:
            now = list(dict.fromkeys(self._gt(now, deeds)))
        begin = [each.state for each in now if each.owed]
        self._certain = self._certain and len(begin) == len(now) == 1
        after: dict[State, list[State]] = {}
        rounds = dict.fromkeys(begin, 0)
        """In how many rounds the engine comes to a state, at least."""
        for state in (queue := list(begin)):
            if len(queue) > MOST_ROUNDS or self._time > MOST_TIME:
                return None
            after[state] = self._round(state, lasso)
            for later in after[state]:
                if later not in rounds:
                    rounds[later] = rounds[state] + 1
                    queue.append(later)
            period = _period(after, state)
            if period:
                ways = rounds[state]
                unrolled = Lasso([*lasso.way, *lasso.round * ways], lasso.round * period)
                return GoneRound(unrolled, self._certain, self._start)
        return None

    def _begin(self, deeds: Iterable[Deed]) -> Iterator[_Now]:
        for told in Simulator(self._program, 0, self._levels).tell_everyone():
            for simulator in run_game_tick([told], self._actions(deeds)):
                yield self._looked_at(_Now(simulator.snapshot(), False, frozenset()), self._levels)

    def _round(self, state: State, lasso: Lasso) -> list[State]:
        """Where one round can lead from a state without what is owed, through all that is given."""
        now = [_Now(state, True, frozenset())]
        for deeds in lasso.round:
            found = dict.fromkeys(self._gt(now, deeds))
            now = [each for each in found if each.owed]
            self._certain = self._certain and len(now) == len(found) == 1
        return [each.state for each in now if len(each.held) == self._claim.count]

    def _gt(self, now: Iterable[_Now], deeds: Iterable[Deed]) -> Iterator[_Now]:
        actions = self._actions(deeds)
        self._time += 1
        for each in now:
            for outcome in step(self._program, each.state, actions):
                yield self._looked_at(each._replace(state=outcome.state), each.state.levels)

    def _actions(self, deeds: Iterable[Deed]) -> list[Action]:
        return [Action(self._program.number[deed.name], deed.verb, deed.level) for deed in deeds]

    def _looked_at(self, now: _Now, before: bytes) -> _Now:
        """What is owed at the end of a gt, and what has held by then."""
        levels = now.state.levels
        owed = self._claim.after(now.owed, levels, before, bool(now.state.waits))
        return _Now(now.state, owed, now.held | self._claim.held(levels, before))


def _period(after: dict[State, list[State]], state: State) -> int:
    """After how many rounds a state can come back to itself, as far as is known; 0 if it can't."""
    away = {state: 0}
    for each in (queue := [state]):
        for later in after.get(each, ()):
            if later == state:
                return away[each] + 1
            if later not in away:
                away[later] = away[each] + 1
                queue.append(later)
    return 0
