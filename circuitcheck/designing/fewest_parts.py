"""The netlist of fewest parts under which all holds, by counterexample-guided inductive synthesis.

A SAT solver proposes a netlist, the prover judges it, and each run that refutes one becomes a constraint on all: A.
Solar-Lezama, L. Tancau, R. Bodik, S. Seshia and V. Saraswat, "Combinatorial Sketching for Finite Programs" (ASPLOS
2006). Ours asks for each number of parts, and each choice of their kinds, until none is left; and where a run leaves
orders open, its constraint asks only for one order that suits, and the netlist that it refuted is excluded by itself.

What is excluded so is excluded for good: no netlist of torches and repeaters with so few parts keeps all that is asked,
of those that rest before anything is worked, and in which no torch burns out.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from enum import Enum
from typing import NamedTuple

from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.checks.outcome import FAILING, GOOD, OPEN, Outcome, StudyResult, Verdict
from circuitcheck.designing.frame import Frame
from circuitcheck.designing.netlist import DELAYS, REPEATER, TORCH, Kind, Netlist, Words, words_of
from circuitcheck.designing.open_system import Bit, OpenSystem
from circuitcheck.designing.unrolled import Asked, Stimulus, Unrolling, worked_in
from circuitcheck.judging.door import judged_as_asked
from circuitcheck.prove.meter import Limits, Meter, OverBudget
from circuitcheck.prove.symbolic.formula import FALSE, TRUE, Formula
from circuitcheck.prove.symbolic.sat import Sat

MOST_STIMULI = 200
"""How many runs are kept: each costs a solver for each choice of kinds."""


class Ended(Enum):
    """How a search ended."""

    FOUND = "found"
    NONE = "none of so few parts"
    OVER = "the budget ran out"


class Without(NamedTuple):
    """A number of parts with which nothing was found that will do."""

    parts: int
    judged: int
    """How many netlists were judged; the others were refuted by runs of those."""
    undecided: int
    """Of how many it was not decided; with none, no netlist of so few parts will do."""


@dataclass
class Searched:
    """What a search came to."""

    ended: Ended = Ended.NONE
    netlist: Netlist | None = None
    result: StudyResult | None = None
    without: list[Without] = field(default_factory=list)
    judged: int = 0
    """How many netlists were judged."""
    undecided: int = 0
    """Of how many netlists it was not decided whether they will do: then what was found may not be the least."""
    stopped_at: int = 0
    """How many parts it was at when the budget ran out."""

    @property
    def is_least(self) -> bool:
        """Nothing smaller was left undecided."""
        return self.ended is Ended.FOUND and not self.undecided


class Search:
    """Looks for the netlist of fewest parts, and of those for one of least delay in all."""

    def __init__(
        self,
        frame: Frame,
        limits: Limits,
        budget: Meter,
        tells: Callable[[str], None] = lambda what: None,
    ) -> None:
        self._frame, self._limits, self._budget, self._tells = frame, limits, budget, tells
        self._asked = Asked(frame.study.checks, frame.study.claims, frame.study.assumptions)
        self._on = [part.name for part in frame.circuit.inputs if part.start]
        self._stimuli: dict[Stimulus, int] = {}
        self.found = Searched()

    def run(self, most: int) -> Searched:
        """Searches all netlists of up to so many parts. Raises CantDesign."""
        found = self.found
        try:
            for count in range(len(self._frame.named), most + 1):
                found.stopped_at = count
                if self._of_size(count):
                    found.ended = Ended.FOUND
                    self._leave_out_wires()
                    return found
        except OverBudget:
            found.ended = Ended.OVER
        return found

    def _of_size(self, count: int) -> bool:
        """Searches netlists of so many parts; of those that will do, one of least delay in all is left."""
        named = self._frame.named
        others = self._frame.names(count - len(named))
        found = self.found
        judged, undecided = found.judged, found.undecided
        for words in words_of(named, others):
            self._of_words(words)
        if found.netlist is None:
            found.without.append(Without(count, found.judged - judged, found.undecided - undecided))
        return found.netlist is not None

    def _of_words(self, words: Words) -> None:
        torches = sum(word != REPEATER for word in words.values())
        of = f"{torches} torches and {len(words) - torches} repeaters"
        self._tells(f"{of}: {self.found.judged} judged")
        proposer = _Proposer(self._frame, words, self._asked, self._budget)
        for stimulus, gt in self._stimuli.items():
            proposer.add(stimulus._replace(gt=gt))
        if self.found.netlist is not None:
            proposer.limit_ticks(self.found.netlist.ticks - 1)
        for netlist in proposer:
            self.found.judged += 1
            self._tells(f"{of}: {self.found.judged} judged")
            result = self._judge(netlist)
            if all(map(is_kept, result.outcomes)):
                self._take(netlist, result)
                proposer.limit_ticks(netlist.ticks - 1)
            failing = [outcome for outcome in result.outcomes if outcome.verdict in FAILING]
            self.found.undecided += not failing and any(map(_is_open, result.outcomes))
            for stimulus in self._runs_of(failing):
                if self._is_news(stimulus):
                    proposer.add(stimulus)

    def _leave_out_wires(self) -> None:
        """Of what was found, leaves out each source without which all still holds."""
        assert self.found.netlist is not None
        for reader, sources in self.found.netlist.sources:
            for source in sources:
                fewer = self.found.netlist.without(reader, source)
                if fewer is not None:
                    result = self._judge(fewer)
                    if all(map(is_kept, result.outcomes)):
                        self._take(fewer, result)

    def _take(self, netlist: Netlist, result: StudyResult) -> None:
        self.found.netlist, self.found.result = netlist, result

    def _is_news(self, stimulus: Stimulus) -> bool:
        """A run is kept, in place of shorter ones of the same."""
        key = stimulus._replace(gt=0)
        if self._stimuli.get(key, 0) >= stimulus.gt or len(self._stimuli) == MOST_STIMULI:
            return False
        self._stimuli[key] = stimulus.gt
        return True

    def _judge(self, netlist: Netlist) -> StudyResult:
        return judged_as_asked(self._frame.study_with(netlist), self._limits, self._budget)

    def _runs_of(self, failing: list[Outcome]) -> Iterator[Stimulus]:
        titles = {check.title: place for place, check in enumerate(self._asked.checks)}
        for outcome in failing:
            failure = outcome.failure
            if failure is None or failure.check is None or failure.check.fails_because:
                continue
            try:
                worked = worked_in(failure.check, self._on)
            except Uncertified:
                continue
            place = titles.get(failure.check.title)
            if place is not None and worked == worked_in(self._asked.checks[place], self._on):
                yield Stimulus(worked, self._asked.checks[place].until + 1, place)
            else:
                yield Stimulus(frozenset(act for act in worked if act[0] <= failure.at), failure.at + 1)


def is_kept(outcome: Outcome) -> bool:
    """It holds, and not only until a torch burns out."""
    proof = outcome.proof
    safe = proof is None or not (proof.burn_outs or proof.burn_outs_open)
    return safe and outcome.verdict in GOOD - {Verdict.UNBROKEN}


def _is_open(outcome: Outcome) -> bool:
    """Nothing says that it does not hold, or that a torch burns out before."""
    proof = outcome.proof
    burn_out_open = proof is not None and proof.burn_outs_open and not proof.burn_outs
    return bool(burn_out_open) or outcome.verdict in OPEN - {Verdict.VACUOUS} | {Verdict.UNBROKEN}


class _Proposer:
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
        self._inputs = frame.inputs
        self._limit_to_sensible(frozenset(frame.named))
        self._sat = Sat(self._formula.clauses, budget)
        self._runs: list[Sat] = []
        self._none_left = False

    def _limit_to_sensible(self, named: frozenset[str]) -> None:
        """Leaves out netlists that one of fewer parts, or another order of equal parts, stands for.

        And those with a torch that powers itself: left alone, it toggles each tick until it burns out.
        """
        add = self._formula.add
        for name in (*self._words, *self._read):
            add(*(bit for (reader, source), bit in self._bits.items() if reader == name and isinstance(source, str)))
        for name, word in self._words.items():
            if word == TORCH:
                add(-self._bits[name, name])
            else:
                delays = [self._bits[name, delay] for delay in DELAYS]
                add(*delays)
                for pair in itertools.combinations(delays, 2):
                    add(*(-each for each in pair))
            if name not in named:
                add(*(bit for (reader, source), bit in self._bits.items() if source == name != reader))
        own = [name for name in self._words if name not in named]
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
        self._unrolling.write(stimulus, formula, bits)
        self._runs.append(Sat(formula.clauses, self._budget))

    def __iter__(self) -> Iterator[Netlist]:
        while not self._none_left and self._sat.ask([]):
            true = self._sat.model()
            chosen = [variable if variable in true else -variable for variable in self._bits.values()]
            refuted = self._refuted(chosen)
            self._sat.add(*(-literal for literal in refuted or chosen))
            if not refuted:
                yield self._netlist([bit for bit, variable in self._bits.items() if variable in true])

    def _netlist(self, bits: list[Bit]) -> Netlist:
        delays = {name: delay for name, delay in bits if isinstance(delay, int)}
        sources: dict[str, list[str]] = {name: [] for name in (*self._words, *self._read)}
        for name, source in bits:
            if isinstance(source, str):
                sources[name].append(source)
        kinds = tuple((name, Kind(word, delays.get(name, 1))) for name, word in self._words.items())
        return Netlist(kinds, tuple((name, tuple(each)) for name, each in sources.items()))

    def _refuted(self, chosen: list[int]) -> list[int]:
        """Some of these bits, which a run refutes together; none where no run does."""
        for place, run in enumerate(self._runs):
            if not run.ask(chosen):
                self._runs.insert(0, self._runs.pop(place))  # what refutes one netlist likely refutes the next
                core = run.core()
                return [literal for literal in chosen if literal in core]
        return []
