"""How a program is wired in one configuration, and how such a wiring is put together out of another one."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from typing import NamedTuple

from circuitcheck.engine.fanout import PortDrivers
from circuitcheck.engine.wired import Wired
from circuitcheck.engine.wiring import Wiring
from circuitcheck.model.parts.base import Device, Port
from circuitcheck.space import wirings as space

HEARD = Port("heard", (), watches=True, boolean=False)


class Standing(NamedTuple):
    """How a program is wired in one configuration, and what its strokes need to know of that."""

    wiring: Wiring
    devices: Sequence[Device]
    inputs: space.Wiring
    fixed: int
    """How many ports there are that have one number in every wiring; those behind them are what pistons hear."""
    still: frozenset[int]
    """The devices that are in motion: they read nothing and get no updates."""
    hears: Mapping[int, tuple[PortDrivers, ...]]
    """What each piston hears."""


class Draft:
    """The ports and devices of a wiring that is being made, begun as a copy of another one's."""

    def __init__(
        self,
        program: Wired,
        wired: Wiring,
        devices: Sequence[Device],
        as_changed: Collection[int],
        numbered: Callable[[space.Drivers], PortDrivers],
    ) -> None:
        self._program = program
        self._as_changed = as_changed
        self._numbered = numbered
        self.ports, self.port_device, self.feeds = list(wired.ports), list(wired.port_device), list(wired.feeds)
        self.devices = list(devices)
        self.straight = set(wired.straight)

    def place(self, number: int, mine: space.Inputs) -> None:
        """A device reads this, and points straight or not. Ports that the circuit feeds otherwise stay so."""
        drivers, device, name = dict(mine.ports), self._program.devices[number], self._program.names[number]
        for port in device.ports:
            if port not in self._as_changed:
                self.feeds[port] = self._numbered(drivers.get(self.ports[port].name, ()))
        if mine.straight is not (name in self.straight):
            self.straight ^= {name}
            self.devices[number] = device.part.device(number, device.ports, mine.straight, self._program.rules)

    def hear(self, number: int, heard: Sequence[PortDrivers]) -> range:
        """A device hears this, each at a new port behind all others. Returns those ports."""
        first = len(self.ports)
        for drivers in sorted(heard):
            self.ports.append(HEARD)
            self.port_device.append(number)
            self.feeds.append(drivers)
        return range(first, len(self.ports))
