"""Of pistons that start or land in one moment in an open order: which of them collide, so that it matters who is first
(rules C5, M2, M3, M13).

Two of them don't collide where each does the same, and changes the same for everyone else, whether the other one has
acted or not. Held against each other are
* their footprints: the places that a stroke depends on or changes (rules M1, M7);
* what they bring about (`engine.stroke_effects`): devices that read otherwise after a stroke (M9), are moved by it,
  read what it changes, or get an update where something leaves, lands or takes water away (M5, M10, Z7), or by what
  they hear (W10, Z8). Nobody may be affected by both, but for those who don't react to such an update as things stand,
  and for those to whom it is all the same who is first (`engine.shared_readers`).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence

from circuitcheck.engine.motion import Motion
from circuitcheck.engine.shared_readers import Answer, answer
from circuitcheck.engine.stroke_effects import Act, Bringing, Effects
from circuitcheck.model.parts.simulator_view import SimulatorView
from circuitcheck.model.parts.waits import CALLED, GOING_HOME, GOING_OUT, HOME, IS_CALLED, IS_CUT_SHORT, OUT
from circuitcheck.space.configuration import Configuration
from circuitcheck.space.strokes import Breaks, Step


class StrokeOrders:
    """Answers for the strokes of one program."""

    def __init__(self, motion: Motion) -> None:
        self._motion = motion
        self._known: dict[tuple[Configuration, tuple[Act, ...]], Effects | None] = {}
        self._last: Effects | None = None
        """What was asked about last of several that land in turn: each is asked about with those behind it."""

    def any_moves(self, devices: Iterable[int]) -> bool:
        """Whether a piston is among some devices."""
        return any(self._motion.device(device).strokes for device in devices)

    def colliding(
        self, simulator: SimulatorView, now: Configuration, pistons: Sequence[int], order_class: int
    ) -> frozenset[tuple[int, int]]:
        """Those pairs of pistons that start in one slot, or land in it, that collide; each in the order of the slot.

        Strokes may land among the waits (rule M3). Where others act in their slot as well, all pairs are taken to
        collide: the wiring changes amid them.
        """
        pairs = frozenset(itertools.combinations(pistons, 2))
        if not all(self._motion.device(piston).strokes for piston in pistons):
            return pairs
        landing = order_class != CALLED
        acts = tuple(sorted(self._lands(now, pistons) if landing else self._starts(simulator, now, pistons)))
        if len(acts) < len(pistons):
            return pairs
        if (now, acts) not in self._known:
            left = self._left_of_last(now, pistons) if landing else None
            if left is not None and not self._meeting(simulator, left, pairs):
                return frozenset()
            self._known[now, acts] = Bringing(self._motion, now, acts).effects()
        found = self._last = self._known[now, acts]
        return pairs if found is None else self._meeting(simulator, found, pairs)

    def colliding_with(
        self,
        simulator: SimulatorView,
        now: Configuration,
        piston: int,
        later: Sequence[int],
        given: Iterable[int],
        order_class: int,
    ) -> list[int]:
        """Those that land `later` than a piston, in an order that is `given`, and collide with it.

        All that land are asked about at once, and one by one only those that collide with it there: what some strokes
        bring about where others may have been done is no less than what they bring about alone. What the last question
        found is mostly enough for that, in whatever order they land, and stays what was asked last.
        """
        group = (piston, *later)
        left, pairs = self._left_of_last(now, group), frozenset((piston, other) for other in given)
        if left is None:
            meet = self.colliding(simulator, now, group, order_class) & pairs
        else:
            meet = self._meeting(simulator, left, pairs)
        last = self._last
        found = [each for _, each in sorted(meet) if self.colliding(simulator, now, (piston, each), order_class)]
        self._last = last
        return sorted(found, key=later.index)

    def _left_of_last(self, now: Configuration, pistons: Iterable[int]) -> Effects | None:
        """What is left to land of what was asked about last, if some of that has landed since, and nothing else."""
        last = self._last
        if last is None or not last.affected.keys() >= frozenset(pistons):
            return None
        under_way, home_of = {stroke.piston for stroke in now.under_way}, self._motion.home_of
        landed = frozenset(each for each in last.affected if home_of[each] not in under_way)
        return last.behind(landed) if last.context(landed) == now else None

    def _meeting(
        self, simulator: SimulatorView, found: Effects, pairs: frozenset[tuple[int, int]]
    ) -> frozenset[tuple[int, int]]:
        """Those pairs of which both may affect one device to which it may matter who is first."""
        felt = self._felt(simulator, found)
        return frozenset(pair for pair in pairs if any(by.issuperset(pair) for by in felt))

    def _lands(self, now: Configuration, pistons: Iterable[int]) -> Iterator[Act]:
        return (Act(piston, self._motion.land(now, piston)) for piston in pistons)

    def _starts(self, simulator: SimulatorView, now: Configuration, pistons: Iterable[int]) -> Iterator[Act]:
        """What each does as it starts; nothing is given of one that makes a mistake (rules M6, M8)."""
        strokes = self._motion.strokes
        for piston in pistons:
            device, phase = self._motion.device(piston), simulator.device_state[piston] % IS_CALLED
            powered = any(simulator.readings[port] for port in device.ports)
            home, step = self._motion.home_of[piston], None
            if phase == HOME and powered:
                step = strokes.start_out(now, home)
            elif phase in (GOING_OUT, OUT) and not powered:
                if phase == GOING_OUT and any(simulator.holds(piston, wait) for wait in device.own_waits(None)):
                    continue  # it has started out in this very moment
                cut_short = bool(simulator.device_state[piston] & IS_CUT_SHORT)
                step = strokes.start_home(now, home, lets_go=cut_short and strokes.rules.sticky_lets_go)
            if not isinstance(step, Breaks):
                yield Act(piston, step if isinstance(step, Step) else None)

    def _felt(self, simulator: SimulatorView, found: Effects) -> Iterable[frozenset[int]]:
        """For each device to which it may matter which of several acts comes first, those acts."""
        by: dict[int, set[int]] = {}
        for piston, devices in found.affected.items():
            for device in devices:
                by.setdefault(device, set()).add(piston)
        for device in found.ears:
            if device in found.changed or not self.ignores(simulator, device):
                by.setdefault(device, set()).update(found.heard(device))
        return {
            frozenset(acts)
            for device, acts in by.items()
            if len(acts) > 1
            and not (
                self._is_the_same(simulator, found, device)
                if device in found.changed
                else self.ignores(simulator, device)
            )
        }

    def _is_the_same(self, simulator: SimulatorView, found: Effects, device: int) -> bool:
        """Whether what comes of a device that reads otherwise is the same in every order.

        By whom it is called may depend on the order. That shows only where somebody whom another of the acts has called
        has a wait that ends in the same slot; those called with it, in each order, may be there.
        """
        mine = self._answer(simulator, found, device)
        if mine is None or not mine.wait:
            return mine is not None
        for other in frozenset(found.affected).union(*found.affected.values()) - {device}:
            behaves = self._motion.device(other)
            if mine.wait in behaves.waits_on_change(None) | behaves.own_waits(None):
                theirs = self._answer(simulator, found, other)
                if theirs is None or (theirs.wait and theirs != mine):
                    return False
        return True

    def _answer(self, simulator: SimulatorView, found: Effects, device: int) -> Answer | None:
        reads, behaves = found.read.get(device), self._motion.device(device)
        if reads is None or any(self._motion.stays(port) for port in behaves.ports):
            return None
        return answer(simulator, behaves, reads, self._motion.numbered, found.shifting)

    def ignores(self, simulator: SimulatorView, device: int) -> bool:
        """Whether a device does nothing when it gets an update, as long as nothing changes of what it reads."""
        behaves = self._motion.device(device)
        if behaves.flows:
            return not simulator.levels[device] or bool(simulator.waiting[device])
        if not behaves.strokes:
            return False
        state = simulator.device_state[device]
        powered = any(simulator.readings[port] for port in behaves.ports)
        if self._motion.strokes.rules.piston_lands != "late" and state % IS_CALLED in (GOING_OUT, OUT):
            if powered:
                return not state & IS_CUT_SHORT  # else it notes that its power is back (rule O3)
            return bool(state & (IS_CALLED if state % IS_CALLED == OUT else IS_CUT_SHORT))
        if state >= GOING_HOME:
            return True  # it is deaf, or called already; where it lands it looks by itself
        return powered is not (state == HOME) or (state == HOME and not simulator.can_start(device))
