"""Runs at random, to see that what a claim refers to comes up at all: from a fixed seed, as the assumptions allow."""

from __future__ import annotations

import random
from collections.abc import Sequence

from circuitcheck.checks.conditions import compiled
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.state import State
from circuitcheck.engine.step import Action, step
from circuitcheck.model.claims import Assumption, Condition
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.world import Pace, World

RUNS = 4
LENGTH = 2_000
"""In gt."""
FEW = 2
"""How many inputs every other run works."""
NOTHING_YET: tuple[int, ...] = ()
IN_MOTION = 0.1
"""How often somebody acts while something waits; at rest, every other gt."""


def comes_up(program: Program, condition: Condition, assumptions: Sequence[Assumption], meter: Meter) -> bool:
    """Whether a condition holds at the end of some gt of some run that was tried. Raises OverBudget and what `step`
    raises."""
    holds = compiled(condition, program)
    for number in range(RUNS):
        chance = random.Random(number)
        world, pace = World(program, assumptions), Pace(assumptions)
        start = chance.choice(starts(program))
        worked = _worked(program, chance, few=number % 2 == 1)
        state = Simulator(program, 0, start.levels).tell_everyone()[0].snapshot()
        held, recent = world.start(), NOTHING_YET
        if holds(state.levels, start.levels):
            return True
        for _ in range(LENGTH):
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
            if holds(state.levels, before):
                return True
    return False


def _worked(program: Program, chance: random.Random, few: bool) -> set[int]:
    """The inputs that a run works: all, or few, so that many that are joined are off together now and then."""
    inputs = [number for number, device in enumerate(program.devices) if device.part.verbs]
    return set(chance.sample(inputs, min(FEW, len(inputs))) if few else inputs)


def _due(state: State) -> set[int]:
    return {device for to_go, _, devices in state.waits if to_go == 1 for device in devices}
