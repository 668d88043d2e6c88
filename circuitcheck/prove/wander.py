"""Runs at random, as the assumptions allow, from a fixed seed: whether what a claim refers to comes up at all, and
whether one of them breaks it.

That none does says nothing. Of one that does the actions are left out that it can do without, as in delta debugging
(A. Zeller and R. Hildebrandt, "Simplifying and isolating failure-inducing input", 2002), here the earliest first.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.checks.allowed import allowed
from circuitcheck.checks.conditions import compiled
from circuitcheck.checks.watches import Broken, watch
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import Start, starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, step
from circuitcheck.model.claims import Assumption, Body, Check, Condition
from circuitcheck.prove.burnt_torches import acts_of
from circuitcheck.prove.compose import Stimulus
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.piece import Deed
from circuitcheck.prove.world import Pace, World

RUNS = 4
RUNS_TO_BREAK = 2
LENGTH = 2_000
"""In gt."""
FEW = 2
"""How many inputs every other run works."""
NOTHING_YET: tuple[int, ...] = ()
IN_MOTION = 0.1
"""How often somebody acts while something waits; at rest, every other gt."""


class Moment(NamedTuple):
    """A gt of a run."""

    at: int
    actions: tuple[Action, ...]
    levels: bytes
    before: bytes


def comes_up(program: Program, condition: Condition, assumptions: Sequence[Assumption], meter: Meter) -> bool:
    """Whether a condition holds at the end of some gt of some run that was tried. Raises OverBudget and what `step`
    raises."""
    holds = compiled(condition, program)
    return any(
        holds(moment.levels, moment.before)
        for number in range(RUNS)
        for moment in _run(program, assumptions, number, meter)
    )


def broken_by_chance(program: Program, body: Body, assumptions: Sequence[Assumption], meter: Meter) -> Stimulus | None:
    """What is done in a run at random that breaks a claim, without what it can do without; None if none was found.

    Raises OverBudget and what `step` raises.
    """
    for number in range(RUNS_TO_BREAK):
        looking = _Looking(program, body)
        done: list[tuple[Action, ...]] = []
        for moment in _run(program, assumptions, number, meter):
            done.append(moment.actions)
            if looking.broken(moment):
                return _stimulus(program, _shorter(program, body, assumptions, done, meter))
    return None


class _Looking:
    """The watch of a claim beside a run."""

    def __init__(self, program: Program, body: Body) -> None:
        self._watch = watch(body, lambda condition: compiled(condition, program))
        self._state = self._watch.start()

    def broken(self, moment: Moment) -> bool:
        """Whether the claim is broken in this gt."""
        self._state = self._watch.step(self._state, moment.at, 1, moment.levels, moment.before)
        return isinstance(self._state, Broken)


def _shorter(
    program: Program,
    body: Body,
    assumptions: Sequence[Assumption],
    done: Sequence[tuple[Action, ...]],
    meter: Meter,
) -> list[tuple[Action, ...]]:
    """A run that breaks a claim as well: with as few of the latest changes as do, begun as soon as there is one."""
    found = list(done)
    changes = [at for at, actions in enumerate(done) if actions]
    kept = 1
    while kept < len(changes):
        since = changes[-kept]
        tried = _until_broken(program, body, [(), *done[since:]], meter)
        if tried is not None and _keeps(program, tried, assumptions):
            found = tried
            break
        kept *= 2
    for at in [at for at, actions in enumerate(found) if actions]:
        fewer = [*found[:at], (), *found[at + 1 :]]
        tried = _until_broken(program, body, fewer, meter)
        if tried is not None and _keeps(program, tried, assumptions):
            found = tried
    return _closer(program, body, assumptions, found, meter)


def _closer(
    program: Program, body: Body, assumptions: Sequence[Assumption], done: list[tuple[Action, ...]], meter: Meter
) -> list[tuple[Action, ...]]:
    """The same with less time between changes, where it breaks the claim still."""
    changes = [at for at, actions in enumerate(done) if actions]
    since = [at - before - 1 for before, at in itertools.pairwise([0, *changes])]
    for place, spare in enumerate(since):
        while spare:
            at = [at for at, actions in enumerate(done) if actions][place]
            tried = _until_broken(program, body, [*done[: at - spare], *done[at:]], meter)
            if tried is not None and sum(map(bool, tried)) == len(changes) and _keeps(program, tried, assumptions):
                done = tried
                break
            spare //= 2
    return done


def _keeps(program: Program, done: Sequence[tuple[Action, ...]], assumptions: Sequence[Assumption]) -> bool:
    acts = acts_of(_stimulus(program, done))
    return allowed(Check("", acts, (), (), len(done), NOWHERE), assumptions)


def _until_broken(
    program: Program, body: Body, done: Sequence[tuple[Action, ...]], meter: Meter
) -> list[tuple[Action, ...]] | None:
    """What is done until the claim is broken; None where it is not."""
    looking = _Looking(program, body)
    for moment in _driven(program, starts(program)[0], done, meter):
        if looking.broken(moment):
            return list(done[: moment.at + 1])
    return None


def _driven(program: Program, start: Start, done: Sequence[tuple[Action, ...]], meter: Meter) -> Iterator[Moment]:
    """The run in which this is done, in one order."""
    state = Simulator(program, 0, start.levels).tell_everyone()[0].snapshot()
    yield Moment(0, (), state.levels, start.levels)
    for at, actions in enumerate(done[1:], 1):
        meter.count(1)
        before, state = state.levels, step(program, state, actions)[0].state
        yield Moment(at, actions, state.levels, before)


def _stimulus(program: Program, done: Iterable[tuple[Action, ...]]) -> Stimulus:
    names = program.names
    return [[Deed(names[each.device], each.verb, each.level) for each in actions] for actions in done]


def _run(program: Program, assumptions: Sequence[Assumption], number: int, meter: Meter) -> Iterator[Moment]:
    """A run at random; each number stands for one."""
    chance = random.Random(number)
    world, pace = World(program, assumptions), Pace(assumptions)
    start = chance.choice(starts(program))
    worked = _worked(program, chance, few=number % 2 == 1)
    state = Simulator(program, 0, start.levels).tell_everyone()[0].snapshot()
    held, recent = world.start(), NOTHING_YET
    yield Moment(0, (), state.levels, start.levels)
    for at in range(1, LENGTH + 1):
        meter.count(1)
        acts = int(chance.random() < (IN_MOTION if state.waits else 0.5) and pace.room(recent) > 0)
        choices = [
            choice
            for choice in world.choices(held, state.levels, state.device_state, _due(state), acts)
            if all(action.device in worked for action in choice.actions)
        ]
        actions: tuple[Action, ...] = ()
        if choices:
            actions, held = chance.choice(choices)
        else:
            held = tuple(max(each - 1, 0) for each in held)
        recent = pace.after(recent, len(actions)) or ()
        before, state = state.levels, step(program, state, actions)[0].state
        yield Moment(at, actions, state.levels, before)


def _worked(program: Program, chance: random.Random, few: bool) -> set[int]:
    """The inputs that a run works: all, or few, so that many that are joined are off together now and then."""
    inputs = [number for number, device in enumerate(program.devices) if device.part.verbs]
    return set(chance.sample(inputs, min(FEW, len(inputs))) if few else inputs)


def _due(state: State) -> set[int]:
    return {device for to_go, _, devices in state.waits if to_go == 1 for device in devices}
