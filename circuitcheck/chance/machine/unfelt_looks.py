"""The looks of water that nobody feels, beside all else that happens in the second half of a gt.

Cells that change and strokes that start or land update water, and it looks some gt later (rules Z2, Z8). Of water that
nobody feels (`space.unfelt`) three things are known:
* no order of its looks matters, so that they stand in a slot of the calendar by their numbers, and it is no matter from
  whom they descend (`engine.ties`): whoever a look calls is such water again;
* no look acts in the second half of a gt, as that begins behind all looks (rule C2);
* water that waits already takes no notice of an update, and no notice is taken of its waiting.

A source that touches no other water changes nothing at its look: it is taken never to wait.

So a half comes to the same whichever of this water waits, but for the waits themselves: water that waited waits on, and
of what would begin to wait, that which does not wait already begins. The engine is asked once, with none of it waiting.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from collections.abc import Set as AbstractSet

from circuitcheck.engine.motion import Motion
from circuitcheck.engine.state import State
from circuitcheck.engine.ties import NO_TIES, Descent, FrozenTies
from circuitcheck.space.water import still_sources

Wait = tuple[int, int, tuple[int, ...]]


class UnfeltLooks:
    """The looks of the water of one machine that nobody feels, by its devices."""

    def __init__(self, motion: Motion | None) -> None:
        self._unfelt = frozenset[int]() if motion is None else motion.unfelt
        self.still = frozenset[int]() if motion is None else _still(motion)
        """The sources whose looks never change anything."""

    def lone(self, state: State) -> State:
        """A state in which it is not said from whom such looks descend, and none comes that can't change anything."""
        state = self._left(state, self.still)
        if self._unfelt.isdisjoint(device for device, _ in state.ties.descents):
            return state
        return state._replace(ties=self._ties(state.ties, list(range(len(state.waits)))))

    def without(self, state: State) -> State:
        """A state in which none of this water waits."""
        return self._left(state, self._unfelt)

    def _left(self, state: State, water: AbstractSet[int]) -> State:
        """A state in which some of this water does not wait."""
        if all(water.isdisjoint(devices) for _, _, devices in state.waits):
            return state
        kept: list[Wait] = []
        numbers: list[int] = []
        for to_go, order_class, devices in state.waits:
            numbers.append(len(kept))
            others = tuple(device for device in devices if device not in water)
            if others:
                kept.append((to_go, order_class, others))
        return state._replace(waits=tuple(kept), ties=self._ties(state.ties, numbers))

    def beside(self, state: State, before: State) -> State:
        """What a half without such waits comes to, with those that there were before it."""
        waited = set(self._waiting(before))
        if not waited:
            return state
        slots: dict[tuple[int, int], tuple[list[int], list[int]]] = {}
        for to_go, order_class, devices in state.waits:
            mine = slots.setdefault((to_go, order_class), ([], []))
            for device in devices:
                if device not in waited:
                    mine[device in self._unfelt].append(device)
        for to_go, order_class, devices in before.waits:
            water = [device for device in devices if device in self._unfelt]
            if water:
                slots.setdefault((to_go, order_class), ([], []))[1].extend(water)
        ordered = sorted(slot for slot, (others, water) in slots.items() if others or water)
        waits = tuple((*slot, tuple(_merged(slots[slot][0], sorted(slots[slot][1])))) for slot in ordered)
        place = {slot: number for number, slot in enumerate(ordered)}
        numbers = [place.get(wait[:2], -1) for wait in state.waits]
        return state._replace(waits=waits, ties=self._ties(state.ties, numbers))

    def _waiting(self, state: State) -> Iterator[int]:
        return (device for _, _, devices in state.waits for device in devices if device in self._unfelt)

    def _ties(self, ties: FrozenTies, numbers: list[int]) -> FrozenTies:
        """What is open without such looks, where the slots have other numbers."""
        if not ties.descents:
            return ties
        turns: dict[int, int] = {}
        seats_of: dict[int, dict[int, int]] = {}
        descents: list[tuple[int, Descent]] = []
        slots: list[int] = []
        for (device, descent), slot in zip(ties.descents, ties.slots, strict=True):
            if device in self._unfelt:
                continue
            found = []
            for tie, seat in descent.seats:
                seats = seats_of.setdefault(tie, {})
                found.append((list(seats_of).index(tie), seats.setdefault(seat, len(seats))))
            descents.append((device, Descent(turns.setdefault(descent.turns, len(turns)), tuple(found))))
            slots.append(numbers[slot])
        if not descents:
            return NO_TIES
        known = tuple(
            tuple(sorted((seats[one], seats[other]) for one, other in ties.known[tie] if {one, other} <= seats.keys()))
            for tie, seats in seats_of.items()
        )
        return FrozenTies(tuple(descents), known, tuple(slots))


def _still(motion: Motion) -> frozenset[int]:
    """The sources whose looks never change anything."""
    flow = motion.flow
    places = still_sources(motion.drawing, flow.rules, flow.device_at.keys())
    return motion.unfelt.intersection(flow.device_at[at] for at in places)


def _merged(others: Iterable[int], water: Iterable[int]) -> Iterator[int]:
    """The least order of a slot: of what keeps its order, and of what may stand anywhere."""
    left = list(water)
    for device in others:
        while left and left[0] < device:
            yield left.pop(0)
        yield device
    yield from left
