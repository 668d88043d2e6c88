"""How the parts of a circuit are wired at one time: who feeds which port, what is lost, who is updated, what is
straight.

A wiring is data that a state refers to, so that it can be exchanged while a circuit runs, as where pistons move blocks.
Devices keep their numbers in every wiring of their program.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from circuitcheck.engine.fanout import Fanout, PortDrivers, Waits
from circuitcheck.engine.orders import Orders
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.base import Device, Part, Port
from circuitcheck.model.parts.simulator_view import SimulatorView

MOST_TOLD_APART = 8
"""Of how many readers it is computed once for all that their order can't matter."""

Reached = tuple[int, int, PortDrivers | None, bool, int, Callable[[SimulatorView], int], Waits | None]
"""A port that a device feeds: its number and what is lost on the way, all that feeds it if there is more, whether a
change is felt there, the device behind it, how that gets its update, and its waits if it has a reaction."""
MakesOrders = Callable[[Sequence[Device], Sequence[Port], Sequence[tuple[Fanout, ...]]], Orders]
"""What makes the answers to which orders of devices that tie can matter, out of who reads whom."""


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
    fanout: list[tuple[Reached, ...]]
    """The same as `readers`, as it is looked through at each change."""
    direct: list[tuple[Reached, ...] | None]
    """For each device its `fanout` where the kernel may update one reader after the other: nobody, or one port alone,
    or devices that only react to one port each, if their order is known not to matter. None for the others."""
    free: dict[int, bool]
    """Whether the order in which the readers of a device are updated can't matter, whatever they do; of those that
    somebody has asked about."""
    acts: list[Callable[[SimulatorView], int]]
    """What each device does when its wait is over."""
    orders: Orders
    """Which orders of devices that tie can matter."""

    def readings(self, levels: Sequence[int]) -> list[int]:
        """The level at each port, where devices give these levels."""
        return [read(feeds, levels) for feeds in self.feeds]

    def is_free(self, device: int) -> bool:
        """What `free` has of a device, computed if nobody has asked yet."""
        known = self.free.get(device)
        if known is None:
            readers = tuple(dict.fromkeys(reader.device for reader in self.readers[device]))
            known = self.free[device] = len(readers) <= MOST_TOLD_APART and self.orders.never_matter(readers)
            if known and len(readers) == len(self.readers[device]) and all(map(_only_reacts, self.readers[device])):
                self.direct[device] = self.fanout[device]
        return known


def _only_reacts(reader: Fanout) -> bool:
    return reader.felt and reader.waits is not None


def wiring(
    devices: Sequence[Device],
    ports: list[Port],
    port_device: list[int],
    feeds: list[PortDrivers],
    straight: frozenset[str],
    numbers: Sequence[int],
    orders: MakesOrders = Orders,
) -> Wiring:
    """The wiring of some devices whose ports are fed so; `numbers` are one object for each whole number.

    `orders` makes what answers which orders of devices that tie can matter in it.
    """
    readers = _readers(devices, ports, port_device, feeds, numbers)
    fanout = [tuple([_reached(reader) for reader in each]) for each in readers]
    return Wiring(
        ports=ports,
        port_device=port_device,
        feeds=feeds,
        straight=straight,
        readers=readers,
        fanout=fanout,
        direct=[_direct(each, reached) for each, reached in zip(readers, fanout, strict=True)],
        free={},
        acts=[device.act for device in devices],
        orders=orders(devices, ports, readers),
    )


def rewired(
    home: Wiring,
    devices: Sequence[Device],
    ports: list[Port],
    port_device: list[int],
    feeds: list[PortDrivers],
    straight: frozenset[str],
    changed: Iterable[int],
    orders: MakesOrders,
) -> Wiring:
    """A wiring in which some ports are fed otherwise than in another one, or are new, and all others as there.

    `changed` are those ports; `orders` is as for `wiring`. It comes to what `wiring` does, for what differs only: where
    hundreds of pistons stand in a drawing, each of their strokes is a wiring of its own.
    """
    ports_changed = set(changed)
    sources = {source for port in ports_changed for source, _ in feeds[port]}
    sources |= {source for port in ports_changed if port < len(home.feeds) for source, _ in home.feeds[port]}
    new: dict[int, list[Fanout]] = {source: [] for source in sources}
    for port in sorted(ports_changed):
        for source, _ in feeds[port]:
            new[source].append(_fanout(port, feeds[port], devices[port_device[port]], ports[port]))
    readers, fanout = list(home.readers), list(home.fanout)
    direct = list(home.direct)
    for asked_about in home.free:
        # Whether an order of several readers can matter may be otherwise here: it is asked again.
        if len(home.readers[asked_about]) > 1:
            direct[asked_about] = None
    for source, found in new.items():
        kept = [reader for reader in home.readers[source] if reader.port not in ports_changed]
        readers[source] = tuple(sorted([*kept, *found], key=lambda reader: reader.port))
        fanout[source] = tuple([_reached(reader) for reader in readers[source]])
        direct[source] = _direct(readers[source], fanout[source])
    acts = list(home.acts)
    for device in {port_device[port] for port in ports_changed}:
        acts[device] = devices[device].act
    return Wiring(
        ports=ports,
        port_device=port_device,
        feeds=feeds,
        straight=straight,
        readers=readers,
        fanout=fanout,
        direct=direct,
        free={},
        acts=acts,
        orders=orders(devices, ports, readers),
    )


def _fanout(port: int, feeds: PortDrivers, device: Device, at: Port) -> Fanout:
    waits = None if device.reaction is None else device.reaction.waits
    return Fanout(port, feeds, device.index, device.on_input_change, not at.silent, waits)


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


def _direct(readers: tuple[Fanout, ...], fanout: tuple[Reached, ...]) -> tuple[Reached, ...] | None:
    """What `Wiring.direct` has at first: of several readers it is not known yet whether their order can matter."""
    return fanout if not readers or (len(readers) == 1 and readers[0].felt) else None


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
