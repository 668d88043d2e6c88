"""What the world may do to a circuit: every change of every input at every gt, less what is assumed away.

An assumption is applied while the choices are enumerated, not after: under "at most 1 changes", a gt of twelve levers
has thirteen choices, not 4,096.
"""

from __future__ import annotations

import itertools
from collections.abc import Container, Iterable, Iterator, Sequence
from math import comb
from typing import NamedTuple

from circuitcheck.engine.program import Program
from circuitcheck.engine.step import Action
from circuitcheck.model.claims import Assumption, Holding, RateLimit
from circuitcheck.prove.interleavings import TooMuch

MOST_CHOICES = 4_096
"""How many different things the world may do in one gt before the question is called too large."""
MOST_ORDERED = 1_500
"""The same where things move, each order counted: what five free inputs may do, or any two of 38."""
UNBOUNDED = 1 << 30
"""More inputs than any circuit has."""
Held = tuple[int, ...]
"""For each input, for how many gt it must still keep its level."""


class Choice(NamedTuple):
    """What the world does in one gt, and how long its inputs must keep still after that."""

    actions: tuple[Action, ...]
    held: Held


class Idle(Holding):
    """Inputs that are left as they are, in a search for a counterexample that may miss some."""


class World:
    """The inputs of a machine, each held to what is assumed of it alone, and all to how many may change in one gt."""

    def __init__(self, program: Program, assumptions: Sequence[Assumption]) -> None:
        self.most = most_in_one_gt(assumptions)
        """How many inputs may change in one gt."""
        self._machine = program
        idle = {name for each in assumptions if isinstance(each, Idle) for name in each.names}
        self._inputs = [
            number
            for number, device in enumerate(program.devices)
            if device.part.verbs and program.names[number] not in idle
        ]
        self.place = {number: place for place, number in enumerate(self._inputs)}
        """Of each input, its place among those that are held."""
        self.hold = [hold_of(program.names[number], assumptions) for number in self._inputs]

    @property
    def most_acts(self) -> int:
        """How many of these inputs may change in one gt."""
        return min(self.most, len(self._inputs))

    def start(self) -> Held:
        """Nothing has changed yet."""
        return (0,) * len(self._inputs)

    def choices(
        self,
        held: Held,
        levels: Sequence[int],
        marks: Sequence[int],
        due: Container[int] = (),
        acts: int | None = None,
        alike: Iterable[Sequence[int]] = (),
        idle: Container[int] = (),
    ) -> Iterator[Choice]:
        """Everything the world may do in the next gt, doing nothing first. Raises TooMuch.

        `due` are the devices whose waits are over in it: a button that lets go can be pressed again. With `acts`, only
        choices of exactly so many actions. Of inputs that are `alike`, it is chosen how many are worked, not which;
        those that are `idle` are not worked.
        """
        left = tuple(max(each - 1, 0) for each in held)
        choices = {
            place: self._choices(number, levels, marks, number in due)
            for place, number in enumerate(self._inputs)
            if not left[place] and number not in idle
        }
        free = [place for place, each in choices.items() if each]
        groups = self._grouped(free, alike)
        counts = range(min(self.most, len(free)) + 1) if acts is None else (acts,) if acts <= self.most else ()
        self._refuse_too_many([(len(choices[group[0]]), len(group)) for group in groups], counts)
        for count in counts:
            for places in _chosen(groups, count):
                later = list(left)
                for place in places:
                    later[place] = self.hold[place]
                for actions in itertools.product(*(choices[place] for place in places)):
                    yield Choice(actions, tuple(later))

    def _grouped(self, free: Iterable[int], alike: Iterable[Sequence[int]]) -> list[list[int]]:
        """The places of the inputs that can be worked, those alike together."""
        first = {device: group[0] for group in alike for device in group}
        groups: dict[int, list[int]] = {}
        for place in free:
            device = self._inputs[place]
            groups.setdefault(first.get(device, device), []).append(place)
        return list(groups.values())

    def _refuse_too_many(self, groups: Sequence[tuple[int, int]], counts: Sequence[int]) -> None:
        """Raises TooMuch past MOST_CHOICES; `groups` is in how many ways each input of a group can be worked, and how
        many are alike in it.
        """
        moving = self._machine.moving
        most, ways = (MOST_ORDERED, "ways and orders") if moving else (MOST_CHOICES, "ways")
        of_count = [1] + [0] * max(counts, default=0)
        for width, size in sorted(groups, reverse=True):
            for count in range(len(of_count) - 1, 0, -1):
                # What inputs call where things move is followed in every order in which they change, those alike once.
                of_count[count] += sum(
                    of_count[count - own] * width**own * (comb(count, own) if moving else 1)
                    for own in range(1, min(size, count) + 1)
                )
            if sum(of_count[count] for count in counts) > most:
                raise TooMuch(f"{len(self._inputs)} inputs can change in more than {most:,} {ways} in one gt")

    def _choices(self, number: int, levels: Sequence[int], marks: Sequence[int], lets_go: bool) -> tuple[Action, ...]:
        """What may be done to one input. A press that would be ignored is left out (rule O1)."""
        verbs = self._machine.devices[number].part.verbs
        if "throw" in verbs:
            return (Action(number, "throw"),)
        if "press" in verbs:
            return (Action(number, "press"),) if lets_go or not levels[number] else ()
        if "is" in verbs:
            return tuple(Action(number, "is", level) for level in range(16) if level != levels[number])
        return (Action(number, "off" if marks[number] else "on"),)


def _chosen(groups: Sequence[Sequence[int]], count: int) -> Iterator[tuple[int, ...]]:
    """Every choice of so many places in all: of each group the first few, since its places are alike."""
    if not groups:
        if not count:
            yield ()
        return
    first, rest = groups[0], groups[1:]
    if sum(map(len, groups)) < count:
        return
    for own in range(min(count, len(first)), -1, -1):
        for others in _chosen(rest, count - own):
            yield (*first[:own], *others)


def hold_of(name: str, assumptions: Sequence[Assumption]) -> int:
    """For how many gt an input keeps still after a change."""
    return max((each.at_least for each in assumptions if isinstance(each, Holding) and name in each.names), default=0)


def most_in_one_gt(assumptions: Sequence[Assumption]) -> int:
    """How many inputs may change in one gt, all taken together."""
    return min((each.most for each in assumptions if isinstance(each, RateLimit)), default=UNBOUNDED)


class Pace:
    """How often inputs may change, all taken together. Its states are how many gt ago each change was that counts."""

    def __init__(self, assumptions: Sequence[Assumption]) -> None:
        self._bounds = [each for each in assumptions if isinstance(each, RateLimit)]
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

    def room(self, recent: tuple[int, ...]) -> int:
        """How many outside actions the gt after a state may have."""
        room = UNBOUNDED
        for bound in self._bounds:
            room = min(room, bound.most - sum(age + 1 < bound.within for age in recent))
        return max(room, 0)
