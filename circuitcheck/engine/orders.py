"""Which orders of devices that tie can matter (rule C5), and which are one and the same.

Two neighbours in an order may be swapped when it can't matter to each other or to anyone down the line. They matter to
each other directly if one reads the other or if they share a reader; they matter down the line if two waits that they
bring about, of one delay and class, belong to devices that matter to each other: waits of their readers, told by their
changes, and waits that they begin themselves while they act. One sharing is harmless: two devices that change the same
way (both on or both off) at the same port of a reader that feels only whether there is power; it is updated by the
first to come on, or by the last to go off, whichever that is.

Orders that differ only by such swaps form one class (a Mazurkiewicz trace); its least member, by device number, stands
for it. The least member is found by moving each device in turn as far left as swaps allow and larger ones stand there.

That is how what is tied is distinguished from what is not. Of waits that are tied the order stays open (`engine.ties`)
until the devices come up to act. Then it is only asked who *collides*: one reads the other or they share a reader, as
above. Two that don't collide may act in any order, and whom they call has the order that they have, still open. One
sharing is not harmless there: whom two call alike begins to wait at the turn of the first or the last of them, so where
its own place among all that the turn calls can matter, the two collide.

`tests/engine_properties` holds all this against an explorer that leaves nothing out.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from circuitcheck.engine.downstream import ends
from circuitcheck.engine.pair_search import Pair, PairSearch

if TYPE_CHECKING:
    from circuitcheck.engine.fanout import Fanout
    from circuitcheck.model.parts.base import Device, Port

MOST_ORDERS = 5_040
"""How many orders of one group are followed: seven devices that all matter to each other."""


class TooManyOrders(Exception):
    """More orders can matter than are followed; what was asked stays undecided."""

    def __init__(self, devices: Sequence[int]) -> None:
        super().__init__(f"{len(devices)} parts tie in more than {MOST_ORDERS} orders")
        self.devices = tuple(devices)


class Orders:
    """Answers for the devices of one wiring; what has been computed is kept."""

    def __init__(self, devices: Sequence[Device], ports: Sequence[Port], readers: Sequence[tuple[Fanout, ...]]) -> None:
        self._devices = devices
        self._ports = ports
        self._fanout = readers
        self._readers: dict[int, tuple[frozenset[int], frozenset[int]]] = {}
        self._begun: dict[tuple[int, bool | None], tuple[tuple[frozenset[int], tuple[int, ...]], ...]] = {}
        self._mattering: dict[tuple[int, bool | None, int, bool | None], bool] = {}
        self._pairs_ahead = PairSearch(
            lambda one, other: self._clash(one, other, False),
            lambda one, other: self._brought_about(one, None, other, None),
        )
        self._ends: list[int] | None = None
        """What is downstream of each device (`engine.downstream`), once that was asked."""
        self._tied: dict[tuple[tuple[int, ...], tuple[bool, ...]], tuple[tuple[int, ...], ...]] = {}
        self._chosen: dict[tuple[tuple[int, ...], tuple[bool, ...]], tuple[tuple[int, ...], ...]] = {}

    def representative_orders(self, devices: tuple[int, ...], levels: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        """The least member of every class of orders of these devices. Raises TooManyOrders."""
        key = (devices, tuple(levels[device] > 0 for device in devices))
        known = self._chosen.get(key)
        if known is None:
            known = self._chosen[key] = self._classes(devices, levels)
        return known

    def that_tie(self, devices: tuple[int, ...], levels: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        """Those of these devices whose order can matter, in groups; it doesn't matter between two groups."""
        key = (devices, tuple(levels[device] > 0 for device in devices))
        known = self._tied.get(key)
        if known is None:
            pairs = self._pairs(devices, levels)
            known = self._tied[key] = tuple(map(tuple, groups(devices, pairs)))
        return known

    def never_matter(self, devices: tuple[int, ...]) -> bool:
        """Whether no order of these devices can matter, whichever way each of them goes."""
        return not any(
            self.matter(one, None, other, None)
            for kin in self.that_meet(devices)
            for one, other in itertools.combinations(kin, 2)
        )

    def collide(self, one: int, other: int, levels: Sequence[int], acting: Sequence[int]) -> bool:
        """Whether it matters as they act which of two devices acts first, and not only by who descends from them.

        `acting` are all that act in one turn.
        """
        if not self.matters(one, other, levels):
            return False
        rising, other_rising = self._rising(one, levels), self._rising(other, levels)
        if self._clash(one, other, rising is other_rising and rising is not None):
            return True
        shared = self._reached(one) & self._reached(other)
        return any(self._feels_rank(reader, rising, levels, acting) for reader in shared)

    def call_together(self, one: int, other: int, levels: Sequence[int]) -> bool:
        """Whether those whom two devices call may begin to wait in one slot, where they act in the order of the two."""
        return self.matters(one, other, levels) and not self._waits_begun(one).isdisjoint(self._waits_begun(other))

    def _feels_rank(self, reader: int, rising: bool | None, levels: Sequence[int], acting: Sequence[int]) -> bool:
        """Whether it matters when a device that two call alike begins its wait, among all whom one turn calls."""
        waits = self._devices[reader].waits_on_change(rising)
        return any(
            other != reader and not waits.isdisjoint(others) and self.matter(reader, None, other, None)
            for device in acting
            for others, begun in self._begun_by(device, self._rising(device, levels))
            for other in begun
        )

    def least(self, devices: Sequence[int], levels: Sequence[int]) -> tuple[int, ...]:
        """The least order of the class that this order belongs to."""
        if len(devices) < 2:
            return tuple(devices)
        order: list[int] = []
        largest = -1
        for device in devices:
            if (
                device > largest
            ):  # nothing larger stands there; so it is as a rule, since those told are updated in turn
                largest = device
                order.append(device)
                continue
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
        """Whether it can matter which of two devices that wait at these levels acts first."""
        return self.matter(one, self._rising(one, levels), other, self._rising(other, levels))

    def _rising(self, device: int, levels: Sequence[int]) -> bool | None:
        """Which way a device that waits will go, if at all; what gives levels may go either way."""
        if self._devices[device].part.graded:
            return None
        return levels[device] == 0

    def matter(self, one: int, rising: bool | None, other: int, other_rising: bool | None) -> bool:
        """Whether it can matter which of two devices changes first, each going on, off, or not known which."""
        key = (one, rising, other, other_rising)
        if other < one:
            key = (other, other_rising, one, rising)
        known = self._mattering.get(key)
        if known is None:
            known = self._mattering[key] = self._search(*key)
        return known

    def _pairs(self, devices: Sequence[int], levels: Sequence[int]) -> list[tuple[int, int]]:
        """Those pairs of these devices whose order can matter."""
        return [
            (one, other)
            for kin in self.that_meet(devices)
            for one, other in itertools.combinations(kin, 2)
            if self.matters(one, other, levels)
        ]

    def _classes(self, devices: tuple[int, ...], levels: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        pairs = self._pairs(devices, levels)
        if not pairs:
            return (tuple(sorted(devices)),)
        tied = {device for pair in pairs for device in pair}
        # A device that matters to none of the others has one place in every least order; only the rest are permuted.
        free = [device for device in devices if device not in tied]
        found: list[tuple[int, ...]] = []
        self._extend((), frozenset(tied), {*pairs, *((b, a) for a, b in pairs)}, found)
        return tuple(self.least((*order, *free), levels) for order in found)

    def that_meet(self, devices: Sequence[int]) -> Iterable[list[int]]:
        """The devices in groups; what those of different groups bring about meets nowhere down the line.

        So parts that only share a source are distinguished without trying each pair.
        """
        downstream = self._downstream()
        found: list[tuple[int, list[int]]] = []
        for device in devices:
            mine, meeting = downstream[device], [device]
            apart = []
            for theirs, others in found:
                if theirs & mine:
                    mine |= theirs
                    meeting = others + meeting
                else:
                    apart.append((theirs, others))
            found = [*apart, (mine, meeting)]
        return [meeting for _, meeting in found]

    def _downstream(self) -> list[int]:
        """The ends that are downstream of each device."""
        if self._ends is None:
            self._ends = ends([list(dict.fromkeys(each.device for each in readers)) for readers in self._fanout])
        return self._ends

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

    def _search(self, one: int, rising: bool | None, other: int, other_rising: bool | None) -> bool:
        """Looks for a pair whose order matters by itself: these two, or any that they bring about."""
        if rising is None and other_rising is None:
            return self._pairs_ahead.leads_to_a_clash((one, other))
        if self._clash(one, other, rising is other_rising and rising is not None):
            return True
        return any(map(self._pairs_ahead.leads_to_a_clash, self._brought_about(one, rising, other, other_rising)))

    def _brought_about(self, one: int, rising: bool | None, other: int, other_rising: bool | None) -> Iterator[Pair]:
        """The pairs of waits of one delay and class that the changes of two devices may bring about, and that meet."""
        downstream = self._downstream()
        for waits, mine in self._begun_by(one, rising):
            for others, theirs in self._begun_by(other, other_rising):
                if not waits.isdisjoint(others):
                    for a, b in itertools.product(mine, theirs):
                        if a != b and downstream[a] & downstream[b]:
                            yield (a, b) if a < b else (b, a)

    def _clash(self, one: int, other: int, alike: bool) -> bool:
        """Whether the two matter to each other directly: one reads the other, or a reader feels which came first."""
        one_reads, other_reads = self._reached(one), self._reached(other)
        if other in one_reads or one in other_reads:
            return True
        if one_reads.isdisjoint(other_reads):
            return False
        shared = one_reads & other_reads
        return any(not (alike and self._feels_only_power(reader, one, other)) for reader in shared)

    def _feels_only_power(self, reader: int, one: int, other: int) -> bool:
        """Whether both touch a reader at one port only, directly, and it feels nothing there but power or none."""
        if reader in self._reads(one)[1] or reader in self._reads(other)[1]:
            return False  # it is reached through a lamp as well
        ports = [{each.port for each in self._fanout[device] if each.device == reader} for device in (one, other)]
        if ports[0] != ports[1] or len(ports[0]) != 1:
            return False
        port = self._ports[next(iter(ports[0]))]
        return port.boolean and not port.silent

    def _waits_begun(self, device: int) -> frozenset[int]:
        """Every wait that may begin when a device changes."""
        return frozenset().union(*(waits for waits, _ in self._begun_by(device, None)))

    def _begun_by(self, device: int, rising: bool | None) -> tuple[tuple[frozenset[int], tuple[int, ...]], ...]:
        """Who may begin a wait when a device changes, all that it reaches and itself, by the waits that they may begin.

        Together those that may begin the same waits: of two lines that hold a thousand repeaters each it is asked once.
        """
        known = self._begun.get((device, rising))
        if known is not None:
            return known
        found: dict[frozenset[int], list[int]] = {}
        direct, through = self._reads(device)
        for reader in direct:
            waits = self._devices[reader].waits_on_change(None if reader in through else rising)
            found.setdefault(waits, []).append(reader)
        for reader in through - direct:
            found.setdefault(self._devices[reader].waits_on_change(None), []).append(reader)
        own = self._devices[device].own_waits(rising)
        if own:
            found.setdefault(own, []).append(device)
        known = self._begun[device, rising] = tuple((waits, tuple(begun)) for waits, begun in found.items() if waits)
        return known

    def _reached(self, device: int) -> frozenset[int]:
        """Everyone who may be updated when the device changes."""
        direct, through = self._reads(device)
        return direct | through if through else direct

    def _reads(self, device: int) -> tuple[frozenset[int], frozenset[int]]:
        """Everyone who may be updated when the device changes: directly, and through what changes at once with it."""
        known = self._readers.get(device)
        if known is None:
            direct = {reader.device for reader in self._fanout[device]}
            through: set[int] = set()
            queue = [each for each in direct if self._devices[each].zero_delay]
            while queue:
                for reader in self._fanout[queue.pop()]:
                    if reader.device not in through:
                        through.add(reader.device)
                        if self._devices[reader.device].zero_delay:
                            queue.append(reader.device)
            known = self._readers[device] = (frozenset(direct), frozenset(through))
        return known


def groups(devices: Iterable[int], pairs: Iterable[tuple[int, int]]) -> list[list[int]]:
    """Devices that pairs join, one group for each whole that they make; those in no pair are left out."""
    group: dict[int, list[int]] = {}
    for one, other in pairs:
        mine, theirs = group.setdefault(one, [one]), group.setdefault(other, [other])
        if mine is not theirs:
            mine += theirs
            group.update(dict.fromkeys(theirs, mine))
    found: dict[int, list[int]] = {}
    for device in devices:
        if device in group:
            found.setdefault(id(group[device]), []).append(device)
    return list(found.values())
