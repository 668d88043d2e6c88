"""A proof without the steps that nothing rests on: most of what a solver learns it never needs.

From the last step backwards each one that is needed is shown again by unit propagation, with as few of the earlier
steps as that takes, those needed already first: M. Heule, W. Hunt and N. Wetzler, "Trimming while Checking Clausal
Proofs" (FMCAD 2013). A solver guesses which earlier steps these are; where that is not enough for unit propagation,
by which whoever checks goes, the rest is found by halving.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from circuitcheck.prove.interrupts import interruptible

if TYPE_CHECKING:
    from pysat.solvers import Solver

TRIMMER = "minisat22"
MOST_WORK = 500_000_000
"""How many literals may be supposed in all, about a minute of one core; from there on all steps are kept."""

CONFLICTS = 100
"""How many conflicts a guess may take."""

Step = tuple[int, ...]
"""A clause that follows from those before it."""


def trimmed(clauses: Sequence[Step], proof: str) -> str:
    """A proof, in the DRAT format, with fewer of its steps: each follows by unit propagation, as a solver's do.

    What it takes back is left out, as that shows nothing.
    """
    lines = [line for line in proof.splitlines() if line and not line.startswith("d")]
    steps = [tuple(map(int, line.split()[:-1])) for line in lines]
    with _Trimmer(clauses, steps) as trimmer:
        kept = trimmer.needed()
    return "".join(f"{lines[place]}\n" for place in kept)


class _Trimmer:
    """Finds which steps are needed. A step counts while its guard is supposed: a variable beyond all others."""

    def __init__(self, clauses: Sequence[Step], steps: Sequence[Step]) -> None:
        from pysat.solvers import Solver

        self._steps = steps
        most = max((abs(each) for clause in (*clauses, *steps) for each in clause), default=0)
        self._guards = range(most + 1, most + 1 + len(steps))
        guarded = [(-guard, *step) for guard, step in zip(self._guards, steps, strict=True)]
        # One is only asked to propagate, so that it learns nothing and does no more than whoever checks.
        self._plain: Solver = Solver(name=TRIMMER, bootstrap_with=[*clauses, *guarded])
        self._guessing: Solver = Solver(name=TRIMMER, bootstrap_with=[*clauses, *guarded])
        self._work = 0

    def __enter__(self) -> _Trimmer:
        return self

    def __exit__(self, *how: object) -> None:
        self._plain.delete()
        self._guessing.delete()

    def needed(self) -> list[int]:
        """The places of the steps that are needed, in order."""
        kept: list[int] = []
        left = {len(self._steps) - 1}
        for place in range(len(self._steps) - 1, -1, -1):
            if place in left:
                if self._work > MOST_WORK:
                    return [*range(place + 1), *reversed(kept)]
                left.discard(place)
                kept.append(place)
                left |= self._shown_by(place, left)
        return kept[::-1]

    def _shown_by(self, place: int, left: set[int]) -> set[int]:
        """Earlier steps besides some that a step follows from."""
        guards = self._guards
        supposed = [*(-each for each in self._steps[place]), *(guards[each] for each in left)]
        if self._contradicts(supposed):
            return set()
        found = self._guessed([*supposed, *reversed(guards[:place])]) - set(supposed)
        supposed += sorted(found)
        while not self._contradicts(supposed):
            further = self._first_enough(supposed, place)
            supposed.append(further)
            found.add(further)
        return {guard - guards.start for guard in found}

    def _guessed(self, supposed: Sequence[int]) -> set[int]:
        """Guards of steps that are about what it takes to see that this can't be true together."""
        self._work += len(supposed)
        self._guessing.conf_budget(CONFLICTS)
        with interruptible():
            self._guessing.solve_limited(assumptions=supposed)
        # It knows of none where it gives up, or once it has learned that the clauses alone have no answer.
        return {each for each in self._guessing.get_core() or () if each >= self._guards.start}

    def _first_enough(self, supposed: Sequence[int], place: int) -> int:
        """The guard of the last step of the fewest first ones that are enough with what is supposed."""
        low, high = 1, place
        while low < high:
            middle = (low + high) // 2
            if self._contradicts([*supposed, *self._guards[:middle]]):
                high = middle
            else:
                low = middle + 1
        return self._guards[low - 1]

    def _contradicts(self, supposed: Sequence[int]) -> bool:
        """Unit propagation alone shows that this can't be true together."""
        self._work += len(supposed)
        return not self._plain.propagate(assumptions=supposed)[0]
