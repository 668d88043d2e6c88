"""Where a circuit starts: the level each part settles to, or every way it can (rules C6, L5).

Levels are narrowed by intervals: a part whose inputs are known has one level, and what stays open lies in or behind a
loop without a declared start. Open parts are then tried one by one, keeping what rests; where nothing rests (a ring),
every assignment of the open parts is a start.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from circuitcheck.engine import work
from circuitcheck.engine.program import Program
from circuitcheck.engine.refused import RunRefused
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


def starts(program: Program) -> tuple[Start, ...]:
    """Every level assignment that the circuit can start from. Raises TooManyStarts."""
    declared = {
        number: device.part.start for number, device in enumerate(program.devices) if device.part.start is not None
    }
    bounds, fixed = settle(program, declared), set(declared)
    open_parts = [number for number in range(len(program.devices)) if not bounds.known(number)]
    if not open_parts:
        return (Start(_as_it_stands(program, bytes(bounds.low))),)
    found = list(resting(program, bounds, fixed)) or list(_all(program, bounds, open_parts))
    return tuple(
        Start(_as_it_stands(program, levels), tuple((program.names[number], levels[number]) for number in open_parts))
        for levels in dict.fromkeys(found)
    )


def _as_it_stands(program: Program, levels: bytes) -> bytes:
    """Levels with those of the water, and of the blocks before pistons, where some pistons start out."""
    if program.motion is None:
        return levels
    try:
        return bytes(program.motion.at_start(program.motion.start(levels), levels))
    except RunRefused:
        return levels  # so is each run from there, which says why


def the_start(program: Program) -> Start:
    """The one way to start. Raises ManyStarts where there are more, and TooManyStarts."""
    ways = starts(program)
    if len(ways) > 1:
        raise ManyStarts(tuple(name for name, _ in ways[0].tried))
    return ways[0]


def _choices(program: Program, bounds: Bounds, number: int) -> range | tuple[int, ...]:
    if program.devices[number].part.graded:
        return range(bounds.low[number], bounds.high[number] + 1)
    return (0, FULL_POWER)


def resting(program: Program, bounds: Bounds, fixed: set[int]) -> Iterator[bytes]:
    """Every assignment at which each part gives what its inputs ask of it."""
    stack = [bounds]
    trials = count = 0
    while stack:
        trials += 1
        current = stack.pop()
        number = next((n for n in range(len(program.devices)) if not current.known(n)), None)
        if number is None:
            if _rests(program, current, fixed):
                count += 1
                if count > MOST_STARTS:
                    raise TooManyStarts(_open(program, bounds))
                yield bytes(current.low)
            continue
        work.count(len(program.devices))
        if trials > MOST_TRIALS or trials * len(program.devices) > MOST_LOOKED_AT:
            raise TooManyStarts(_open(program, bounds))
        for level in reversed(_choices(program, current, number)):
            trial = current.copy()
            trial.low[number] = trial.high[number] = level
            narrow(program, trial, [reader.device for reader in program.readers[number]], fixed)
            stack.append(trial)


def _open(program: Program, bounds: Bounds) -> tuple[str, ...]:
    return tuple(name for number, name in enumerate(program.names) if not bounds.known(number))


def _rests(program: Program, bounds: Bounds, fixed: set[int]) -> bool:
    for number in range(len(program.devices)):
        if number not in fixed:
            low, high = settled(program, bounds, number)
            if not low <= bounds.low[number] <= high:
                return False
    return True


def _all(program: Program, bounds: Bounds, open_parts: list[int]) -> Iterator[bytes]:
    """Every assignment of the open parts, where none rests."""
    assignments = [bounds.low[:]]
    for number in open_parts:
        choices = _choices(program, bounds, number)
        assignments = [_with(levels, number, level) for levels in assignments for level in choices]
        if len(assignments) > MOST_STARTS:
            raise TooManyStarts(_open(program, bounds))
    return map(bytes, assignments)


def _with(levels: list[int], number: int, level: int) -> list[int]:
    changed = levels[:]
    changed[number] = level
    return changed
