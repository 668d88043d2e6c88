"""What a circuit comes to when it is left alone: the levels each part can rest at, as intervals (rule C6).

Levels are narrowed from 0 to 15: a part whose inputs are known has one level. What stays open lies in or behind a loop,
or behind a lock: it depends on what went before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from circuitcheck.engine import work
from circuitcheck.engine.program import Program, read
from circuitcheck.model.rules import FULL_POWER


@dataclass(slots=True)
class Bounds:
    """The least and highest level of each device, as far as known."""

    low: list[int]
    high: list[int]

    def copy(self) -> Bounds:
        return Bounds(self.low[:], self.high[:])

    def known(self, device: int) -> bool:
        return self.low[device] == self.high[device]


def narrow(program: Program, bounds: Bounds, queue: list[int], fixed: set[int]) -> None:
    """Narrows the bounds of the queued devices and of all that read them, until nothing changes."""
    waiting = set(queue)
    while queue:
        number = queue.pop()
        waiting.discard(number)
        if number in fixed or bounds.known(number):
            continue
        low, high = settled(program, bounds, number)
        low, high = max(low, bounds.low[number]), min(high, bounds.high[number])
        if low > high or (low, high) == (bounds.low[number], bounds.high[number]):
            continue
        bounds.low[number], bounds.high[number] = low, high
        for reader in program.readers[number]:
            if reader.device not in waiting:
                waiting.add(reader.device)
                queue.append(reader.device)


def settled(program: Program, bounds: Bounds, number: int) -> tuple[int, int]:
    device = program.devices[number]
    low = {port: read(program.feeds[port], bounds.low) for port in device.ports}
    high = {port: read(program.feeds[port], bounds.high) for port in device.ports}
    return device.settled(low, high)


def settle(program: Program, fixed: Mapping[int, int]) -> Bounds:
    """Where every device comes to rest while some are held at fixed levels."""
    count = len(program.devices)
    work.count(count)
    bounds = Bounds([0] * count, [FULL_POWER] * count)
    for number, level in fixed.items():
        bounds.low[number] = bounds.high[number] = level
    narrow(program, bounds, list(range(count - 1, -1, -1)), set(fixed))
    return bounds
