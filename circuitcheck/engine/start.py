"""Where a circuit starts: the level each part settles to, or every way it can (rules C6, L5).

Levels are narrowed by intervals: a part whose inputs are known has one level, and what stays open lies in or behind a
loop without a declared start. Open parts are then tried one by one, keeping what rests; where nothing rests (a ring),
every assignment of the open parts is a start.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from circuitcheck.engine import work
from circuitcheck.engine.machine import Machine
from circuitcheck.engine.settle import Bounds, narrow, settle, settled
from circuitcheck.model.rules import FULL_POWER

MOST_STARTS = 64
"""How many starts are tried before the file is asked to declare them."""
MOST_TRIALS = 20_000
"""How many assignments are looked at in search of those that rest."""
MOST_LOOKED_AT = 4_000_000
"""How many parts are looked at in that search, over all assignments."""


class OpenStart(Exception):
    """How a circuit starts is not said; carries the names of the parts whose start is open."""

    def __init__(self, what: str, names: tuple[str, ...]) -> None:
        super().__init__(f"{what}: say how these start: {', '.join(names[:4])}{', …' if len(names) > 4 else ''} (C6)")
        self.names = names

    def __reduce__(self) -> tuple[type[OpenStart], tuple[tuple[str, ...]]]:
        """How it comes from another process."""
        return type(self), (self.names,)


class TooManyStarts(OpenStart):
    """More starts are possible than are tried."""

    def __init__(self, names: tuple[str, ...]) -> None:
        super().__init__(f"more than {MOST_STARTS} starts are possible", names)


class ManyStarts(OpenStart):
    """The circuit can start in several ways."""

    def __init__(self, names: tuple[str, ...]) -> None:
        super().__init__("it can start in several ways", names)


@dataclass(frozen=True, slots=True)
class Start:
    """One way to start: every device's level, and the names of those that were tried at it."""

    levels: bytes
    tried: tuple[tuple[str, int], ...] = ()


def starts(machine: Machine) -> tuple[Start, ...]:
    """Every level assignment that the circuit can start from. Raises TooManyStarts."""
    declared = {
        number: device.part.start for number, device in enumerate(machine.devices) if device.part.start is not None
    }
    bounds, fixed = settle(machine, declared), set(declared)
    open_parts = [number for number in range(len(machine.devices)) if not bounds.known(number)]
    if not open_parts:
        return (Start(bytes(bounds.low)),)
    found = list(resting(machine, bounds, fixed)) or list(_all(machine, bounds, open_parts))
    return tuple(
        Start(levels, tuple((machine.names[number], levels[number]) for number in open_parts))
        for levels in dict.fromkeys(found)
    )


def the_start(machine: Machine) -> Start:
    """The one way to start. Raises ManyStarts where there are more, and TooManyStarts."""
    ways = starts(machine)
    if len(ways) > 1:
        raise ManyStarts(tuple(name for name, _ in ways[0].tried))
    return ways[0]


def _choices(machine: Machine, bounds: Bounds, number: int) -> range | tuple[int, ...]:
    if machine.devices[number].part.graded:
        return range(bounds.low[number], bounds.high[number] + 1)
    return (0, FULL_POWER)


def resting(machine: Machine, bounds: Bounds, fixed: set[int]) -> Iterator[bytes]:
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
        work.count(len(machine.devices))
        if trials > MOST_TRIALS or trials * len(machine.devices) > MOST_LOOKED_AT:
            raise TooManyStarts(_open(machine, bounds))
        for level in reversed(_choices(machine, current, number)):
            trial = current.copy()
            trial.low[number] = trial.high[number] = level
            narrow(machine, trial, [reader.device for reader in machine.readers[number]], fixed)
            stack.append(trial)


def _open(machine: Machine, bounds: Bounds) -> tuple[str, ...]:
    return tuple(name for number, name in enumerate(machine.names) if not bounds.known(number))


def _rests(machine: Machine, bounds: Bounds, fixed: set[int]) -> bool:
    for number in range(len(machine.devices)):
        if number not in fixed:
            low, high = settled(machine, bounds, number)
            if not low <= bounds.low[number] <= high:
                return False
    return True


def _all(machine: Machine, bounds: Bounds, open_parts: list[int]) -> Iterator[bytes]:
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
