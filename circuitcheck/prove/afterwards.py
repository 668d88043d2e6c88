"""Whether something that seems lost comes about after all once torches have burnt out: tried, not proved.

What can be brought about is explored without burn-out. Before it is said of a state that nothing brings it about from
there, the real circuit is run on from it, left alone and with hands at random: a burn-out may change everything.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

from circuitcheck.checks.allowed import allowed
from circuitcheck.checks.conditions import compiled
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.simulator import Simulator
from circuitcheck.engine.start import starts
from circuitcheck.engine.step import Action, merge, run_game_tick
from circuitcheck.engine.work import Undecided
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Act, Assumption, Check, Possible

TRIES = 12
LONGEST = 400
"""For how many gt the circuit is run on: long enough for eight offs and the rest after them (rule T4)."""


def comes_about(circuit: Circuit, body: Possible, trace: Sequence[Act], assumptions: Sequence[Assumption]) -> bool:
    """Whether it was seen to come about after a trace, in one order at least. `trace` ends where it seemed lost."""
    program = Program(circuit)
    last = max((act.at for act in trace), default=0)
    chance = random.Random(len(circuit.parts))
    for number in range(TRIES):
        acts = (*trace, *(_hands(circuit, chance, last) if number else ()))
        if number and not allowed(Check("", acts, (), (), 0, NOWHERE), assumptions):
            continue
        try:
            if _seen(program, body, acts, last):
                return True
        except (TooManyOrders, Undecided):
            continue
    return False


def _hands(circuit: Circuit, chance: random.Random, last: int) -> list[Act]:
    """One input worked over and over again, at a pace of its own: the quickest trace to burn a torch out."""
    inputs = list(circuit.inputs)
    if not inputs:
        return []
    part, pace = chance.choice(inputs), chance.randint(2, 12)
    verb = "throw" if "throw" in part.verbs else chance.choice(sorted(part.verbs))
    return [Act(last + n * pace, part.name, verb, n % 2 * 15, NOWHERE) for n in range(1, 18)]


def _seen(program: Program, body: Possible, acts: Sequence[Act], last: int) -> bool:
    holds = None if body.condition is None else compiled(body.condition, program)
    simulators = merge(
        told for start in starts(program) for told in Simulator(program, 0, start.levels).tell_everyone()
    )
    before = {id(simulator): bytes(simulator.levels) for simulator in simulators}
    for at in range(last + LONGEST):
        actions = [Action(program.number[act.name], act.verb, act.level) for act in acts if act.at == at]
        if not actions and at and all(simulator.next_due() != at for simulator in simulators):
            continue
        for simulator in simulators:
            simulator.now = at
        levels = bytes(simulators[0].levels)
        simulators = merge(run_game_tick(simulators, actions))
        for simulator in simulators:
            rests = not body.rest or simulator.next_due() is None
            if at > last and rests and (holds is None or holds(simulator.levels, before.get(id(simulator), levels))):
                return True
        before = {id(simulator): bytes(simulator.levels) for simulator in simulators}
    return False
