"""What the world may do to a circuit: every change of every input at every gt, less what is assumed away."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from circuitcheck.engine.machine import Machine
from circuitcheck.engine.step import Action
from circuitcheck.model.claims import Assumption, Holding, Sparing

MOST_CHOICES = 4_096
"""How many different things the world may do in one gt before the question is called too large."""


class TooMuch(Exception):
    """The world may do more in one gt than can be followed."""


@dataclass(frozen=True, slots=True)
class WorldState:
    """How long each input must still keep its level, and how long ago the changes were that still count (gt)."""

    held: tuple[int, ...]
    recent: tuple[int, ...]


class World:
    """The inputs of a machine under some assumptions."""

    def __init__(self, machine: Machine, assumptions: Sequence[Assumption]) -> None:
        self._machine = machine
        self._inputs = [number for number, device in enumerate(machine.devices) if device.part.verbs]
        self._hold = [self._hold_of(machine.names[number], assumptions) for number in self._inputs]
        self._sparing = [each for each in assumptions if isinstance(each, Sparing)]
        self._longest = max((each.within for each in self._sparing), default=0)

    @staticmethod
    def _hold_of(name: str, assumptions: Sequence[Assumption]) -> int:
        holds = (each.at_least for each in assumptions if isinstance(each, Holding) and name in each.names)
        return max(holds, default=0)

    def start(self) -> WorldState:
        """Nothing has changed yet."""
        return WorldState((0,) * len(self._inputs), ())

    def choices(
        self, state: WorldState, levels: Sequence[int], marks: Sequence[int]
    ) -> Iterator[tuple[tuple[Action, ...], WorldState]]:
        """Everything the world may do in the next gt, doing nothing first. Raises TooMuch."""
        held = tuple(max(left - 1, 0) for left in state.held)
        recent = tuple(age + 1 for age in state.recent if age + 1 < self._longest)
        room = min((each.most - sum(age < each.within for age in recent) for each in self._sparing), default=None)
        each_input = [
            self._ways(place, number, levels, marks) if not held[place] else (None,)
            for place, number in enumerate(self._inputs)
        ]
        count = 1
        for ways in each_input:
            count *= len(ways)
            if count > MOST_CHOICES:
                raise TooMuch
        for chosen in itertools.product(*each_input):
            actions = tuple(action for action in chosen if action is not None)
            if room is None or len(actions) <= max(room, 0):
                changed = tuple(
                    left if action is None else self._hold[place]
                    for place, (left, action) in enumerate(zip(held, chosen, strict=True))
                )
                later = (*recent, *(0 for _ in actions)) if self._longest else ()
                yield actions, WorldState(changed, later)

    def _ways(self, place: int, number: int, levels: Sequence[int], marks: Sequence[int]) -> tuple[Action | None, ...]:
        """What may be done to one input; None is nothing."""
        verbs = self._machine.devices[number].part.verbs
        if "throw" in verbs:
            return (None, Action(number, "throw"))
        if "press" in verbs:
            return (None,) if levels[number] else (None, Action(number, "press"))
        if "is" in verbs:
            others = (level for level in range(16) if level != levels[number])
            return (None, *(Action(number, "is", level) for level in others))
        return (None, Action(number, "off" if marks[number] else "on"))
