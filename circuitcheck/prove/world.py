"""What the world may do to a circuit: every change of every input at every gt, less what is assumed away."""

from __future__ import annotations

import itertools
from collections.abc import Container, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.engine.machine import Machine
from circuitcheck.engine.step import Action
from circuitcheck.model.claims import Assumption, Holding, Sparing
from circuitcheck.prove.words import TooMuch

MOST_CHOICES = 4_096
"""How many different things the world may do in one gt before the question is called too large."""
Held = tuple[int, ...]
"""For each input, for how many gt it must still keep its level."""


class Choice(NamedTuple):
    """What the world does in one gt, and how long its inputs must keep still after that."""

    actions: tuple[Action, ...]
    held: Held


class World:
    """The inputs of a machine, each held to what is assumed of it alone."""

    def __init__(self, machine: Machine, assumptions: Sequence[Assumption]) -> None:
        self._machine = machine
        self._inputs = [number for number, device in enumerate(machine.devices) if device.part.verbs]
        self._hold = [hold_of(machine.names[number], assumptions) for number in self._inputs]

    def start(self) -> Held:
        """Nothing has changed yet."""
        return (0,) * len(self._inputs)

    def choices(
        self, held: Held, levels: Sequence[int], marks: Sequence[int], due: Container[int] = ()
    ) -> Iterator[Choice]:
        """Everything the world may do in the next gt, doing nothing first. Raises TooMuch.

        `due` are the devices whose waits are over in it: a button that lets go can be pressed again.
        """
        left = tuple(max(each - 1, 0) for each in held)
        ways = [
            (None,) if left[place] else self._ways(number, levels, marks, number in due)
            for place, number in enumerate(self._inputs)
        ]
        count = 1
        for each in ways:
            count *= len(each)
            if count > MOST_CHOICES:
                raise TooMuch(f"{len(self._inputs)} inputs can be worked in more than {MOST_CHOICES:,} ways in one gt")
        for chosen in itertools.product(*ways):
            later = tuple(
                rest if action is None else hold for rest, hold, action in zip(left, self._hold, chosen, strict=True)
            )
            yield Choice(tuple(action for action in chosen if action is not None), later)

    def _ways(
        self, number: int, levels: Sequence[int], marks: Sequence[int], lets_go: bool
    ) -> tuple[Action | None, ...]:
        """What may be done to one input; None is nothing. A press that would be ignored is left out (rule O1)."""
        verbs = self._machine.devices[number].part.verbs
        if "throw" in verbs:
            return (None, Action(number, "throw"))
        if "press" in verbs:
            return (None, Action(number, "press")) if lets_go or not levels[number] else (None,)
        if "is" in verbs:
            others = (level for level in range(16) if level != levels[number])
            return (None, *(Action(number, "is", level) for level in others))
        return (None, Action(number, "off" if marks[number] else "on"))


def hold_of(name: str, assumptions: Sequence[Assumption]) -> int:
    """For how many gt an input keeps still after a change."""
    return max((each.at_least for each in assumptions if isinstance(each, Holding) and name in each.names), default=0)


class Pace:
    """How often inputs may change, all taken together. Its states are how many gt ago each change was that counts."""

    def __init__(self, assumptions: Sequence[Assumption]) -> None:
        self._bounds = [each for each in assumptions if isinstance(each, Sparing)]
        self._longest = max((each.within for each in self._bounds), default=0)

    @property
    def free(self) -> bool:
        """Whether there is no such bound."""
        return not self._bounds

    def after(self, recent: tuple[int, ...], acts: int) -> tuple[int, ...] | None:
        """The state after a gt with some outside actions, or None where so many are not allowed."""
        if self.free:
            return ()
        aged = tuple(age + 1 for age in recent if age + 1 < self._longest) + (0,) * acts
        for bound in self._bounds:
            if acts and sum(age < bound.within for age in aged) > bound.most:
                return None
        return aged
