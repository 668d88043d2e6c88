"""Where a circuit starts: the level each part settles to, or every way it can (rules C6, L5).

Levels are narrowed by intervals: a part whose inputs are known has one level, and what stays open lies in or behind a
loop without a declared start. Open parts are then tried one by one, keeping what rests; where nothing rests (a ring),
every assignment of the open parts is a start.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from circuitcheck.engine.machine import Machine
from circuitcheck.model.parts.comparator import Comparator
from circuitcheck.model.rules import FULL_POWER

MOST_STARTS = 64
"""How many starts are tried before the file is asked to declare them."""
MOST_TRIALS = 20_000
"""How many assignments are looked at in search of those that rest."""


class TooManyStarts(Exception):
    """More starts are possible than are tried; carries the names of parts whose start is open."""

    def __init__(self, names: tuple[str, ...]) -> None:
        super().__init__(f"more than {MOST_STARTS} starts are possible")
        self.names = names


@dataclass(frozen=True, slots=True)
class Start:
    """One way to start: every device's level, and the names of those that were tried at it."""

    levels: bytes
    tried: tuple[tuple[str, int], ...] = ()


@dataclass(slots=True)
class _Bounds:
    """The least and highest level of each device, as far as known."""

    low: list[int]
    high: list[int]

    def copy(self) -> _Bounds:
        return _Bounds(self.low[:], self.high[:])

    def known(self, device: int) -> bool:
        return self.low[device] == self.high[device]


def starts(machine: Machine) -> tuple[Start, ...]:
    """Every level assignment that the circuit can start from. Raises TooManyStarts."""
    declared = {
        number: device.part.start for number, device in enumerate(machine.devices) if device.part.start is not None
    }
    bounds = _Bounds([0] * len(machine.devices), [FULL_POWER] * len(machine.devices))
    for number, level in declared.items():
        bounds.low[number] = bounds.high[number] = level
    fixed = set(declared)
    _narrow(machine, bounds, list(range(len(machine.devices))), fixed)
    open_parts = [number for number in range(len(machine.devices)) if not bounds.known(number)]
    if not open_parts:
        return (Start(bytes(bounds.low)),)
    found = list(_resting(machine, bounds, fixed)) or list(_all(machine, bounds, open_parts))
    return tuple(
        Start(levels, tuple((machine.names[number], levels[number]) for number in open_parts))
        for levels in dict.fromkeys(found)
    )


def _narrow(machine: Machine, bounds: _Bounds, queue: list[int], fixed: set[int]) -> None:
    """Narrows the bounds of the queued devices and of all that read them, until nothing changes."""
    waiting = set(queue)
    while queue:
        number = queue.pop()
        waiting.discard(number)
        if number in fixed or bounds.known(number):
            continue
        low, high = _settled(machine, bounds, number)
        low, high = max(low, bounds.low[number]), min(high, bounds.high[number])
        if low > high or (low, high) == (bounds.low[number], bounds.high[number]):
            continue
        bounds.low[number], bounds.high[number] = low, high
        for reader in machine.readers[number]:
            if reader.device not in waiting:
                waiting.add(reader.device)
                queue.append(reader.device)


def _settled(machine: Machine, bounds: _Bounds, number: int) -> tuple[int, int]:
    device = machine.devices[number]
    low = {port: _reading(machine, port, bounds.low) for port in device.ports}
    high = {port: _reading(machine, port, bounds.high) for port in device.ports}
    return device.settled(low, high)


def _reading(machine: Machine, port: int, levels: list[int]) -> int:
    return max((levels[source] - loss for source, loss in machine.feeds[port] if levels[source] > loss), default=0)


def _choices(machine: Machine, bounds: _Bounds, number: int) -> range | tuple[int, ...]:
    if isinstance(machine.devices[number].part, Comparator):
        return range(bounds.low[number], bounds.high[number] + 1)
    return (0, FULL_POWER)


def _resting(machine: Machine, bounds: _Bounds, fixed: set[int]) -> Iterator[bytes]:
    """Every assignment at which each part gives what its inputs ask of it."""
    stack = [bounds]
    trials = count = 0
    while stack:
        trials += 1
        current = stack.pop()
        number = next((n for n in range(len(machine.devices)) if not current.known(n)), None)
        if number is None:
            if _rests(machine, current, fixed):
                count += 1
                if count > MOST_STARTS:
                    raise TooManyStarts(_open(machine, bounds))
                yield bytes(current.low)
            continue
        if trials > MOST_TRIALS:
            raise TooManyStarts(_open(machine, bounds))
        for level in reversed(_choices(machine, current, number)):
            trial = current.copy()
            trial.low[number] = trial.high[number] = level
            _narrow(machine, trial, [reader.device for reader in machine.readers[number]], fixed)
            stack.append(trial)


def _open(machine: Machine, bounds: _Bounds) -> tuple[str, ...]:
    return tuple(name for number, name in enumerate(machine.names) if not bounds.known(number))


def _rests(machine: Machine, bounds: _Bounds, fixed: set[int]) -> bool:
    for number in range(len(machine.devices)):
        if number not in fixed:
            low, high = _settled(machine, bounds, number)
            if not low <= bounds.low[number] <= high:
                return False
    return True


def _all(machine: Machine, bounds: _Bounds, open_parts: list[int]) -> Iterator[bytes]:
    """Every assignment of the open parts, where none rests."""
    assignments = [bounds.low[:]]
    for number in open_parts:
        choices = _choices(machine, bounds, number)
        assignments = [_with(levels, number, level) for levels in assignments for level in choices]
        if len(assignments) > MOST_STARTS:
            raise TooManyStarts(_open(machine, bounds))
    return map(bytes, assignments)


def _with(levels: list[int], number: int, level: int) -> list[int]:
    changed = levels[:]
    changed[number] = level
    return changed
