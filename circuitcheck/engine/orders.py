"""Which orders of devices that tie can matter (rule C5), and which are one and the same.

Two neighbours in an order may be swapped when it can't matter to each other or to anyone down the line: neither reads
the other, they share no reader, and no reader of the one and reader of the other, beginning waits of one delay and
class, matter to each other. One sharing is harmless: two devices that change the same way (both on or both off) at the
same port of a reader that feels only whether there is power; it is told by the first to come on, or by the last to
go off, whichever that is.

Orders that differ only by such swaps form one class (a Mazurkiewicz trace); its least member, by device number, stands
for it. The least member is found by moving each device in turn as far left as swaps allow and larger ones stand there.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from circuitcheck.model.parts.comparator import Comparator

if TYPE_CHECKING:
    from circuitcheck.engine.machine import Machine

MOST_ORDERS = 5_040
"""How many orders of one group are followed: seven devices that all matter to each other."""
MOST_PAIRS = 5_000
"""How many pairs of readers are looked through before two devices are taken to matter to each other."""


class TooManyOrders(Exception):
    """More orders can matter than are followed; what was asked stays undecided."""

    def __init__(self, devices: Sequence[int]) -> None:
        super().__init__(f"{len(devices)} parts tie in more than {MOST_ORDERS} orders")
        self.devices = tuple(devices)


class Orders:
    """Answers for one machine; what has been worked out is kept."""

    def __init__(self, machine: Machine) -> None:
        self._machine = machine
        self._readers: dict[int, frozenset[int]] = {}
        self._mattering: dict[tuple[int, int, bool], bool] = {}
        self._chosen: dict[tuple[tuple[int, ...], tuple[bool, ...]], tuple[tuple[int, ...], ...]] = {}

    def that_matter(self, devices: tuple[int, ...], levels: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        """The least member of every class of orders of these devices. Raises TooManyOrders."""
        key = (devices, tuple(levels[device] > 0 for device in devices))
        known = self._chosen.get(key)
        if known is None:
            known = self._chosen[key] = self._classes(devices, levels)
        return known

    def least(self, devices: Sequence[int], levels: Sequence[int]) -> tuple[int, ...]:
        """The least order of the class that this order belongs to."""
        if len(devices) < 2:
            return tuple(devices)
        order: list[int] = []
        for device in devices:
            place = len(order)
            for position in range(len(order) - 1, -1, -1):
                other = order[position]
                if self.matters(device, other, levels):
                    break
                if other > device:
                    place = position
            order.insert(place, device)
        return tuple(order)

    def matters(self, one: int, other: int, levels: Sequence[int]) -> bool:
        """Whether it can matter which of two devices, at these levels, acts first."""
        alike = (levels[one] > 0) is (levels[other] > 0)
        return self._matter(one, other, alike)

    def actions_matter(self, one: int, other: int, alike: bool) -> bool:
        """Whether it can matter which of two inputs is worked first; `alike` if both go on or both go off."""
        return self._matter(one, other, alike)

    def _classes(self, devices: tuple[int, ...], levels: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        pairs = [
            (one, other)
            for position, one in enumerate(devices)
            for other in devices[position + 1 :]
            if self.matters(one, other, levels)
        ]
        if not pairs:
            return (tuple(sorted(devices)),)
        tied = {device for pair in pairs for device in pair}
        # A device that matters to none of the others has one place in every least order; only the rest are permuted.
        free = [device for device in devices if device not in tied]
        found: list[tuple[int, ...]] = []
        self._extend((), frozenset(tied), {*pairs, *((b, a) for a, b in pairs)}, found)
        return tuple(self.least((*order, *free), levels) for order in found)

    def _extend(
        self,
        order: tuple[int, ...],
        rest: frozenset[int],
        pairs: set[tuple[int, int]],
        found: list[tuple[int, ...]],
    ) -> None:
        """Lengthens an order that is the least of its class by every device that keeps it so."""
        if not rest:
            found.append(order)
            if len(found) > MOST_ORDERS:
                raise TooManyOrders(order)
            return
        for device in sorted(rest):
            for other in reversed(order):
                if (device, other) in pairs:
                    self._extend((*order, device), rest - {device}, pairs, found)
                    break
                if other > device:
                    break  # it could move left of a larger one: another order stands for this class
            else:
                self._extend((*order, device), rest - {device}, pairs, found)

    def _matter(self, one: int, other: int, alike: bool) -> bool:
        key = (one, other, alike) if one < other else (other, one, alike)
        known = self._mattering.get(key)
        if known is None:
            known = self._mattering[key] = self._search(one, other, alike)
        return known

    def _search(self, one: int, other: int, alike: bool) -> bool:
        """Looks down the line for a pair whose order matters by itself; loops need no second look."""
        seen: set[tuple[int, int]] = set()
        queue: list[tuple[int, int, bool]] = [(one, other, alike)]
        while queue:
            left, right, same = queue.pop()
            if self._clash(left, right, same):
                return True
            for a in self._reached(left):
                for b in self._reached(right):
                    pair = (a, b) if a < b else (b, a)
                    if a == b or pair in seen or not self._share_class(a, b):
                        continue
                    seen.add(pair)
                    queue.append((a, b, False))
            if len(seen) > MOST_PAIRS:
                return True
        return False

    def _clash(self, one: int, other: int, alike: bool) -> bool:
        """Whether the two matter to each other directly: one reads the other, or a reader feels which came first."""
        one_reads, other_reads = self._reached(one), self._reached(other)
        if other in one_reads or one in other_reads:
            return True
        shared = one_reads & other_reads
        return any(not (alike and self._feels_only_power(reader, one, other)) for reader in shared)

    def _feels_only_power(self, reader: int, one: int, other: int) -> bool:
        machine = self._machine
        if any(isinstance(machine.devices[device].part, Comparator) for device in (one, other)):
            return False  # its level may go either way
        touching = {
            port
            for port in machine.devices[reader].ports
            if any(source in (one, other) for source, _ in machine.feeds[port])
        }
        return len(touching) == 1 and machine.ports[next(iter(touching))].boolean

    def _share_class(self, one: int, other: int) -> bool:
        devices = self._machine.devices
        return not devices[one].possible_waits().isdisjoint(devices[other].possible_waits())

    def _reached(self, device: int) -> frozenset[int]:
        """Everyone who may be told when the device changes, through lamps that change at once as well."""
        known = self._readers.get(device)
        if known is None:
            found: set[int] = set()
            queue = [device]
            while queue:
                for reader in self._machine.readers[queue.pop()]:
                    if reader.device not in found:
                        found.add(reader.device)
                        if self._machine.devices[reader.device].at_once:
                            queue.append(reader.device)
            known = self._readers[device] = frozenset(found)
        return known
