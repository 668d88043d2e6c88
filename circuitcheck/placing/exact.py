"""The smallest box in which a circuit can be drawn, and that there is no smaller one.

For each box one formula says what a drawing in it would be, and that it is the circuit (`exact_places`, `exact_power`);
a SAT solver finds such a drawing or shows that there is none. Boxes are asked in the order of their volume, so that the
first drawing found has the smallest of all, if no smaller box was left open. What is found is read again by the house
before it is given out.

The method is that of exact placement and routing by SAT and SMT, one size of the layout after the other: M. Walter,
R. Wille, D. Große, F. Sill Torres and R. Drechsler, "An exact method for design exploration of quantum-dot cellular
automata" (DATE 2018). Theirs has tiles on a clocked grid in which a wire is a path of tiles between two gates. Ours has
no wires: dust joins by itself all that lies beside it, in three dimensions, so that a formula must also say of every
place what does not come there; and how far power comes is counted in levels.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from enum import Enum
from functools import cache
from time import monotonic

from circuitcheck.model.drawing import Drawing
from circuitcheck.placing import exact_needed, exact_symmetry
from circuitcheck.placing.exact_places import Box, Places
from circuitcheck.placing.exact_power import Power
from circuitcheck.placing.exact_wanted import Wanted
from circuitcheck.placing.true_reading import wrong_with
from circuitcheck.prove.interrupts import interruptible

SOLVERS = ("cadical195", "glucose4")
"""The library's solvers, the quickest first: boxes of 24 to 30 places took it a third to a half of the other's time."""
BUDGET = 300_000
"""How many conflicts the solver may have in all boxes together: a count of work, so that it depends on no clock."""
SHARE = 4
"""One box may have one part in so many of the budget."""
CLAUSES = 200
"""So many clauses written count as one conflict."""
AT_ONCE = 2_000
"""After how many conflicts the time is looked at."""
ONLY_BLOCKS: frozenset[str] = frozenset()
"""Nothing but solid blocks to hold and to carry."""


Fits = Callable[[Box], bool]
"""Whether a box may be used."""


class Ended(Enum):
    """What came of a box."""

    FOUND = "found"
    EXCLUDED = "excluded"
    OPEN = "open"


@dataclass(frozen=True)
class Asked:
    """A box that was asked."""

    box: Box
    ended: Ended
    work: int
    """Conflicts of the solver, and what writing the formula counts for."""
    drawing: Drawing | None = None


@dataclass
class LeastBox:
    """What the search for the least box came to."""

    first: int
    """Fewer places than so many can't hold the parts, by counting."""
    fits: Fits
    excluded: list[Box] = field(default_factory=list)
    """Boxes in which there is no drawing of the circuit."""
    found: Asked | None = None
    work: int = 0
    stopped: bool = False
    """Whether it was stopped by hand."""
    turned: bool = False
    """Whether a box that is another one turned is asked as well: where sides differ by what is asked."""

    def open_below(self, places: int) -> list[Box]:
        """The boxes of fewer places than so many that are not excluded."""
        known = set(self.excluded)
        return [box for box in boxes(self.first, places - 1, self.fits, self.turned) if box not in known]

    @property
    def is_least(self) -> bool:
        """Whether a drawing was found, and every smaller box is excluded."""
        return self.found is not None and not self.open_below(self.found.box.volume)


class Disagreement(Exception):
    """The formula allows a drawing that the house does not read as the circuit: a fault of the program."""


def boxes(least: int, most: int, fits: Fits = lambda box: True, turned: bool = False) -> Iterator[Box]:
    """All boxes of some volumes, in their order and low ones first; without `turned` none is another one turned."""
    for volume in range(least, most + 1):
        for height in range(1, volume + 1):
            area, left = divmod(volume, height)
            if not left:
                for depth in range(1, area + 1):
                    if area % depth == 0 and depth * depth <= area:
                        either = dict.fromkeys((Box(area // depth, depth, height), Box(depth, area // depth, height)))
                        yield from [box for box in either if fits(box)][: None if turned else 1]


def formula(
    wanted: Wanted, box: Box, materials: frozenset[str] = ONLY_BLOCKS, in_reach: bool = True, whole: bool = False
) -> Places:
    """The formula of all drawings of a circuit in a box; but for `whole`, not each one of those that are
    alike, or have in them what does nothing."""
    places = Places(wanted, box, wanted.circuit.rules, materials, in_reach)
    power = Power(places)
    power.write()
    if not whole:
        exact_needed.write(places, power, materials)
        exact_symmetry.write(places)
    return places


@cache
def _solver() -> str:
    """The quickest solver that can be given a budget: with older versions of the library not each can."""
    from pysat.solvers import Solver

    for name in SOLVERS[:-1]:
        with Solver(name=name) as solver, suppress(NotImplementedError):
            solver.conf_budget(1)
            solver.solve_limited()
            return name
    return SOLVERS[-1]


def ask(
    wanted: Wanted,
    box: Box,
    conflicts: int = BUDGET,
    until: float | None = None,
    materials: frozenset[str] = ONLY_BLOCKS,
    in_reach: bool = True,
) -> Asked:
    """Whether there is a drawing of a circuit in a box, and one if there is.

    `materials` are what may be used beside solid blocks: "glass", "half" and "dot". With `in_reach` a hand reaches
    from outside all that is worked.
    """
    from pysat.solvers import Solver

    places = formula(wanted, box, materials, in_reach)
    written = len(places.clauses.all) // CLAUSES
    with Solver(name=_solver(), bootstrap_with=places.clauses.all) as solver:
        answer, spent = None, 0
        while answer is None and spent < conflicts and (until is None or monotonic() < until):
            solver.conf_budget(min(AT_ONCE, conflicts - spent))
            with interruptible():
                answer = solver.solve_limited()
            spent = solver.accum_stats()["conflicts"]
        if not answer:
            return Asked(box, Ended.OPEN if answer is None else Ended.EXCLUDED, spent + written)
        things, names = places.things(set(solver.get_model()))
    drawing = Drawing(things, names, size=(box.height, box.depth, box.width))
    told = wrong_with(wanted.circuit, drawing)
    if told:
        raise Disagreement(f"in {box}: {told[0]}")
    return Asked(box, Ended.FOUND, spent + written, drawing)


def least_box(
    wanted: Wanted,
    most: int,
    fits: Fits = lambda box: True,
    budget: int = BUDGET,
    until: float | None = None,
    in_reach: bool = True,
    tells: Callable[[str], None] = lambda what: None,
) -> LeastBox:
    """Asks boxes of up to so many places, the smallest first, until one has a drawing or the budget is spent.

    Ctrl-C ends it as the budget does.
    """
    result = LeastBox(wanted.least_places, fits, turned=bool(wanted.asked))
    try:
        for box in boxes(result.first, most, fits, result.turned):
            left = budget - result.work
            if left <= 0 or (until is not None and monotonic() > until):
                break
            tells(f"box {box}: {len(result.excluded)} smaller ones excluded")
            asked = ask(wanted, box, min(left, budget // SHARE), until, in_reach=in_reach)
            result.work += asked.work
            if asked.ended is Ended.FOUND:
                result.found = asked
                break
            if asked.ended is Ended.EXCLUDED:
                result.excluded.append(box)
    except KeyboardInterrupt:
        result.stopped = True
    return result
