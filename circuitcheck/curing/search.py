"""The search for cures: single changes first, cheapest first, then pairs, each judged as `verify` would judge it."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations, combinations_with_replacement, product
from typing import NamedTuple

from circuitcheck.checks.outcome import FAILING, Outcome, Verdict
from circuitcheck.curing.besides import Besides, besides
from circuitcheck.curing.edits import Change, Cost, beside, both
from circuitcheck.curing.letters import as_drawn, drawn
from circuitcheck.curing.likeliest import Likeliest
from circuitcheck.curing.names import Names
from circuitcheck.curing.parts import put_in, taken_out
from circuitcheck.curing.settings import settings
from circuitcheck.curing.source_text import Source
from circuitcheck.curing.trying import Trials, first_run_that_fails
from circuitcheck.curing.wires import wires
from circuitcheck.engine import work
from circuitcheck.judging.door import judged_until_failing
from circuitcheck.model.claims import Study
from circuitcheck.prove.meter import USUAL_STATES, Limits, Meter, seconds_from_now
from circuitcheck.verify import Exit, FileReport, report_on

MOST_CURES = 3
"""How many cures are looked for."""
MOST_TRIED = 60_000
"""How many changes are tried, pairs among them, unless a call says otherwise."""
MOST_WORK = 200_000_000
"""How much work (`engine.work`) is done for all of them together: some minutes of one core at most."""
STATE = 40
"""What it costs to look at one state of a proof, in that work."""
MOST_CHANGES = 60_000
"""How many single changes are made at most; of a larger circuit some are left out, and that is said."""
MOST_PARTS = 3_000
"""Larger circuits are refused: all their single changes would take hours, and they are no cheaper to judge."""
GRAVE = {"C5": "a race", "V3": "a pulse of no width", "T4": "a burn-out", "S1": "flashing"}
"""The rules whose findings put a cure last that has them where the file had none."""


class TooLarge(Exception):
    """A circuit is too large to be searched; the text says what the bound is."""


class Cured(NamedTuple):
    """A change with which all holds."""

    change: Change
    text: str
    """The whole file with it."""
    findings: tuple[tuple[str, str], ...]
    """What is found then, of the grave rules, and was not before: rule and part."""
    besides: Besides | None = None
    """What it changes besides, where that was looked into."""


@dataclass(frozen=True, slots=True)
class Found:
    """What a search came to."""

    failing: tuple[str, ...]
    """The titles of what fails in the file as it stands."""
    asked: int
    """How many checks and claims there are."""
    cures: tuple[Cured, ...]
    """Cheapest first; those with a new grave finding last."""
    singles: int
    """How many single changes there are."""
    tried: int
    """How many of them were tried."""
    pairs: int
    """How many pairs there are."""
    pairs_tried: int
    undecided: int
    """With how many changes nothing fails, but something was not decided within the budget."""
    ended: str = ""
    """Why the search ended before everything was tried; empty if it did not."""
    hopeful: int = 0
    """Where nothing cures: with how many single changes all that fails now would hold, but something else fails."""
    instead: tuple[tuple[str, int], ...] = ()
    """What fails then, and with how many of them."""


@dataclass(slots=True)
class Budget:
    """How much is done at most."""

    tries: int = MOST_TRIED
    states: int = USUAL_STATES
    until: float = 0.0
    """The reading of the monotonic clock at which it ends; 0 for no such bound."""
    work: int = MOST_WORK
    spent: int = field(default=0)

    @classmethod
    def of(cls, tries: int | None = None, states: int | None = None, seconds: int | None = None) -> Budget:
        """A budget as a call asks for it."""
        return cls(
            MOST_TRIED if tries is None else tries,
            USUAL_STATES if states is None else states,
            seconds_from_now(seconds),
        )

    def gone(self, tried: int) -> str:
        """Why nothing more is tried; empty while there is something left."""
        if tried >= self.tries:
            return f"{self.tries:,} {'change was' if self.tries == 1 else 'changes were'} to be tried at most"
        if self.spent >= self.work:
            return "the work that is done for a search was used up"
        if self.until and time.monotonic() > self.until:
            return "the limit of seconds ran out"
        return ""


def changes_of(source: Source) -> list[Change]:
    """Every single change of a file that is known, cheapest first; of equal cost, what is likeliest wrong."""
    names = Names(source)
    every: Iterable[Change] = _all(source, names)
    made: list[Change] = []
    for change in every:
        made.append(change)
        if len(made) == MOST_CHANGES:
            break
    likeliest = Likeliest(source)
    return sorted(made, key=lambda each: (each.cost, likeliest.turn(each)))


def _all(source: Source, names: Names) -> Iterator[Change]:
    for change in settings(source):
        yield change
        both_ways = as_drawn(source, change) if source.draws else None
        if both_ways is not None:
            yield both_ways
    yield from drawn(source)
    yield from taken_out(source)
    yield from wires(source, names)
    yield from put_in(source, names)


class _OutOfTime(Exception):
    """The limit of seconds ran out while a change was judged."""


class Search:
    """A search in one file. What it has found so far can be asked for at any time."""

    def __init__(self, source: Source, budget: Budget, most: int = MOST_CURES) -> None:
        """Raises TooLarge."""
        parts = sum(len(study.circuit.parts) for study in source.loaded.studies)
        if parts > MOST_PARTS:
            raise TooLarge(f"it has {parts:,} parts, and {MOST_PARTS:,} are the most that are searched")
        self.source, self._budget, self._most = source, budget, most
        self.report = report_on(source.loaded, states=budget.states)
        self._before = _grave(self.report)
        self._trials = Trials(source)
        self._cures: list[Cured] = []
        self._tried, self._pairs, self._pairs_tried, self._undecided = 0, 0, 0, 0
        self._pairs_settled = 0
        self._ended = ""
        self._instead: Counter[str] = Counter()
        self._broke: dict[int, str] = {}
        """By the identity of a single change: what was seen to fail with it."""
        self.changes: list[Change] = []

    @property
    def settled(self) -> int:
        """How many changes were settled by a check or counterexample that was kept."""
        return self._trials.settled

    @property
    def pairs_run(self) -> int:
        """How many pairs were not settled by what each of the two changes comes to alone."""
        return self._pairs_tried

    @property
    def nothing_fails(self) -> bool:
        """Whether there is nothing to cure."""
        return self.report.exit is not Exit.FAILS

    def found(self, ended: str = "") -> Found:
        """What came of the search so far."""
        outcomes = self.report.outcomes
        failing = [each.title for each in outcomes if each.verdict in FAILING]
        failing += [f"a finding of {each.rule} at '{each.part}'" for each in self.report.findings if each.forbidden]
        asked = sum(1 for each in outcomes if each.verdict is not Verdict.SKIPPED)
        return Found(
            tuple(failing),
            asked,
            tuple(sorted(self._cures, key=_cheapness)),
            len(self.changes),
            self._tried,
            self._pairs,
            self._pairs_tried + self._pairs_settled,
            self._undecided + self._trials.open,
            ended or self._ended,
            sum(self._instead.values()) if not self._cures else 0,
            tuple(self._instead.most_common()) if not self._cures else (),
        )

    def carry_out(self, told: Callable[[str], None] = lambda words: None) -> None:
        """Tries changes until enough cures are found, or the budget runs out."""
        if self.nothing_fails:
            return
        self._keep(self.report, self.source.loaded.studies)
        self.changes = changes_of(self.source)
        for change in self.changes:
            if self._enough() or self._over():
                return
            self._tried += 1
            self._broke[id(change)] = self._try(change)
            told(f"{self._tried:,} of {len(self.changes):,} single changes tried, {len(self._cures)} cures")
        if not self._cures:
            self._try_pairs(told)

    def first_that_holds(
        self, changes: Iterable[Change], told: Callable[[int], None] = lambda tried: None
    ) -> Cured | None:
        """The first of some changes with which all holds, and nothing grave is found that was not before."""
        for change in changes:
            if self._over():
                return None
            self._tried += 1
            told(self._tried)
            self._try(change)
            if self._cures and not self._cures[-1].findings:
                return self._cures[-1]
        return None

    @property
    def ended(self) -> str:
        """Why the search ended before everything was tried; empty if it did not."""
        return self._ended

    def look_besides(self, told: Callable[[str], None] = lambda words: None) -> None:
        """Looks into what each cure changes besides."""
        for place, cure in enumerate(self._cures):
            told(f"what cure {place + 1} of {len(self._cures)} changes besides")
            self._cures[place] = cure._replace(besides=besides(self.source, cure.change))

    def _try_pairs(self, told: Callable[[str], None]) -> None:
        """Tries two changes together: first those of which each cures what the other leaves broken."""
        singles = self.changes
        begun = work.done()
        cured = {id(each): self._trials.cured_by(each) for each in singles if not self._over()}
        self._budget.spent += work.done() - begun
        wanted = self._trials.at_first
        enough = [each for each in singles if wanted and cured.get(id(each)) == wanted]
        self._instead = Counter(self._broke[id(each)] for each in enough if self._broke.get(id(each)))
        self._pairs = sum(1 for _ in _pairs(singles))

        def promising(one: Change, other: Change) -> bool:
            return cured.get(id(one), wanted) | cured.get(id(other), wanted) >= wanted

        for hopeful in (True, False):
            for one, other in _pairs(singles):
                if promising(one, other) is not hopeful:
                    continue
                if self._trials.pointless(one, other, cured):
                    self._pairs_settled += 1
                    continue
                if self._enough() or self._over():
                    return
                self._pairs_tried += 1
                self._try(both(one, other))
                told(f"{self._pairs_tried:,} of {self._pairs:,} pairs tried, {len(self._cures)} cures")

    def _enough(self) -> bool:
        return sum(1 for each in self._cures if not each.findings) >= self._most

    def _over(self) -> bool:
        self._ended = self._budget.gone(self._tried + self._pairs_tried)
        return bool(self._ended)

    def _keep(self, report: FileReport, studies: Sequence[Study]) -> None:
        for study, result in zip(studies, report.results, strict=True):
            for outcome in result.outcomes:
                if outcome.verdict in FAILING:
                    self._trials.keep(study, outcome)

    def _try(self, change: Change) -> str:
        """Tries a change, and says what was seen to fail with it; nothing where that can't be said, or it cures."""
        begun = work.done()
        settled = self._trials.settled_by(change)
        failing = self._judge(change) if settled is None else settled.title
        self._budget.spent += work.done() - begun
        return failing

    def _judge(self, change: Change) -> str:
        """Judges a change that nothing kept speaks against: runs first, proofs last. Says what fails, as `_try`."""
        text = self.source.changed_text(change)
        loaded = self.source.read(text)
        if not loaded.valid:
            return ""
        for study in loaded.studies:
            if self._trials.breaks_drawn(study):
                return ""
            bad = first_run_that_fails(study) or _drawn_otherwise(study)
            if bad is not None:
                self._trials.keep(study, bad)
                return bad.title
        for study in loaded.studies:
            # Claims one by one first: where one fails, all together may take many times as long.
            broken = self._broken_of(study._replace(checks=())) if study.claims else ""
            if broken:
                return broken
        try:
            report = report_on(loaded, self._in_time, self._budget.states)
        except _OutOfTime:
            self._undecided += 1
            return ""
        self._budget.spent += STATE * sum(each.proof.states for each in report.outcomes if each.proof is not None)
        self._keep(report, loaded.studies)
        if report.exit is Exit.HOLDS:
            self._cures.append(Cured(change, text, tuple(sorted(_grave(report) - self._before))))
        elif report.exit is Exit.UNDECIDED:
            self._undecided += 1
        return next((each.title for each in report.outcomes if each.verdict in FAILING), "")

    def _in_time(self, title: str) -> None:
        """Before each check and claim of a change: raises _OutOfTime once the limit of seconds ran out."""
        if self._budget.until and time.monotonic() > self._budget.until:
            raise _OutOfTime

    def _broken_of(self, study: Study) -> str:
        """A claim of a study that is seen to be broken, by its title, empty if none is; its counterexample is kept."""
        limits = Limits(self._budget.states, until=self._budget.until)
        meter = Meter(limits.states, limits.memory, "for one change", until=limits.until)
        try:
            outcomes: Sequence[Outcome] = judged_until_failing(study, limits, meter)
        except work.Undecided:
            return ""
        finally:
            self._budget.spent += STATE * meter.steps
        bad = [each for each in outcomes if each.verdict in FAILING]
        for each in bad:
            self._trials.keep(study, each)
        return bad[0].title if bad else ""


def _cheapness(cure: Cured) -> tuple[bool, int, Cost]:
    return bool(cure.findings), len(cure.change.singles), cure.change.cost


def _drawn_otherwise(study: Study) -> Outcome | None:
    """The outcome of a drawing that is another circuit than the file's lines."""
    if study.drawn is None:
        return None
    from circuitcheck.checks.drawing.built import judged

    return next((each for each in judged(study) if each.verdict in FAILING), None)


def _grave(report: FileReport) -> set[tuple[str, str]]:
    return {(each.rule, each.part) for each in report.findings if each.rule in GRAVE and not each.silenced}


def _pairs(singles: Sequence[Change]) -> Iterator[tuple[Change, Change]]:
    """Two changes that can be made beside each other, cheapest together first."""
    classes: dict[Cost, list[Change]] = {}
    for change in singles:
        classes.setdefault(change.cost, []).append(change)
    costs = list(classes)
    for one, other in sorted(combinations_with_replacement(costs, 2), key=lambda pair: pair[0].and_(pair[1])):
        if one is other:
            several: Iterable[tuple[Change, Change]] = combinations(classes[one], 2)
        else:
            several = product(classes[one], classes[other])
        yield from (pair for pair in several if beside(*pair))
