"""How the parts of a circuit are wired at one time: who feeds which port, what is lost, who is updated, what is
straight.

A wiring is data that a state refers to, so that it can be exchanged while a circuit runs, as where pistons move blocks.
Devices keep their numbers in every wiring of their program.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from circuitcheck.engine.orders import Orders
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.base import Device, Part, Port, SimulatorView

MOST_TOLD_APART = 8
"""Of how many readers it is computed once for all that their order can't matter."""

PortDrivers = tuple[tuple[int, int], ...]
"""For one port: the devices that feed it by number, each with the levels lost on the way."""


@dataclass(frozen=True, slots=True)
class Fanout:
    """Who is updated when a device changes: the port to read afresh, what feeds it, and the device behind it."""

    port: int
    feeds: PortDrivers
    device: int
    on_input_change: Callable[[SimulatorView], int]
    felt: bool
    """Whether the device feels a change at this port at all (rule D2)."""
    waits: Waits | None
    """The waits of its reaction, where it has one."""


Waits = tuple[int, int, int, int]
"""The waits of a reaction (`model.parts.base.Reaction`)."""

Reached = tuple[int, int, PortDrivers | None, bool, int, Callable[[SimulatorView], int], Waits | None]
"""A port that a device feeds: its number and what is lost on the way, all that feeds it if there is more, whether a
change is felt there, the device behind it, how that gets its update, and its waits if it has a reaction."""

SingleFanout = tuple[int, int, int, Callable[[SimulatorView], int], Waits | None]
"""The one port that a device feeds alone, what is lost on the way, and who is updated how."""


@dataclass(frozen=True, slots=True, eq=False)
class Wiring:
    """One wiring of a program's devices."""

    ports: list[Port]
    """The ports of all devices, by number."""
    port_device: list[int]
    """The device that each port belongs to."""
    feeds: list[PortDrivers]
    """What feeds each port."""
    straight: frozenset[str]
    """The names of the parts that point straight (rule C3)."""
    readers: list[tuple[Fanout, ...]]
    """Who is updated when a device changes, by its number."""
    single_fanout: list[SingleFanout | None]
    """For each device that one port alone reads, that port: nothing is unknown about the order in which one reader is
    updated, so the simulator takes a short cut there. None for the others."""
    fanout: list[tuple[Reached, ...]]
    """The same as `readers`, as the simulator looks through it at each change."""
    free: list[bool | None]
    """Whether the order in which the readers of a device are updated can't matter, whatever they do; None where nobody
    has asked yet."""
    acts: list[Callable[[SimulatorView], int]]
    """What each device does when its wait is over."""
    orders: Orders
    """Which orders of devices that tie can matter."""

    def readings(self, levels: Sequence[int]) -> list[int]:
        """The level at each port, where devices give these levels."""
        return [read(feeds, levels) for feeds in self.feeds]

    def is_free(self, device: int) -> bool:
        """What `free` has of a device, computed if nobody has asked yet."""
        known = self.free[device]
        if known is None:
            readers = tuple(dict.fromkeys(reader.device for reader in self.readers[device]))
            known = self.free[device] = len(readers) <= MOST_TOLD_APART and self.orders.never_matter(readers)
        return known


def wiring(
    devices: Sequence[Device],
    ports: list[Port],
    port_device: list[int],
    feeds: list[PortDrivers],
    straight: frozenset[str],
    numbers: Sequence[int],
    orders: Orders | None = None,
) -> Wiring:
    """The wiring of some devices whose ports are fed so; `numbers` are one object for each whole number.

    `orders` answers for it and for other wirings as well; without, it answers for itself alone.
    """
    readers = _readers(devices, ports, port_device, feeds, numbers)
    return Wiring(
        ports=ports,
        port_device=port_device,
        feeds=feeds,
        straight=straight,
        readers=readers,
        single_fanout=[_single_fanout(each) for each in readers],
        fanout=[tuple([_reached(reader) for reader in each]) for each in readers],
        free=[None] * len(devices),
        acts=[device.act for device in devices],
        orders=Orders(devices, ports, readers) if orders is None else orders,
    )


def read(feeds: PortDrivers, levels: Sequence[int] | Mapping[int, int]) -> int:
    """The level at a place: the highest that reaches it (rule P2)."""
    best = 0
    for source, loss in feeds:
        level = levels[source] - loss
        if level > best:
            best = level
    return best


def _readers(
    devices: Sequence[Device],
    ports: Sequence[Port],
    port_device: Sequence[int],
    port_feeds: Sequence[PortDrivers],
    numbers: Sequence[int],
) -> list[tuple[Fanout, ...]]:
    readers: list[list[Fanout]] = [[] for _ in devices]
    on_input_change = [device.on_input_change for device in devices]
    waits = [None if device.reaction is None else device.reaction.waits for device in devices]
    for port, feeds in zip(numbers, port_feeds, strict=False):
        device = devices[port_device[port]]
        felt = not ports[port].silent
        for source, _ in feeds:
            number = device.index
            readers[source].append(Fanout(port, feeds, number, on_input_change[number], felt, waits[number]))
    return [tuple(each) for each in readers]


def _reached(reader: Fanout) -> Reached:
    """A reader as it is looked through at each change, by the loop that has no time to ask for each of its parts."""
    port, loss = reader.port, reader.feeds[0][1]
    feeds = None if len(reader.feeds) == 1 else reader.feeds
    return (port, loss, feeds, reader.felt, reader.device, reader.on_input_change, reader.waits)


def _single_fanout(readers: tuple[Fanout, ...]) -> SingleFanout | None:
    """The one port that a device feeds alone, what is lost on the way, and who is updated how; None where there are
    more.

    Nothing is unknown about the order in which one reader is updated, so the engine takes a short cut there.
    """
    if len(readers) == 1 and len(readers[0].feeds) == 1 and readers[0].felt:
        reader = readers[0]
        return (reader.port, reader.feeds[0][1], reader.device, reader.on_input_change, reader.waits)
    return None


def pointing_straight(circuit: Circuit) -> frozenset[str]:
    """The repeaters and comparators of classes 1 and 3 of rule C3.

    A part that feeds one thing only, and is all that stands at that port, is right behind or beside it; with several
    readers or several sources there must be dust or a block between.
    """
    targets: dict[str, list[tuple[Part, Port]]] = {}
    for part in circuit.parts:
        for port in part.ports():
            for source in () if port.watches else port.sources:
                targets.setdefault(source, []).append((part, port))
    ahead: dict[str, str] = {}
    for name, found in targets.items():
        reader, port = found[0]
        directed = circuit.by_name[name].directed and reader.directed
        if directed and len(found) == 1 and (port.name == "side" or port.sources == (name,)):
            ahead[name] = reader.name
    return frozenset(name for name, reader in ahead.items() if ahead.get(reader) != name)
