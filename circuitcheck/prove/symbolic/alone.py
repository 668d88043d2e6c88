"""What the engine shows a device (`model.parts.base.SimulatorView`), for one device that stands alone as number 0."""

from __future__ import annotations

from collections.abc import MutableSequence, Sequence
from typing import NamedTuple, NoReturn

from circuitcheck.model.parts.waits import CLASS_BITS
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.prove.interleavings import TooMuch

CLASS_MASK = (1 << CLASS_BITS) - 1


class Wait(NamedTuple):
    """A wait that a device holds, in gt."""

    to_go: int
    length: int
    order_class: int


class Alone:
    """One device within one gt: its level, its mark, its wait, and what its ports read."""

    now = 1
    order_class = 0
    starting = False

    def __init__(self, on: bool, mark: int, wait: Wait | None, readings: Sequence[int]) -> None:
        self.levels: MutableSequence[int] = [FULL_POWER if on else 0]
        self.readings: MutableSequence[int] = [FULL_POWER if each else 0 for each in readings]
        self.device_state: MutableSequence[int] = [mark]
        self.waiting: MutableSequence[int] = [int(wait is not None)]
        self.wait = wait

    def begin(self, device: int, wait: int) -> None:
        """Begins a wait."""
        self.waiting[device] = 1
        self.wait = Wait(wait >> CLASS_BITS, wait >> CLASS_BITS, wait & CLASS_MASK)

    def set_level(self, device: int, level: int) -> None:
        """Changes its level."""
        self.levels[device] = level

    show = set_level

    def note(self, device: int, rule: str) -> None:
        """What a device notes of itself is not asked here."""

    def holds(self, device: int, wait: int) -> bool:
        """Asked only for notes."""
        return False

    # Without burn-out no offs count.

    @property
    def offs(self) -> Alone:
        """The latest offs of the device, of which none count."""
        return self

    def of(self, torch: int) -> list[int]:
        """No offs."""
        return []

    def add(self, torch: int, now: int) -> list[int]:
        """No offs."""
        return []

    # What no device does that is taken here.

    @property
    def call(self) -> int:
        """The wait of a piston that is called."""
        _refuse()

    def defer(self, device: int) -> None:
        """What comes after a burn-out."""
        _refuse()

    def can_start(self, piston: int) -> bool:
        """What a piston asks."""
        _refuse()

    def start_out(self, piston: int) -> bool:
        """What a piston does."""
        _refuse()

    def start_home(self, piston: int, started_now: bool) -> None:
        """What a piston does."""
        _refuse()

    def land(self, piston: int) -> None:
        """What a piston does."""
        _refuse()

    def water_level(self, device: int) -> int:
        """What water asks."""
        _refuse()

    def spread(self, device: int) -> None:
        """What water does."""
        _refuse()


def _refuse() -> NoReturn:
    raise TooMuch("the formula has no strokes, no water and no burn-out")
