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
from dataclasses import dataclass, field
from enum import Enum
from time import monotonic

from circuitcheck.checks.drawing.built import differences
from circuitcheck.model.drawing import Drawing
from circuitcheck.placing import exact_needed, exact_symmetry
from circuitcheck.placing.exact_places import Box, Places
from circuitcheck.placing.exact_power import Power
from circuitcheck.placing.exact_wanted import Wanted
from circuitcheck.prove.interrupts import interruptible
from circuitcheck.space.circuit import read

SOLVER = "cadical195"
"""The library's solver that was quickest: of boxes of 24 to 30 places, in a third to a half of the time of others."""
CONFLICTS = 200_000
"""How many conflicts the solver may have in one box: a count of its own, so that it never depends on time."""
AT_ONCE = 2_000
"""After how many conflicts the time is looked at."""
ONLY_BLOCKS: frozenset[str] = frozenset()
"""Nothing but solid blocks to hold and to carry."""


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
    conflicts: int
    drawing: Drawing | None = None


@dataclass
class LeastBox:
    """What the search for the least box came to."""

    excluded: list[Box] = field(default_factory=list)
    """Boxes in which there is no drawing of the circuit."""
    open: list[Box] = field(default_factory=list)
    """Boxes of which it was not decided within the budget."""
    found: Asked | None = None
    conflicts: int = 0

    @property
    def is_least(self) -> bool:
        """Whether no smaller box was left undecided."""
        return self.found is not None and all(box.volume >= self.found.box.volume for box in self.open)


class Disagreement(Exception):
    """The formula allows a drawing that the house does not read as the circuit: a fault of the program."""


def boxes(least: int, most: int) -> Iterator[Box]:
    """All boxes of some volumes, in their order and low ones first; none is another one turned."""
    for volume in range(least, most + 1):
        for height in range(1, volume + 1):
            area, left = divmod(volume, height)
            if not left:
                depths = (depth for depth in range(1, area + 1) if area % depth == 0 and depth * depth <= area)
                yield from (Box(area // depth, depth, height) for depth in depths)


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


def ask(
    wanted: Wanted,
    box: Box,
    conflicts: int = CONFLICTS,
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
    with Solver(name=SOLVER, bootstrap_with=places.clauses.all) as solver:
        answer, spent = None, 0
        while answer is None and spent < conflicts and (until is None or monotonic() < until):
            solver.conf_budget(min(AT_ONCE, conflicts - spent))
            with interruptible():
                answer = solver.solve_limited()
            spent = solver.accum_stats()["conflicts"]
        if not answer:
            return Asked(box, Ended.OPEN if answer is None else Ended.EXCLUDED, spent)
        things, names = places.things(set(solver.get_model()))
    drawing = Drawing(things, names, size=(box.height, box.depth, box.width))
    made = read(drawing, wanted.circuit.rules)
    told = [each.message for each in made.mistakes] or differences(wanted.circuit, made.circuit)
    if told:
        raise Disagreement(f"in {box}: {told[0]}")
    return Asked(box, Ended.FOUND, spent, drawing)


def least_box(
    wanted: Wanted,
    most: int,
    conflicts: int = CONFLICTS,
    until: float | None = None,
    materials: frozenset[str] = ONLY_BLOCKS,
    in_reach: bool = True,
    tells: Callable[[str], None] = lambda what: None,
) -> LeastBox:
    """Asks boxes of up to so many places, the smallest first, until one has a drawing of the circuit."""
    result = LeastBox()
    for box in boxes(wanted.least_places, most):
        tells(f"{box}: {len(result.excluded)} boxes excluded, {len(result.open)} open")
        asked = ask(wanted, box, conflicts, until, materials, in_reach)
        result.conflicts += asked.conflicts
        if asked.ended is Ended.FOUND:
            result.found = asked
            break
        (result.excluded if asked.ended is Ended.EXCLUDED else result.open).append(box)
    return result
