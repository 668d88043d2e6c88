"""A circuit wired up: devices and ports by number, who feeds whom, who is updated. Built once, never changed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from circuitcheck import collector
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine import work
from circuitcheck.engine.motion import Motion, follows, moving_parts
from circuitcheck.engine.orders import Orders
from circuitcheck.engine.power import Drivers, Power, is_block
from circuitcheck.engine.source import Source
from circuitcheck.engine.water_flow import Flow
from circuitcheck.engine.wiring import Fanout, PortDrivers, pointing_straight, read, wiring
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.parts.base import Device, Part, Port
from circuitcheck.space.configuration import AT_HOME

__all__ = ["PortDrivers", "Program", "read"]


class Program:
    """A circuit wired up under its rules."""

    def __init__(self, circuit: Circuit, still: bool = False) -> None:
        """Wires up a circuit; `still` leaves everything where it is drawn, so that nothing moves however it runs."""
        self.circuit = circuit
        self.rules = circuit.rules
        self.power = Power(circuit)
        self.straight = pointing_straight(circuit)
        self.moving = not still and follows(circuit)
        """Whether things move in it while it runs."""
        self.motion: Motion | None = None
        """What strokes do to it, where things move."""
        if not self.moving:
            self._wire([part for part in circuit.parts if part.behaves], {})
            return
        flow = Flow(circuit)
        self._wire(moving_parts(circuit, flow), {})
        self.motion = Motion(self, flow)
        self.wiring = self.motion.standing(AT_HOME).wiring

    def __reduce__(self) -> tuple[type[Program], tuple[Circuit, bool]]:
        """A machine goes to another process as its circuit and is wired up there; one that was cut can't go."""
        return Program, (self.circuit, not self.moving)

    @classmethod
    def cut(cls, whole: Program, devices: Iterable[int], sources: Iterable[Sequence[int]]) -> Program:
        """Some devices of a machine standing alone.

        Each group in `sources` is of other devices that feed these, all at the same places with the same loss; one
        `Source` stands for them, which gives the highest of their levels. Sources come first in the numbering.
        """
        assert not whole.moving, "where things move, a circuit is one piece"
        part = object.__new__(cls)
        part.motion, part.moving = None, False
        part.circuit, part.rules, part.power, part.straight = whole.circuit, whole.rules, whole.power, whole.straight
        groups = list(sources)
        stand_ins = [Source(name=whole.names[group[0]], span=NOWHERE) for group in groups]
        aliases = {whole.names[each]: number for number, group in enumerate(groups) for each in group}
        part._wire([*stand_ins, *(whole.devices[number].part for number in devices)], aliases)
        return part

    @collector.paused()
    def _wire(self, parts: Sequence[Part], aliases: Mapping[str, int]) -> None:
        """Builds the devices of some parts and joins them; `aliases` are more names that mean one of them."""
        work.count(len(parts) * work.WIRING)
        # One object for each number, wherever it stands: 10,000 parts run in a third less time for it (measured).
        self._numbers = list(range(sum(len(part.ports()) + 1 for part in parts)))
        self.number: dict[str, int] = {part.name: number for part, number in zip(parts, self._numbers, strict=False)}
        self.number.update(aliases)
        ports: list[Port] = []
        port_device: list[int] = []
        feeds: list[PortDrivers] = []
        self.devices: list[Device] = []
        for part, number in zip(parts, self._numbers, strict=False):
            first = len(ports)
            for port in part.all_ports() if self.moving else part.ports():
                ports.append(port)
                port_device.append(number)
                feeds.append(self._drivers(port))
            own = self._numbers[first : len(ports)]
            self.devices.append(part.device(number, own, part.name in self.straight, self.rules))
        self.names: list[str] = [part.name for part in parts]
        self.wiring = wiring(self.devices, ports, port_device, feeds, self.straight, self._numbers)
        """The wiring in which everything stands as the circuit has it."""
        self._probes: dict[str, PortDrivers] = {}

    @property
    def ports(self) -> list[Port]:
        """The ports of all devices, by number."""
        return self.wiring.ports

    @property
    def port_device(self) -> list[int]:
        """The device that each port belongs to."""
        return self.wiring.port_device

    @property
    def feeds(self) -> list[PortDrivers]:
        """What feeds each port."""
        return self.wiring.feeds

    @property
    def readers(self) -> list[tuple[Fanout, ...]]:
        """Who is updated when a device changes, by its number."""
        return self.wiring.readers

    @property
    def orders(self) -> Orders:
        """Which orders of devices that tie can matter."""
        return self.wiring.orders

    def _drivers(self, port: Port) -> PortDrivers:
        return self._numbered(self.power.watched(port.sources) if port.watches else self.power.feeds(port.sources))

    def _numbered(self, feeds: Drivers) -> PortDrivers:
        return tuple(sorted({(self.number[name], loss) for name, loss in feeds.items()}))

    def readings(self, levels: Sequence[int]) -> list[int]:
        """The level at each port, where devices give these levels."""
        return self.wiring.readings(levels)

    def probe(self, name: str) -> PortDrivers:
        """What makes the level that a person reads at a part: a device's own, a line's last dust, a block's power."""
        known = self._probes.get(name)
        if known is None:
            if self.motion is not None and name in self.number:
                return ((self.number[name], 0),)
            part = self.circuit.by_name[name]
            watched = part.behaves or not is_block(part)
            feeds = self.power.watched((name,)) if watched else self.power.feeds((name,))
            known = self._probes[name] = self._numbered(feeds)
        return known

    def probe_sources(self, sources: Iterable[str]) -> PortDrivers:
        """What makes the power that these sources give together, as at the set input of a latch."""
        return self._numbered(self.power.feeds(sources))
