"""Which of the like cells it is that changes: the chain knows only how many do, and lets them change places.

Of cells that are alike in a state each is as likely as another, so that one is drawn. Whoever looks at cells by their
names, a replay or an assumption about some of them, must follow this from the start of a run.
"""

from __future__ import annotations

import random
from collections.abc import Sequence

from circuitcheck.chance.machine.chain import Chain
from circuitcheck.chance.machine.joint import Changed
from circuitcheck.chance.machine.units import Mark, Unit


class Identities:
    """For each device of the chain's state in one run, which of the like ones it is. The chain must keep its turns."""

    def __init__(self, chain: Chain, seed: int, run: int) -> None:
        self._chain = chain
        self._chance = random.Random(f"{seed}/{run}/like")
        self._own = list(range(len(chain.program.devices)))
        self.moved(chain.units.in_order(chain.first_state()).turn)

    def of(self, state: int, changed: Changed) -> Changed:
        """The devices that change, by their own numbers, of those of the chain's state."""
        touched = set(changed)
        for units, marks in self._chain.like(state):
            if any(touched.intersection(unit) for unit in units):
                self._exchange(units, marks)
        return tuple(self._own[device] for device in changed)

    def moved(self, turn: Sequence[int] | None) -> None:
        """Takes it that like devices have changed places in the chain's state."""
        if turn is not None:
            before, self._own = self._own, self._own[:]
            for device, to in enumerate(turn):
                self._own[to] = before[device]

    def _exchange(self, units: Sequence[Unit], marks: Sequence[Mark]) -> None:
        """Puts units of which a state says the same into an order by chance."""
        alike: dict[Mark, list[Unit]] = {}
        for unit, mark in zip(units, marks, strict=True):
            alike.setdefault(mark, []).append(unit)
        for slots in alike.values():
            own = [[self._own[device] for device in unit] for unit in slots]
            self._chance.shuffle(own)
            for unit, devices in zip(slots, own, strict=True):
                for device, which in zip(unit, devices, strict=True):
                    self._own[device] = which
