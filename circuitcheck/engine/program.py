"""A circuit wired up: devices and ports by number, who feeds whom, who is told. Built once, never changed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine import work
from circuitcheck.engine.orders import Orders
from circuitcheck.engine.power import Drivers, Power, is_block
from circuitcheck.engine.source import Source
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.base import Device, Part, Port, SimulatorView

PortDrivers = tuple[tuple[int, int], ...]
"""For one port: the devices that feed it by number, each with the levels lost on the way."""


@dataclass(frozen=True, slots=True)
class Fanout:
    """Who is told when a device changes: the port to read afresh, what feeds it, and the device behind it."""

    port: int
    feeds: PortDrivers
    device: int
    on_input_change: Callable[[SimulatorView], int]
    felt: bool
    """Whether the device feels a change at this port at all (rule D2)."""


class Program:
    """A circuit wired up under its rules."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.rules = circuit.rules
        self.power = Power(circuit)
        self.straight = pointing_straight(circuit)
        self._wire([part for part in circuit.parts if part.behaves], {})

    def __reduce__(self) -> tuple[type[Program], tuple[Circuit]]:
        """A machine goes to another process as its circuit and is wired up there; one that was cut can't go."""
        return Program, (self.circuit,)

    @classmethod
    def cut(cls, whole: Program, devices: Iterable[int], sources: Iterable[Sequence[int]]) -> Program:
        """Some devices of a machine standing alone.

        Each group in `sources` is of other devices that feed these, all at the same places with the same loss; one
        `Source` stands for them, which gives the highest of their levels. Sources come first in the numbering.
        """
        part = object.__new__(cls)
        part.circuit, part.rules, part.power, part.straight = whole.circuit, whole.rules, whole.power, whole.straight
        groups = list(sources)
        stand_ins = [Source(name=whole.names[group[0]], span=NOWHERE) for group in groups]
        aliases = {whole.names[each]: number for number, group in enumerate(groups) for each in group}
        part._wire([*stand_ins, *(whole.devices[number].part for number in devices)], aliases)
        return part

    def _wire(self, parts: Sequence[Part], aliases: Mapping[str, int]) -> None:
        """Builds the devices of some parts and joins them; `aliases` are more names that mean one of them."""
        work.count(len(parts) * work.WIRING)
        # One object for each number, wherever it stands: 10,000 parts run in a third less time for it (measured).
        self._numbers = list(range(sum(len(part.ports()) + 1 for part in parts)))
        self.number: dict[str, int] = {part.name: number for part, number in zip(parts, self._numbers, strict=False)}
        self.number.update(aliases)
        self.ports: list[Port] = []
        self.port_device: list[int] = []
        self.feeds: list[PortDrivers] = []
        self.devices: list[Device] = [
            part.device(number, self._ports_of(part, number), part.name in self.straight, self.rules)
            for part, number in zip(parts, self._numbers, strict=False)
        ]
        self.names: list[str] = [part.name for part in parts]
        self.readers = self._readers()
        self.single_fanout = [_single_fanout(readers) for readers in self.readers]
        self.fanout = [tuple([_reached(reader) for reader in readers]) for readers in self.readers]
        self.acts: list[Callable[[SimulatorView], int]] = [device.act for device in self.devices]
        self.orders = Orders(self)
        self._probes: dict[str, PortDrivers] = {}

    def _ports_of(self, part: Part, number: int) -> list[int]:
        first = len(self.ports)
        for port in part.ports():
            feeds = self.power.watched(port.sources) if port.watches else self.power.feeds(port.sources)
            self.ports.append(port)
            self.port_device.append(number)
            self.feeds.append(self._numbered(feeds))
        return self._numbers[first : len(self.ports)]

    def _numbered(self, feeds: Drivers) -> PortDrivers:
        return tuple(sorted({(self.number[name], loss) for name, loss in feeds.items()}))

    def _readers(self) -> list[tuple[Fanout, ...]]:
        readers: list[list[Fanout]] = [[] for _ in self.devices]
        on_input_change = [device.on_input_change for device in self.devices]
        for port, feeds in zip(self._numbers, self.feeds, strict=False):
            device = self.devices[self.port_device[port]]
            felt = not self.ports[port].silent
            for source, _ in feeds:
                readers[source].append(Fanout(port, feeds, device.index, on_input_change[device.index], felt))
        return [tuple(each) for each in readers]

    def readings(self, levels: Sequence[int]) -> list[int]:
        """The level at each port, where devices give these levels."""
        return [read(feeds, levels) for feeds in self.feeds]

    def probe(self, name: str) -> PortDrivers:
        """What makes the level that a person reads at a part: a device's own, a line's last dust, a block's power."""
        known = self._probes.get(name)
        if known is None:
            part = self.circuit.by_name[name]
            watched = part.behaves or not is_block(part)
            feeds = self.power.watched((name,)) if watched else self.power.feeds((name,))
            known = self._probes[name] = self._numbered(feeds)
        return known

    def probe_sources(self, sources: Iterable[str]) -> PortDrivers:
        """What makes the power that these sources give together, as at the set input of a latch."""
        return self._numbered(self.power.feeds(sources))


def read(feeds: PortDrivers, levels: Sequence[int] | Mapping[int, int]) -> int:
    """The level at a place: the highest that reaches it (rule P2)."""
    best = 0
    for source, loss in feeds:
        level = levels[source] - loss
        if level > best:
            best = level
    return best


Reached = tuple[int, int, PortDrivers | None, int, Callable[[SimulatorView], int] | None]
"""A port that a device feeds: its number and what is lost on the way, all that feeds it if there is more, the device
behind it, and how that is told, None where it does not feel a change there."""


def _reached(reader: Fanout) -> Reached:
    """A reader as it is looked through at each change, by the loop that has no time to ask for each of its parts."""
    alone = len(reader.feeds) == 1
    on_input_change = reader.on_input_change if reader.felt else None
    return (reader.port, reader.feeds[0][1], None if alone else reader.feeds, reader.device, on_input_change)


def _single_fanout(readers: tuple[Fanout, ...]) -> tuple[int, int, int, Callable[[SimulatorView], int]] | None:
    """The one port that a device feeds alone, what is lost on the way, and who is told how; None where there are more.

    Nothing is unknown about the order in which one reader is told, so the engine takes a short cut there.
    """
    if len(readers) == 1 and len(readers[0].feeds) == 1 and readers[0].felt:
        reader = readers[0]
        return (reader.port, reader.feeds[0][1], reader.device, reader.on_input_change)
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
