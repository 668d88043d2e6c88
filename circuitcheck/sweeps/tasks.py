"""Many variants judged one after another within one bound of work, here or over an executor; what is known so far.

Work is counted (`engine.work`), and variants are judged in one order, so that the same ones are left over on every
machine, however many processes share the work.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from typing import Generic, TypeVar

from circuitcheck.engine import work

MOST_WORK = 30_000_000
"""How much work a sweep does with the usual budget of states, and as much more or less with another: about half a
minute of one core."""
LEAST_JUDGED = 20
"""For how many variants it lasts, or a third of them if that is more, however much work each of them is."""
STATE = 40
"""What it costs to look at one state of a proof, in that work."""
NOT_JUDGED = "not judged: the work that is done for a sweep was used up before; with more --states it is more"

Given = TypeVar("Given")
Made = TypeVar("Made")


class Sweep(Generic[Given, Made]):
    """Tasks carried out in order. `results` has what came of them so far, by their places."""

    def __init__(self, run: Callable[[Given], tuple[Made, int]], tasks: Sequence[Given], most: int) -> None:
        """`run` carries out one task, and says how much work it was."""
        self._run, self._tasks, self._most = run, tasks, most
        self.results: dict[int, Made] = {}
        self.spent = 0

    @property
    def size(self) -> int:
        """How many tasks there are."""
        return len(self._tasks)

    def carry_out(self, executor: Executor | None, done: Callable[[int, int], None]) -> None:
        """Carries out tasks until none is left, or the budget runs out. `done` is called with how many of how many."""
        for place, (made, spent) in enumerate(self._outcomes(executor)):
            self.results[place] = made
            self.spent += spent
            done(len(self.results), self.size)
            if self.spent >= self._most:
                break

    def _outcomes(self, executor: Executor | None) -> Iterator[tuple[Made, int]]:
        if executor is None:
            yield from map(self._run, self._tasks)
            return
        # One by one, as any executor takes them; the results come in the order of the tasks.
        futures = [executor.submit(self._run, task) for task in self._tasks]
        try:
            for future in futures:
                yield future.result()
        finally:
            for future in futures:
                future.cancel()


def spent_since(begun: int, states: int) -> int:
    """How much work was done since a reading of the clock, with so many states looked at besides."""
    return work.done() - begun + STATE * states
