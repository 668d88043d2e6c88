"""How much is looked at before a question is left undecided: counted in states, and kept to in memory."""

from __future__ import annotations

import os
from dataclasses import dataclass

LOOKS_AT_MEMORY_EVERY = 64
NO_BOUND = 1 << 62


class OverBudget(Exception):
    """More would have to be looked at, or held in memory, than was allowed; the text says which."""


@dataclass(slots=True)
class Meter:
    """Counts what has been looked at, in states of any kind. Raises OverBudget past `most`, or past so much memory."""

    most: int
    memory: int = 0
    """Bytes that the process may hold; 0 for no bound."""
    steps: int = 0
    full: bool = False
    """Whether it was the memory that was used up."""

    def release(self) -> None:
        """Ends the counting: what has been found is shown, whatever that costs."""
        self.most, self.memory = NO_BOUND, 0

    def count(self, steps: int) -> None:
        """Adds to what has been looked at. Raises OverBudget."""
        self.steps += steps
        if self.steps > self.most:
            raise OverBudget(f"the budget of {self.most:,} was used up, every state and move looked at counted")
        if self.memory and self.steps % LOOKS_AT_MEMORY_EVERY == 0 and held() > self.memory:
            self.full = True
            raise OverBudget(f"the memory allowed, {self.memory >> 20:,} MB, was used up")


def held() -> int:
    """How many bytes the process holds now; where the system does not say, 0."""
    try:
        with open("/proc/self/statm", encoding="ascii") as file:
            return int(file.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, ValueError, IndexError, AttributeError):
        return 0
