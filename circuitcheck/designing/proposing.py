"""Netlists of some kinds that no run known so far refutes: one solver proposes them, one for each run refutes them."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence, Set

from circuitcheck.designing.frame import Frame
from circuitcheck.designing.netlist import DELAYS, REPEATER, Kind, Netlist, Words
from circuitcheck.designing.open_system import Bit, OpenSystem
from circuitcheck.designing.unrolled import Asked, Stimulus, Unrolling
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.symbolic.formula import FALSE, TRUE, Formula
from circuitcheck.prove.symbolic.sat import Sat


class Proposer:
    """Netlists of some kinds that no run known so far refutes.

    One solver proposes who powers whom. Another for each run says whether the rules allow that netlist to keep all that
    is asked in it; if not, the bits that this takes are excluded together.
    """

    def __init__(self, frame: Frame, words: Words, asked: Asked, budget: Meter) -> None:
        self._words, self._budget = words, budget
        self._read = tuple(line.name for line in frame.read)
        lamps = [line.name for line in frame.read if line.word == "lamp"]
        joined = [line.name for line in frame.read if line.word != "lamp"]
        system = OpenSystem(frame.everything(words), words, lamps, joined)
        self._formula = Formula()
        self._bits: dict[Bit, int] = {bit: self._formula.fresh() for bit in system.bits}
        self._unrolling = Unrolling(system, asked)
        self._inputs, self._named = frame.inputs, frozenset(frame.named)
        self._limit_to_sensible(self._formula)
        self._order_like_parts()
        self._sat = Sat(self._formula.clauses, budget)
        self._runs: list[Sat] = []
        self.known: set[Stimulus] = set()
        """The runs that it has learned of."""
        self._renamings = self._all_renamings()
        self._chosen: list[int] = []
        self._blamed: list[int] = []
        self._none_left = False

    def _limit_to_sensible(self, formula: Formula) -> None:
        """Leaves out netlists that one of fewer parts stands for, and those with parts that power only each other.

        A torch that powers itself stays: while something else holds it off it rests, and let go for a while it ticks.
        None of this names a part apart from its kind, so what is excluded under it is so under other names as well.
        """
        add = formula.add
        for name in (*self._words, *self._read):
            add(*(bit for (reader, source), bit in self._bits.items() if reader == name and isinstance(source, str)))
        for name, word in self._words.items():
            if word == REPEATER:
                delays = [self._bits[name, delay] for delay in DELAYS]
                add(*delays)
                for pair in itertools.combinations(delays, 2):
                    add(*(-each for each in pair))
        own = [name for name in self._words if name not in self._named]
        for count in range(1, len(own) + 1):
            for some in map(frozenset, itertools.combinations(own, count)):
                add(*(bit for (reader, source), bit in self._bits.items() if source in some and reader not in some))

    def _order_like_parts(self) -> None:
        """Of the orders of parts that nobody names, leaves one: as the inputs that power them say."""
        own = [name for name in self._words if name not in self._named]
        for one, other in itertools.pairwise(own):
            if self._words[one] == self._words[other]:
                rows = ([self._bits[part, name] for name in self._inputs] for part in (one, other))
                self._in_order(*rows)

    def limit_ticks(self, most: int) -> None:
        """Only netlists count whose delays are so many ticks together at most."""
        repeaters = [name for name, word in self._words.items() if word == REPEATER]
        torches = len(self._words) - len(repeaters)
        self._none_left = torches + len(repeaters) > most
        for delays in itertools.product(DELAYS, repeat=len(repeaters)):
            if torches + sum(delays) > most:
                has = zip(repeaters, delays, strict=True)
                self._sat.add(*(-self._bits[name, delay] for name, delay in has))

    def _in_order(self, smaller: list[int], larger: list[int]) -> None:
        """The one row of bits, as a number, is not larger than the other.

        Inputs keep their places as equal parts change theirs, so some order of them is always left.
        """
        formula = self._formula
        equal = TRUE
        for one, other in zip(smaller, larger, strict=True):
            formula.add(-equal, -one, other)
            equal = formula.choose(equal, formula.choose(one, other, -other), FALSE)

    def add(self, stimulus: Stimulus) -> None:
        """Only netlists count that can keep all that is asked in this run."""
        formula = Formula()
        bits = {bit: formula.fresh() for bit in self._bits}
        assert list(bits.values()) == list(self._bits.values()), "bits have one number everywhere"
        self._limit_to_sensible(formula)
        self._unrolling.write(stimulus, formula, bits)
        self._runs.append(Sat(formula.clauses, self._budget))

    def __iter__(self) -> Iterator[Netlist]:
        while not self._none_left and self._sat.ask([]):
            true = self._sat.model()
            self._chosen = [variable if variable in true else -variable for variable in self._bits.values()]
            refuted = self._refuted(self._chosen)
            if refuted is None:
                self._blamed = self._chosen
                yield self._netlist([bit for bit, variable in self._bits.items() if variable in true])
                refuted = self._refuted(self._chosen)
            self._exclude(self._blamed if refuted is None else refuted)

    def learn(self, stimulus: Stimulus) -> bool:
        """Whether a run that breaks the netlist that was proposed last refutes others with it.

        If in another order, or from another start, that netlist may keep all, only those count that start so.
        """
        for known in (stimulus._replace(start=None), stimulus):
            if known not in self.known:
                self.known.add(known)
                self.add(known)
                if not self._runs[-1].ask(self._chosen):
                    return True
        return False

    def blame(self, parts: Set[str]) -> None:
        """The netlist proposed last is excluded with all others in which the same stands behind some parts.

        Those are all parts behind one. Who reads a repeater counts too: whether it points straight says who is first.
        """
        directed = {name for name in parts if self._words[name] == REPEATER}
        bits = zip(self._bits, self._chosen, strict=True)
        self._blamed = [literal for (reader, source), literal in bits if reader in parts or source in directed]

    def _exclude(self, literals: Sequence[int]) -> None:
        """Excludes what these bits have, and with it what is the same but for the names of like parts."""
        self._none_left |= not literals
        places = [(abs(literal), literal > 0) for literal in literals]
        for renamed in self._renamings:
            moved = [renamed[variable] for variable, _ in places]
            clause = [-each if so else each for each, (_, so) in zip(moved, places, strict=True)]
            self._sat.add(*clause)

    def _all_renamings(self) -> list[dict[int, int]]:
        """Every way to exchange the names of like parts that the file has no names for, by the variables of bits."""
        kinds: dict[str, list[str]] = {}
        for name, word in self._words.items():
            if name not in self._named:
                kinds.setdefault(word, []).append(name)
        found = []
        for orders in itertools.product(*map(itertools.permutations, kinds.values())):
            own = [name for names in kinds.values() for name in names]
            to: dict[str | int, str] = dict(zip(own, itertools.chain(*orders), strict=True))
            found.append(
                {
                    variable: self._bits[to.get(reader) or reader, to.get(source) or source]
                    for (reader, source), variable in self._bits.items()
                }
            )
        return found

    def _netlist(self, bits: list[Bit]) -> Netlist:
        delays = {name: delay for name, delay in bits if isinstance(delay, int)}
        sources: dict[str, list[str]] = {name: [] for name in (*self._words, *self._read)}
        for name, source in bits:
            if isinstance(source, str):
                sources[name].append(source)
        kinds = tuple((name, Kind(word, delays.get(name, 1))) for name, word in self._words.items())
        return Netlist(kinds, tuple((name, tuple(each)) for name, each in sources.items()))

    def _refuted(self, chosen: list[int]) -> list[int] | None:
        """Bits of these that a run refutes together, and no fewer of them; empty where it refutes all, None for none.

        A run may refute every netlist of these kinds: repeaters alone never turn anything round.
        """
        for place, run in enumerate(self._runs):
            if not run.ask(chosen):
                self._runs.insert(0, self._runs.pop(place))  # what refutes one netlist likely refutes the next
                core = run.core()
                for literal in [literal for literal in chosen if literal in core]:
                    if literal in core and not run.ask([each for each in core if each != literal]):
                        core = run.core()
                return [literal for literal in chosen if literal in core]
        return None
