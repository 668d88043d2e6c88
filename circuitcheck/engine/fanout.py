"""Who is updated when a device changes, one reader at a time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from circuitcheck.model.parts.simulator_view import SimulatorView

PortDrivers = tuple[tuple[int, int], ...]
"""For one port: the devices that feed it by number, each with the levels lost on the way."""

Waits = tuple[int, int, int, int]
"""The waits of a reaction (`model.parts.base.Reaction`)."""


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
