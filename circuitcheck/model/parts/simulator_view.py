"""What devices see of the simulator that is handed to them, and may do in it."""

from __future__ import annotations

from collections.abc import MutableSequence
from typing import Protocol


class Offs(Protocol):
    """When torches went off of late (rule T4); the engine supplies it."""

    def of(self, torch: int) -> list[int]:
        """The gt of a torch's latest offs, oldest first."""

    def add(self, torch: int, now: int) -> list[int]:
        """Keeps that a torch goes off now, and gives its latest offs."""


class SimulatorView(Protocol):
    """What a device may see and do while it behaves; the engine supplies it."""

    now: int
    levels: MutableSequence[int]
    """The level each device gives, by device number."""
    readings: MutableSequence[int]
    """The level at each port, by port number."""
    device_state: MutableSequence[int]
    """A small number of its own for each device that needs to remember more than its level."""
    waiting: MutableSequence[int]
    """1 for each device that holds a wait (rule C4)."""

    @property
    def offs(self) -> Offs:
        """The latest offs of torches."""

    @property
    def call(self) -> int:
        """The wait of a piston that is called now (rules O3, M2)."""

    order_class: int
    """The order class whose turn it is."""
    starting: bool
    """True while every part is updated at gt 0 (rule C6): no change, and no update, stands behind that."""

    def begin(self, device: int, wait: int) -> None: ...
    def set_level(self, device: int, level: int) -> None: ...
    def show(self, device: int, level: int) -> None: ...
    def defer(self, device: int) -> None: ...
    def note(self, device: int, rule: str) -> None: ...
    def holds(self, device: int, wait: int) -> bool: ...
    def can_start(self, piston: int) -> bool: ...
    def start_out(self, piston: int) -> bool: ...
    def start_home(self, piston: int, started_now: bool) -> None: ...
    def land(self, piston: int) -> None: ...
    def water_level(self, device: int) -> int: ...
    def spread(self, device: int) -> None: ...
