"""Which orders of devices that tie can matter where pistons move the wiring (rules C5, M2, M9, Z10).

`engine.orders` looks down the line of one wiring. Here the line may be another one by the time it matters, so nothing
is said about what comes later: an order that was left open stays open for as long as two waits of one slot descend from
it. But while no piston acts, the wiring stays as it is. So who collides as a slot of the calendar comes up is asked of
the current wiring; of pistons that start or land in one slot it is asked of `engine.stroke_orders`. What doesn't
collide is taken in one order, with the order of whom it calls still open.

That is an exploration with persistent sets, of the devices of one slot, after P. Godefroid, "Partial-Order Methods for
the Verification of Concurrent Systems" (1996). It differs in that an order that is not followed is not given up: it
shows again in the order of whom the two have called.

Water that looks (rule Z2) reads the levels around it and changes those beside it and below it, not only through ports;
so two places of water collide wherever the one may read what the other may change. Of water that nobody feels
(`space.unfelt`) no order matters.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from functools import cached_property

from circuitcheck.engine.fanout import Fanout
from circuitcheck.engine.gauge import GaugeDevice
from circuitcheck.engine.orders import Orders
from circuitcheck.model.drawing import At
from circuitcheck.model.parts.base import Device, Port
from circuitcheck.space.water_looks import Looks


class WaterPlaces:
    """The places that water can reach, as devices."""

    def __init__(self, place_of: Mapping[int, At], looks: Looks, unfelt: frozenset[int]) -> None:
        self.place_of = place_of
        self.unfelt = unfelt
        """Those of water that nobody feels."""
        self._device_at = {at: device for device, at in place_of.items()}
        self._looks = looks

    def spreads_to(self, device: int) -> list[int]:
        """The devices whose level a look may change, itself among them."""
        changed = self._looks.changes(self.place_of[device])
        return [self._device_at[at] for at in sorted(changed) if at in self._device_at]

    def meet(self, one: int, other: int) -> bool:
        """Whether two devices are places of water of which the one may read what the other may change."""
        mine, theirs = self.place_of.get(one), self.place_of.get(other)
        return mine is not None and theirs is not None and self._looks.meet(mine, theirs)


class MovingOrders(Orders):
    """Answers for one wiring of a program in which things move, for what acts while it lasts."""

    def __init__(
        self,
        devices: Sequence[Device],
        ports: Sequence[Port],
        readers: Sequence[tuple[Fanout, ...]],
        water: WaterPlaces,
    ) -> None:
        super().__init__(devices, ports, readers)
        self._water = water
        self._apart: set[tuple[int, int]] = set()
        """Pairs of devices that don't collide, whatever they do and whoever else acts."""
        self._told: dict[int, tuple[frozenset[int], frozenset[int]]] = {}

    @cached_property
    def _gauges(self) -> frozenset[int]:
        """The devices that only show a level; asked for in few of the wirings that a large drawing has."""
        return frozenset(device.index for device in self._devices if isinstance(device, GaugeDevice))

    def that_tie(self, devices: tuple[int, ...], levels: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        felt = tuple(device for device in devices if device not in self._water.unfelt)
        return (felt,) if len(felt) > 1 else ()

    def never_matter(self, devices: tuple[int, ...]) -> bool:
        return len(devices) - len(self._water.unfelt.intersection(devices)) < 2

    def matters(self, one: int, other: int, levels: Sequence[int]) -> bool:
        return one not in self._water.unfelt and other not in self._water.unfelt

    def matter(self, one: int, rising: bool | None, other: int, other_rising: bool | None) -> bool:
        return one not in self._water.unfelt and other not in self._water.unfelt

    def collide(self, one: int, other: int, levels: Sequence[int], acting: Sequence[int]) -> bool:
        if (one, other) in self._apart or not self.matters(one, other, levels):
            return False
        if self._water.meet(one, other):
            return True
        mine, theirs = self._reached(one), self._reached(other)
        if one not in theirs and other not in mine and mine.isdisjoint(theirs):
            self._apart.add((one, other))
            return False
        return super().collide(one, other, levels, acting)

    def _pairs(self, devices: Sequence[int], levels: Sequence[int]) -> list[tuple[int, int]]:
        """Those of some devices that have changed at once, in pairs, which it matters who of them tells of it first.

        Nothing is left open there, so those matter as well who call what begins to wait in one slot.
        """
        return [
            (one, other)
            for one, other in itertools.combinations(devices, 2)
            if self._clash(one, other, False) or not self._waits_begun(one).isdisjoint(self._waits_begun(other))
        ]

    def _reads(self, device: int) -> tuple[frozenset[int], frozenset[int]]:
        """As for any wiring, but for what only shows power to people; of water also whom its spreading tells."""
        known = self._told.get(device)
        if known is None:
            changing = self._water.spreads_to(device) if device in self._water.place_of else (device,)
            found = [super(MovingOrders, self)._reads(each) for each in changing]
            direct, through = (frozenset().union(*each) for each in zip(*found, strict=True))
            known = self._told[device] = (direct - self._gauges, through - self._gauges)
        return known
