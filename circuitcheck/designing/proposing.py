"""Netlists of some kinds that no run known so far refutes: one solver proposes them, one for each run refutes them."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from circuitcheck.designing.burnt_rounds import Burning
from circuitcheck.designing.frame import Frame
from circuitcheck.designing.interchangeable import Exchange, none_of
from circuitcheck.designing.netlist import Netlist, Words
from circuitcheck.designing.open_netlists import OpenNetlists, moved
from circuitcheck.designing.unrolled import Asked, Stimulus
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.symbolic.formula import FALSE, TRUE
from circuitcheck.prove.symbolic.sat import Sat

CONFLICTS = 1_500
"""How many conflicts it may take to see that a run refutes a netlist; to find that it does not takes far longer."""
FEWER_CONFLICTS = 100
"""How many it may take to see that it does so without one of the bits: what is left counts as needed."""


class Excluded(NamedTuple):
    """Netlists that were excluded together, by a run or as one that something else refuted."""

    literals: tuple[int, ...]
    """The bits that they have in common, as literals of their variables; none where it is all netlists."""
    run: Stimulus | None
    """The run that refutes them; None where no run known did."""
    netlist: Netlist | None = None
    """The one of them that was refuted then."""
    behind: frozenset[str] = frozenset()
    """Where it was a torch that burns out: all parts behind it, which are what they have in common."""
    still: frozenset[str] = frozenset()
    """Inputs that may power those parts or not."""


class Proposer:
    """Netlists of some kinds that no run known so far refutes.

    One solver proposes who powers whom. Another for each run says whether the rules allow that netlist to keep all that
    is asked in it; if not, the bits that this takes are excluded together.
    """

    def __init__(self, frame: Frame, words: Words, asked: Asked, budget: Meter, alike: Sequence[Exchange] = ()) -> None:
        """With `alike`, every way to exchange inputs, netlists that differ by one of them are one."""
        self._budget = budget
        self._alike = alike or (none_of(frame),)
        self._open = OpenNetlists(frame, words, asked)
        self._inputs = frame.inputs
        self._formula = self._open.sensible()
        self._order_like_parts()
        self._sat = Sat(self._formula.clauses, budget)
        self._runs: list[tuple[Stimulus, Sat]] = []
        self.known: set[Stimulus] = set()
        """The runs that it has learned of."""
        self.excluded: list[Excluded] = []
        self._renamings = [self._open.renamed(names) for names in self._open.renamings()]
        self._exchanged = [self._open.renamed(each.names) for each in self._alike]
        self._chosen: list[int] = []
        self._blamed = Burning(frozenset())
        self._none_left = False

    def _order_like_parts(self) -> None:
        """Of the orders of parts that nobody names, leaves one: as the inputs that power them say."""
        words, bits = self._open.words, self._open.bits
        for one, other in itertools.pairwise(self._open.own):
            if words[one] == words[other]:
                rows = ([bits[part, name] for name in self._inputs] for part in (one, other))
                self._in_order(*rows)

    def limit_ticks(self, most: int) -> None:
        """Only netlists count whose delays are so many ticks together at most."""
        self._none_left = len(self._open.words) > most
        for clause in self._open.too_slow(most):
            self._sat.add(*clause)

    def _in_order(self, smaller: list[int], larger: list[int]) -> None:
        """The one row of bits, as a number, is not larger than the other.

        Inputs keep their places as equal parts change theirs, so some order of them is always left.
        """
        formula = self._formula
        equal = TRUE
        for one, other in zip(smaller, larger, strict=True):
            formula.add(-equal, -one, other)
            equal = formula.choose(equal, formula.choose(one, other, -other), FALSE)

    def add(self, stimulus: Stimulus) -> Sat:
        """Only netlists count that can keep all that is asked in this run: the clauses of that."""
        added = Sat(self._open.run(stimulus).clauses, self._budget)
        self._runs.append((stimulus, added))
        self._runs.sort(key=lambda run: run[0].gt)  # short runs are soon asked, and their cores have few bits
        return added

    def __iter__(self) -> Iterator[Netlist]:
        bits = self._open.bits
        while not self._none_left and self._sat.ask([]):
            true = self._sat.model()
            self._chosen = [variable if variable in true else -variable for variable in bits.values()]
            refuted = self._refuted(self._chosen)
            if refuted is None:
                self._blamed = Burning(frozenset())
                netlist = self._open.netlist([bit for bit, variable in bits.items() if variable in true])
                yield netlist
                refuted = self._refuted(self._chosen) or self._alone(netlist)
            for image in self._images(refuted):
                self.excluded.append(image)
                self._exclude(image.literals)

    @property
    def shift(self) -> int:
        """By how many gt later the outputs are to come of the netlist that was proposed last."""
        return next((gt for gt, bit in self._open.shifts.items() if bit in self._chosen), 0)

    def learn(self, stimulus: Stimulus) -> bool:
        """Whether a run that breaks the netlist that was proposed last refutes others with it.

        If in another order, or from another start, that netlist may keep all, only those count that start so.
        """
        for known in (stimulus._replace(start=None), stimulus):
            if known not in self.known:
                self.known.add(known)
                if not self.add(known).ask(self._chosen):
                    return True
        return False

    def blame(self, burning: Burning) -> None:
        """The netlist proposed last is excluded with all others in which the same stands behind some parts."""
        self._blamed = burning

    def _alone(self, netlist: Netlist) -> Excluded:
        parts, still = self._blamed
        literals = self._open.behind(parts, self._chosen, still) if parts else self._chosen
        return Excluded(tuple(literals), None, netlist, parts, still)

    def _images(self, excluded: Excluded) -> Iterator[Excluded]:
        """What is excluded with something, as inputs are exchanged: each by a run, or as a netlist, of its own."""
        seen = set()
        for exchange, renamed in zip(self._alike, self._exchanged, strict=True):
            literals = tuple(moved(each, renamed) for each in excluded.literals)
            if frozenset(literals) not in seen:
                seen.add(frozenset(literals))
                yield Excluded(
                    literals,
                    None if excluded.run is None else exchange.of(excluded.run),
                    None if excluded.netlist is None else exchange.of_netlist(excluded.netlist),
                    excluded.behind,
                    frozenset(exchange.names.get(name, name) for name in excluded.still),
                )

    def _exclude(self, literals: Sequence[int]) -> None:
        """Excludes what these bits have, and with it what is the same but for the names of like parts."""
        self._none_left |= not literals
        for renamed in self._renamings:
            self._sat.add(*(-moved(literal, renamed) for literal in literals))

    def _refuted(self, chosen: Sequence[int]) -> Excluded | None:
        """Bits of these that a run refutes together, and hardly one too many; none of them where it refutes all.

        A run may refute every netlist of these kinds: repeaters alone never turn anything round. Where the run refutes
        them with inputs exchanged, it is the bits of that netlist.
        """
        images = [[moved(each, renamed) for each in chosen] for renamed in self._exchanged]
        for stimulus, run in self._runs:
            for literals in images:
                if run.excludes(literals, CONFLICTS):
                    return Excluded(_few(literals, run), stimulus)
        return None


def _few(literals: Sequence[int], run: Sat) -> tuple[int, ...]:
    """Of literals that a run has just refuted together those that take part in that, and hardly one too many."""
    core = run.core()
    for literal in [literal for literal in literals if literal in core]:
        fewer = [each for each in core if each != literal]
        if literal in core and run.excludes(fewer, FEWER_CONFLICTS):
            core = run.core()
    return tuple(literal for literal in literals if literal in core)
