"""How much is looked at before a question is left undecided: counted as work, and bounded in memory.

Work is counted and not timed, so that a verdict is the same on every machine; seconds are a second bound, for those who
ask for it. The unit is one *state* looked at. What
is cheaper counts as a fraction of one: a *move* is the 16th part, about what it costs to look up one successor.

Budgets nest. Whatever is spent for a question is spent for the claim that asks it, and for the file that claims it.
"""

from __future__ import annotations

import os
import time
from dataclasses import dataclass
from typing import NamedTuple

USUAL_STATES = 250_000
"""How many states are looked at for one claim: about 10 s of one core for a circuit of up to 200 parts."""
CLAIMS_A_FILE = 8
"""For how many such claims a file's budget lasts, however many it has: about 80 s."""
USUAL_MEMORY = 4 << 30
"""How many bytes the process may hold while it explores."""
MOVES_A_STATE = 16
LOOKS_EVERY = 64
"""After how many states the memory is looked at, and the clock."""
OUT_OF_TIME = "the limit of seconds ran out"
NO_BOUND = 1 << 62


class OverBudget(Exception):
    """More would have to be looked at, or held in memory, than was allowed; the text says which."""


@dataclass(slots=True)
class Meter:
    """Counts what has been looked at. Raises OverBudget past `most` states, past so much memory, or past a time."""

    most: int
    memory: int = 0
    """Bytes that the process may hold; 0 for no bound."""
    of: str = ""
    """Whose budget it is, in words."""
    within: Meter | None = None
    """The wider budget that this one is part of."""
    until: float = 0.0
    """The reading of the monotonic clock at which it ends; 0 for no such bound."""
    steps: int = 0
    """States counted so far."""
    _moves: int = 0
    _looked: int = 0
    _full: bool = False

    def part(self, most: int, of: str = "") -> Meter:
        """A budget within this one."""
        return Meter(most, 0, of or self.of, self)

    def renew(self, most: int, of: str, within: Meter) -> None:
        """Begins another budget, for those who hold this meter."""
        self.most, self.of, self.within, self.steps = most, of, within, 0

    @property
    def full(self) -> bool:
        """Whether it was the memory that was used up, or the time."""
        return self._full or (self.within is not None and self.within.full)

    @property
    def left(self) -> int:
        """How many states may still be counted."""
        own = max(self.most - self.steps, 0)
        return own if self.within is None else min(own, self.within.left)

    def release(self) -> None:
        """Ends the counting: what has been found is shown, whatever that costs."""
        self.most, self.memory, self.within, self.until = NO_BOUND, 0, None, 0.0

    def count(self, states: int, moves: int = 0) -> None:
        """Adds to what has been looked at. Raises OverBudget."""
        self._moves += moves
        if self._moves >= MOVES_A_STATE:
            states += self._moves // MOVES_A_STATE
            self._moves %= MOVES_A_STATE
        if not states:
            return
        self.steps += states
        if self.within is not None:
            self.within.count(states)
        if self.steps > self.most:
            raise OverBudget(f"the budget of {self.most:,} states{self.of and ' '}{self.of} ran out")
        self._looked += states
        if self._looked >= LOOKS_EVERY and (self.memory or self.until):
            self._looked = 0
            self._look()

    def _look(self) -> None:
        """Looks at the memory and at the clock. Raises OverBudget."""
        self._full = True
        if self.memory and held() > self.memory:
            raise OverBudget(f"the memory allowed, {self.memory >> 20:,} MB, ran out")
        if self.until and time.monotonic() > self.until:
            raise OverBudget(OUT_OF_TIME)
        self._full = False


class Limits(NamedTuple):
    """How much is looked at for one claim, and how much for all of a file: states (see above), memory, and a time."""

    states: int = USUAL_STATES
    memory: int = USUAL_MEMORY
    until: float = 0.0
    """The reading of the monotonic clock at which looking ends; 0 for no such bound."""

    def meter(self) -> Meter:
        """A fresh budget for all claims of a file."""
        return Meter(self.states * CLAIMS_A_FILE, self.memory, "for the file", until=self.until)


def seconds_from_now(seconds: float | None) -> float:
    """The reading of the monotonic clock that many seconds from now; 0 for none."""
    return time.monotonic() + seconds if seconds else 0.0


def held() -> int:
    """How many bytes the process holds now; where the system does not say, 0."""
    try:
        with open("/proc/self/statm", encoding="ascii") as file:
            return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, ValueError, IndexError, AttributeError):
        return 0
