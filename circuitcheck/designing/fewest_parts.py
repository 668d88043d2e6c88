"""The netlist of fewest parts under which all holds, by counterexample-guided inductive synthesis.

A SAT solver proposes a netlist, the prover judges it, and each run that refutes one becomes a constraint on all: A.
Solar-Lezama, L. Tancau, R. Bodik, S. Seshia and V. Saraswat, "Combinatorial Sketching for Finite Programs" (ASPLOS
2006). Ours asks for each number of parts, and each choice of their kinds, until none is left; and where a run leaves
orders open, its constraint asks only for one order that suits, and the netlist that it refuted is excluded by itself.
Runs in which a torch burns out refute as well, where claims are about all that is read.

What is excluded so is excluded for good: no netlist of torches and repeaters with so few parts keeps all that is asked,
of those that rest before anything is worked, in which no torch burns out and no parts power only each other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import Enum
from typing import NamedTuple

from circuitcheck.checks.outcome import FAILING, GOOD, OPEN, Outcome, StudyResult, Verdict
from circuitcheck.designing.as_before import AsBefore, is_same
from circuitcheck.designing.burnt_rounds import burning_behind, burning_rounds, excluded_behind, needed_by_claims
from circuitcheck.designing.contradicting import Contradiction, Contradictions
from circuitcheck.designing.counterexamples import Counterexamples
from circuitcheck.designing.frame import Frame
from circuitcheck.designing.interchangeable import exchanges
from circuitcheck.designing.netlist import REPEATER, Netlist, Words, words_of
from circuitcheck.designing.proposing import Excluded, Proposer
from circuitcheck.designing.unrolled import Asked, Stimulus
from circuitcheck.engine import work
from circuitcheck.judging.door import judged_as_asked, judged_until_failing
from circuitcheck.model.claims import Study
from circuitcheck.prove.meter import Limits, Meter, OverBudget

OTHERS = 150_000
"""How many states it may cost to look for another netlist that keeps all that is asked."""
WORK_A_STATE = 20
"""How much work of the engine counts as one state: each takes some 25 microseconds of one core."""


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


class OfKinds(NamedTuple):
    """What was excluded of the netlists of some kinds: all, or all that have fewer ticks than what was found."""

    words: Words
    excluded: tuple[Excluded, ...]
    undecided: tuple[int, ...]
    """The ticks of each of which it was not decided."""


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
    """Of how many netlists it was not decided whether they will do: then what was found may not be the least. Of those
    with as many parts as what was found only such count as have fewer ticks."""
    stopped_at: int = 0
    """How many parts it was at when it ended."""
    stopped_by: str = ""
    """What ended it before it was done, if anything did."""
    excluded: list[OfKinds] = field(default_factory=list)
    """What was excluded of each kinds that it is done with, and how."""
    contradiction: Contradiction | None = None
    """Something asked that no circuit at all can keep, if any was seen."""
    same: tuple[str, ...] | None = None
    """What had to be at every gt as before; None where only what the file asks had to hold."""
    shifts: tuple[int, ...] = ()
    """By how many gt all of that might come later."""
    shift: int = 0
    """By how many gt all of that comes later with what was found; less than 0 for earlier."""

    @property
    def is_least(self) -> bool:
        """Nothing smaller was left undecided."""
        return self.ended is Ended.FOUND and not self.undecided

    def stop(self, why: str) -> None:
        """It ended before it was done."""
        self.ended, self.stopped_by = Ended.OVER, why

    @property
    def done_with(self) -> list[Words]:
        """Of the number of parts that it ended at, each kinds all of whose netlists were tried, and decided on."""
        return [each.words for each in self.excluded if len(each.words) == self.stopped_at and not each.undecided]


def asked_of(frame: Frame, before: AsBefore | None = None) -> Asked:
    """What is asked of netlists that take the place of a file's own, and if so, that all is given out as it was."""
    study = frame.study
    unburnt = needed_by_claims(study, (*(line.name for line in frame.read), *frame.named))
    asked = Asked(study.checks, study.claims, study.assumptions, unburnt)
    if before is None:
        return asked
    return asked._replace(unburnt=unburnt or before.calm, outputs=before.signals, shifts=before.shifts)


class Search:
    """Looks for the netlist of fewest parts, and of those for one of least delay in all."""

    def __init__(
        self,
        frame: Frame,
        limits: Limits,
        budget: Meter,
        tells: Callable[[str], None] = lambda what: None,
        before: AsBefore | None = None,
        exchanging: bool = True,
    ) -> None:
        """With `before` the outputs are to be as they were, whatever else is asked.

        With `exchanging`, netlists that differ by inputs which nothing tells apart count as one. A certificate of what
        was excluded is shorter without: it takes each run by itself.
        """
        self.frame, self._limits, self._budget, self._tells = frame, limits, budget, tells
        self._before = before
        self._asked = asked_of(frame, before)
        self._on = frozenset(part.name for part in frame.circuit.inputs if part.start)
        self._counterexamples = Counterexamples(self._asked, sorted(self._on))
        self._may_blame = before is not None or self._asked.unburnt
        self._alike = exchanges(frame) if exchanging and before is None else ()
        self._met: set[Stimulus] = set()
        self.found = Searched() if before is None else Searched(same=before.names, shifts=before.shifts)

    def run(self, most: int) -> Searched:
        """Searches all netlists of up to so many parts. Raises CantDesign."""
        found = self.found
        contradictions = None if self._before is not None else Contradictions(self.frame, self._asked, self._budget)
        if contradictions is not None:
            found.contradiction = contradictions.first(())
            if found.contradiction is not None:
                return found
        try:
            for count in range(len(self.frame.named), most + 1):
                found.stopped_at = count
                if self._of_size(count):
                    found.ended = Ended.FOUND
                    self._leave_out_wires()
                    return found
        except OverBudget as over:
            found.stop(str(over))
        if contradictions is not None:
            found.contradiction = contradictions.first(self._met)
        return found

    def _of_size(self, count: int) -> bool:
        """Searches netlists of so many parts; of those that will do, one of least delay in all is left."""
        named = self.frame.named
        others = self.frame.names(count - len(named))
        found = self.found
        judged, undecided = found.judged, found.undecided
        for words in words_of(named, others):
            self._of_words(words)
        if found.netlist is not None:
            own = (each for each in found.excluded if len(each.words) == count)
            found.undecided -= sum(ticks >= found.netlist.ticks for each in own for ticks in each.undecided)
        else:
            found.without.append(Without(count, found.judged - judged, found.undecided - undecided))
        return found.netlist is not None

    def _of_words(self, words: Words) -> None:
        torches = sum(word != REPEATER for word in words.values())
        of = f"{torches} torches and {len(words) - torches} repeaters"
        self._tells(f"{of}: {self.found.judged} judged")
        undecided: list[int] = []
        proposer = Proposer(self.frame, words, self._asked, self._budget, self._alike)
        if self.found.netlist is not None:
            proposer.limit_ticks(self.found.netlist.ticks - 1)
        for netlist in proposer:
            self.found.judged += 1
            self._tells(f"{of}: {self.found.judged} judged")
            before, begun = self.found.undecided, work.done()
            result = self._learned(netlist, proposer)
            undecided += [netlist.ticks] * (self.found.undecided - before)
            if result is not None:
                self._take(netlist, result, proposer.shift)
                proposer.limit_ticks(netlist.ticks - 1)
            self._budget.count((work.done() - begun) // WORK_A_STATE)
        self._met |= proposer.known
        self.found.excluded.append(OfKinds(words, tuple(proposer.excluded), tuple(undecided)))

    def others(self) -> Iterator[tuple[Netlist, Study]]:
        """Netlists of as many parts as the one found, and of one more, that keep all that is asked, with their studies.

        May raise OverBudget: there is a budget of its own for them.
        """
        found, named = self.found.netlist, self.frame.named
        assert found is not None
        self._budget = self._budget.part(OTHERS, "for other circuits")
        for count in (found.parts, found.parts + 1):
            for words in words_of(named, self.frame.names(count - len(named))):
                proposer = Proposer(self.frame, words, self._asked, self._budget)
                for netlist in proposer:
                    self._tells(f"another circuit that keeps all that is asked, of {count} parts")
                    begun = work.done()
                    if self._learned(netlist, proposer) is not None:
                        yield netlist, self.frame.study_with(netlist)
                    else:
                        self._budget.count((work.done() - begun) // WORK_A_STATE)

    def _learned(self, netlist: Netlist, proposer: Proposer) -> StudyResult | None:
        """What a netlist comes to that keeps all; otherwise a proposer learns of the runs that refute it."""
        study, shift = self.frame.study_with(netlist), proposer.shift
        for stimulus in self._broken_in(study, shift):
            if proposer.learn(stimulus):
                return None
        result, refuting = self._judged(netlist, study, shift)
        if result is not None:
            return result
        for stimulus in refuting:
            if proposer.learn(stimulus):
                return None  # what refutes it alone is not looked for any longer
        if self._may_blame:
            self._learn_of_burning(netlist, study, proposer)
        return None

    def _learn_of_burning(self, netlist: Netlist, study: Study, proposer: Proposer) -> None:
        """A proposer learns of torches in rounds that burn out, fewest parts first, until one excludes others too."""
        for behind, outcome in burning_rounds(netlist, study, self._limits, self._budget):
            if any(map(proposer.learn, self._counterexamples.keep([outcome]))):
                return
            burning = excluded_behind(netlist, self._on, study, behind, outcome)
            if burning is not None:
                proposer.blame(burning)
                return

    def _broken_in(self, study: Study, shift: int) -> Iterator[Stimulus]:
        """Known runs that refute a netlist."""
        yield from self._counterexamples.broken_in(study)
        if self._before is not None:
            yield from self._before.broken_in(study, shift)

    def _judged(self, netlist: Netlist, study: Study, shift: int) -> tuple[StudyResult | None, Iterable[Stimulus]]:
        """What a netlist comes to that keeps all, or new runs that refute it; neither where that is not decided."""
        outcomes: Sequence[Outcome] = judged_until_failing(study, self._limits, self._budget)
        failing = [outcome for outcome in outcomes if outcome.verdict in FAILING]
        if failing:
            return None, self._counterexamples.keep(failing)
        if self._before is not None:
            outcomes = self._before.judged_until_failing(study, shift, self._budget)
            failing = [outcome for outcome in outcomes if outcome.verdict in FAILING]
            if not is_same(outcomes):
                self.found.undecided += not failing
                return None, self._before.keep(study, shift, failing)
        result = judged_as_asked(study, self._limits, self._budget)
        if all(map(is_kept, result.outcomes)):
            return result if self._is_calm(netlist, study) else None, ()
        failing = [outcome for outcome in result.outcomes if outcome.verdict in FAILING]
        burning = any(outcome.proof and outcome.proof.burn_outs for outcome in result.outcomes)
        self.found.undecided += not any(map(refutes, result.outcomes))
        burnt = self._counterexamples.burning_in(study, result.outcomes) if burning and self._asked.unburnt else ()
        return None, (*self._counterexamples.keep(failing), *burnt)

    def _leave_out_wires(self) -> None:
        """Of what was found, leaves out each source without which all still holds, as long as the budget lasts.

        With one source less it has no part less: what is not decided here, or not tried, leaves it the least.
        """
        assert self.found.netlist is not None
        undecided = self.found.undecided
        try:
            for reader, sources in self.found.netlist.sources:
                for source in sources:
                    fewer = self.found.netlist.without(reader, source)
                    if fewer is not None:
                        result, _ = self._judged(fewer, self.frame.study_with(fewer), self.found.shift)
                        if result is not None:
                            self._take(fewer, result, self.found.shift)
        except OverBudget:
            pass
        self.found.undecided = undecided

    def _is_calm(self, netlist: Netlist, study: Study) -> bool:
        """No torch burns out that must not, where the outputs are to be as they were."""
        if self._before is None:
            return True  # then claims are proved so
        if burning_behind(netlist, self._on, study, self._limits, self._budget):
            return False
        burns = self._before.burns(study, self._budget)
        self.found.undecided += burns is None
        return burns is False

    def _take(self, netlist: Netlist, result: StudyResult, shift: int) -> None:
        self.found.netlist, self.found.result, self.found.shift = netlist, result, shift


def is_kept(outcome: Outcome) -> bool:
    """It holds, and not only until a torch burns out; or its author has skipped it, and so asks nothing."""
    proof = outcome.proof
    safe = proof is None or not (proof.burn_outs or proof.burn_outs_open)
    return safe and outcome.verdict in GOOD - {Verdict.UNBROKEN} | {Verdict.SKIPPED}


def refutes(outcome: Outcome) -> bool:
    """It fails, nothing ever triggers it, or a torch burns out before it is done with: more states would not help."""
    if outcome.verdict in FAILING or (outcome.proof and outcome.proof.burn_outs):
        return True
    return not (is_kept(outcome) or _is_open(outcome))


def _is_open(outcome: Outcome) -> bool:
    """Nothing says whether it holds, or whether a torch burns out before."""
    proof = outcome.proof
    return bool(proof and proof.burn_outs_open) or outcome.verdict in OPEN - {Verdict.VACUOUS} | {Verdict.UNBROKEN}
