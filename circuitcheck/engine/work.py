"""How much the engine has done: a clock that counts work, so that what it bounds ends alike on every machine.

The unit is one part of one simulator, taken through a gt, wired up or looked at once: at most about a microsecond of
one core. Whoever wants an answer within a bound opens one (`bounded`); whatever the engine does inside, however deep,
counts. Bounds nest: what is done within an inner one is done within the outer one as well.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

OVERHEAD = 50
"""What a simulator costs besides its parts, in parts."""
WIRING = 50
"""What it costs to wire up one part."""
NO_BOUND = 1 << 62


class Undecided(Exception):
    """A run ends before all of it is known, and says why: what was asked of it stays undecided."""


class TooManyStates(Undecided):
    """The orders left open lead to more states than one run carries."""

    def __init__(self, why: str = "unknown orders lead to too many states within one gt") -> None:
        super().__init__(why)


class OutOfWork(Undecided):
    """What was asked for takes more work than it may."""

    def __init__(self) -> None:
        super().__init__("it takes more work than is done for it")


class _Clock:
    """The clock of this process."""

    done = 0
    end = NO_BOUND


def count(parts: int) -> None:
    """Adds to the work done. Raises OutOfWork past the bound."""
    _Clock.done += parts
    if _Clock.done > _Clock.end:
        raise OutOfWork


def done() -> int:
    """How much work this process has done so far; the difference of two readings is what lay between."""
    return _Clock.done


@contextmanager
def bounded(most: int) -> Iterator[None]:
    """Bounds the work of what runs inside: past so much of it, OutOfWork is raised there."""
    before = _Clock.end
    _Clock.end = min(before, _Clock.done + most)
    try:
        yield
    finally:
        _Clock.end = before
