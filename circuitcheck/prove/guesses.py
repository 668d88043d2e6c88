"""Clauses that hold in every state that random runs of a certificate's system come to: guesses at an invariant.

Runs go side by side, one in each bit of a whole number, until they come to hardly anything new. Of what they came to,
every one, two or three bits that are never so together make a clause. A circuit whose inputs keep a pace is in few of
all states that it could hold, and three bits tell most of the others apart: where a search for an invariant clause by
clause takes minutes, all guesses together often are one (the sluice: 8,048 clauses, of which a proof needs 588).

Nothing rests on a guess: those that a step leads out of are left out by the solver (Houdini: C. Flanagan and
K. R. M. Leino, "Houdini, an annotation assistant for ESC/Java", 2001), and of the rest each certificate has its proofs.
To guess at candidates by simulation is known from C. A. J. van Eijk, "Sequential equivalence checking based on
structural similarities" (2000), for equal bits.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from typing import NamedTuple

from circuitcheck.certificate.gates import Model
from circuitcheck.certificate.three_questions import Clause
from circuitcheck.prove.meter import Meter

LANES = 2_048
"""How many runs go side by side."""
STEPS = 400
"""For how many steps they go before it is looked what is new."""
ROUNDS = 8
"""How often that is done at most."""
KEPT = 8
"""Of so many steps one is looked at, by chance: inputs that keep a pace would be seen at the same moment each time."""
NEWS = 100
"""They have come to hardly anything new where no more than one state of so many is."""
SETTLES = 8
"""How often the inputs that are said to be what something else is are set to that, for a step."""
RARE = (0, 2, 5)
"""A bit that nothing says is true in a step with a chance of one in two to the power of one of these and one more."""
MOST_BITS = 200
"""Of systems that hold more, three bits are not looked at together."""
STEP_COST, STATE_COST, LOOK_COST = 16, 1, 1
"""What a gate in all runs costs, in 256 moves; what a state costs, in 128; and three bits looked at together, in 16."""


class Sampled(NamedTuple):
    """The states that random runs came to."""

    rows: dict[int, int]
    """For each bit, by its variable, in which of the states it is true: a bit for each state."""
    states: int


def sampled(model: Model, meter: Meter, rounds: int = ROUNDS) -> Sampled:
    """The states that random runs of a system come to. Raises OverBudget."""
    runs = _Runs(model)
    found: set[str] = set()
    for _ in range(rounds):
        before = len(found)
        meter.count(0, STEPS * len(model.ands) * STEP_COST // 256)
        steps = runs.go(STEPS)
        meter.count(0, LANES * len(steps) * STATE_COST // 128)
        found |= {state for step in steps for state in _apart(step)}
        if len(found) - before <= len(found) // NEWS:
            break
    states = sorted(found)
    rows = {
        latch.literal >> 1: int("".join(state[place] for state in states), 2)
        for place, latch in enumerate(model.latches)
    }
    return Sampled(rows, len(states))


def _apart(step: list[int]) -> set[str]:
    """The states of all runs at one moment, each as a text of its bits."""
    return {"".join(bits) for bits in zip(*(format(row, f"0{LANES}b") for row in step), strict=True)}


def guessed(model: Model, found: Sampled, meter: Meter) -> Iterator[Clause]:
    """Clauses of one, two or three literals that hold in all of the states. Raises OverBudget."""
    every = (1 << found.states) - 1
    rows = dict(found.rows)
    rows |= {-variable: every ^ row for variable, row in found.rows.items()}
    literals = [literal for literal, row in rows.items() if row and row != every]
    literals.sort(key=abs)
    yield from ((-literal,) for literal, row in rows.items() if not row)
    apart: dict[int, set[int]] = {literal: {-literal} for literal in literals}
    for one, other in itertools.combinations(literals, 2):
        if one != -other and not rows[one] & rows[other]:
            apart[one].add(other)
            apart[other].add(one)
            yield (-one, -other)
    if len(model.latches) > MOST_BITS:
        return
    for place, one in enumerate(literals):
        for second, other in enumerate(literals[place + 1 :], place + 1):
            if other in apart[one]:
                continue
            both, never = rows[one] & rows[other], apart[one] | apart[other]
            meter.count(0, (len(literals) - second) * LOOK_COST // 16)
            for third in literals[second + 1 :]:
                if third not in never and not both & rows[third]:
                    yield (-one, -other, -third)


class _Runs:
    """Random runs of a system, side by side. One that can't keep to what a step must be stays where it is."""

    def __init__(self, model: Model) -> None:
        self._model = model
        self._random = random.Random(len(model.latches))
        self._every = (1 << LANES) - 1
        self._said = dict(_said(model))
        self._begins = {latch.then >> 1: place for place, latch in enumerate(model.latches) if not latch.then & 1}
        self.state = [
            self._random.getrandbits(LANES) if latch.reset is None else self._every * latch.reset
            for latch in model.latches
        ]

    def go(self, steps: int) -> list[list[int]]:
        """Goes on for some steps. Returns what the latches held at some of the moments."""
        kept = [self.state]
        for _ in range(steps):
            self._step()
            if self._random.randrange(KEPT) == 0:
                kept.append(self.state)
        return kept

    def _step(self) -> None:
        model, every = self._model, self._every
        values = [0, *map(self._input, range(1, len(model.inputs) + 1)), *self.state]
        first = len(values)
        values += [0] * len(model.ands)
        for _ in range(SETTLES):
            for place, (_, low, high) in enumerate(model.ands, first):
                one, other = values[low >> 1], values[high >> 1]
                values[place] = (one ^ every if low & 1 else one) & (other ^ every if high & 1 else other)
            wrong = 0
            for variable, constraint in self._said.items():
                otherwise = self._value(values, constraint) ^ every
                values[variable] ^= otherwise
                wrong |= otherwise
            if not wrong:
                break
        counts = every ^ wrong
        for constraint in model.constraints:
            counts &= self._value(values, constraint)
        stays = every ^ counts
        self.state = [
            self._value(values, latch.then) & counts | was & stays
            for latch, was in zip(model.latches, self.state, strict=True)
        ]

    def _value(self, values: list[int], literal: int) -> int:
        return values[literal >> 1] ^ self._every if literal & 1 else values[literal >> 1]

    def _input(self, variable: int) -> int:
        """What an input is, to begin with: as the latch was that will hold it, or at random."""
        if variable in self._begins:
            return self.state[self._begins[variable]]
        drawn = self._random.getrandbits(LANES)
        for _ in range(self._random.choice(RARE)):
            drawn &= self._random.getrandbits(LANES)
        return drawn


def _said(model: Model) -> Iterator[tuple[int, int]]:
    """Of each input that a constraint says is the same as something: its variable, and the constraint."""
    ands = {gate >> 1: (low, high) for gate, low, high in model.ands}
    known: set[int] = set()
    for constraint in model.constraints:
        # Two bits are the same where neither one of them alone is true: two negated gates.
        one, other = (ands.get(each >> 1, ()) if each & 1 else () for each in ands.get(constraint >> 1, (0, 0)))
        if constraint & 1 and one and {each ^ 1 for each in one} == set(other):
            inputs = [each >> 1 for each in one if 1 <= each >> 1 <= len(model.inputs) and each >> 1 not in known]
            if inputs:
                known.add(inputs[-1])
                yield inputs[-1], constraint
