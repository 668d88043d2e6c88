"""Whether what is asked fixes a circuit: another that keeps it all and behaves otherwise, and faults that it allows.

Each is shown by a history: what is worked and when, so that something that is read differs. Histories keep to what is
assumed of the inputs, since whatever else happens, nothing is asked.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from circuitcheck.checks.allowed import allowed
from circuitcheck.checks.run import GivenUp, Notebook, replay, run_check
from circuitcheck.designing.fewest_parts import Search
from circuitcheck.designing.netlist import Netlist
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.work import Undecided
from circuitcheck.model.claims import Act, Check, Study
from circuitcheck.model.parts.base import Part
from circuitcheck.prove.meter import OverBudget
from circuitcheck.sweeps.faults import faults
from circuitcheck.sweeps.variants import first_failing, share_of

FIRST, APART, AFTER = 20, (4, 12, 24, 60, 120), 80
"""In gt: when the first input is worked, how far apart inputs may be, and how long all is watched after the last."""
MOST_ACTS = 3
MOST_HISTORIES = 200
MOST_OTHERS = 6
"""How many other netlists that keep all are held against the one found."""
MOST_FAULTS = 24
STATES = 20_000
"""How many states are looked at for a claim to see whether it notices a fault."""
RUN_WORK = 200_000


class History(NamedTuple):
    """What is worked, and when, and what then differs: a name, the gt, and whether it is on here and there."""

    acts: tuple[Act, ...]
    name: str
    at: int
    here: bool
    there: bool
    for_good: bool
    """It still differs once all is at rest."""


@dataclass(frozen=True)
class TooWeak:
    """What shows that less is asked than may be meant; with neither, nothing was seen that does."""

    other: Netlist | None
    """Another netlist that keeps all that is asked."""
    differs: History | None
    faults: tuple[tuple[str, History], ...]
    """Faults of the netlist found that change what is read, and that nothing asked notices."""


def too_weak(search: Search) -> TooWeak:
    """Looks for both, as far as the budget of the search goes."""
    found = search.found.netlist
    assert found is not None
    shown = _Shown(search.frame.study_with(found), (line.name for line in search.frame.read))
    other, differs = _other(search, shown)
    return TooWeak(other, differs, tuple(_unnoticed(shown)))


def _other(search: Search, shown: _Shown) -> tuple[Netlist | None, History | None]:
    best: tuple[Netlist | None, History | None] = (None, None)
    try:
        for netlist, study in itertools.islice(search.others(), MOST_OTHERS):
            differs = shown.differs_from(study)
            if differs is not None and (best[1] is None or differs.for_good):
                best = netlist, differs
                if differs.for_good:
                    break
    except OverBudget:
        pass
    return best


def _unnoticed(shown: _Shown) -> Iterator[tuple[str, History]]:
    for fault in itertools.islice(faults(shown.study.circuit), MOST_FAULTS):
        study = shown.study._replace(circuit=fault.circuit)
        differs = shown.differs_from(study)
        if differs is not None and first_failing((study, STATES, share_of(STATES, MOST_FAULTS)))[0].holds is True:
            yield fault.words, differs


Trace = tuple[tuple[bool, ...], ...]
"""Of each name that is read, whether it is on at the end of each gt."""


class _Shown:
    """What a study shows in each history: of each name that is read, in every order and from every start."""

    def __init__(self, study: Study, read: Iterable[str]) -> None:
        self.study = study
        circuit = study.circuit
        self._names = tuple(dict.fromkeys([*read, *(output.name for output in circuit.outputs)]))
        every = histories(list(circuit.inputs))
        keeping = (each for each in every if allowed(each, study.assumptions))
        self._histories = list(itertools.islice(keeping, MOST_HISTORIES))
        self._mine: dict[int, frozenset[Trace]] = {}

    def differs_from(self, study: Study) -> History | None:
        """A history in which another study shows something else; one in which it does so for good, if there is one."""
        program = Program(study.circuit)
        first = None
        for place, check in enumerate(self._histories):
            if place not in self._mine:
                self._mine[place] = self._traces(Program(self.study.circuit), check)
            theirs = self._traces(program, check)
            if theirs and self._mine[place] and theirs != self._mine[place]:
                history = self._difference(check, self._mine[place], theirs)
                if history.for_good:
                    return history
                first = first or history
        return first

    def _traces(self, program: Program, check: Check) -> frozenset[Trace]:
        """All that may be seen; empty where that is too much."""
        try:
            run = run_check(program, starts(program), check, (), Notebook(), most=RUN_WORK).to_its_end()
        except (GivenUp, TooManyStarts, Undecided):
            return frozenset()
        recordings = (replay(run, track, check.until) for track in run.tracks)
        return frozenset(
            tuple(tuple(map(bool, each.levels_of(name, 0, check.until))) for name in self._names) for each in recordings
        )

    def _difference(self, check: Check, mine: frozenset[Trace], theirs: frozenset[Trace]) -> History:
        """Where a trace that only one of the two shows leaves those of the other."""
        swapped = not theirs - mine
        odd = min(mine - theirs if swapped else theirs - mine)
        plain = min(theirs if swapped else mine, key=lambda each: _first(each, odd), default=odd)
        at, row = _first(plain, odd)
        here, there = (odd, plain) if swapped else (plain, odd)
        for_good = [place for place, (one, other) in enumerate(zip(plain, odd, strict=True)) if one[-1] != other[-1]]
        if for_good:
            row = for_good[0]
            alike = [gt for gt, (one, other) in enumerate(zip(plain[row], odd[row], strict=True)) if one == other]
            at = max(alike, default=-1) + 1
        return History(check.acts, self._names[row], at, here[row][at], there[row][at], bool(for_good))


def _first(one: Trace, other: Trace) -> tuple[int, int]:
    """The first gt in which two traces differ, and the place of the name in which they do."""
    differing = (
        (gt, row)
        for row, (mine, theirs) in enumerate(zip(one, other, strict=True))
        for gt, (here, there) in enumerate(zip(mine, theirs, strict=True))
        if here != there
    )
    return min(differing, default=(len(one[0]) if one else 0, 0))


def histories(inputs: list[Part]) -> Iterator[Check]:
    """Nothing worked; then every few inputs one after the other, in several distances."""
    yield _check(())
    for count in range(1, MOST_ACTS + 1):
        for worked in itertools.product(inputs, repeat=count):
            for apart in APART if count > 1 else APART[:1]:
                yield _check(tuple(_acts(worked, apart)))


def _acts(worked: Iterable[Part], apart: int) -> Iterator[Act]:
    on = {part.name for part in worked if part.start}
    for place, part in enumerate(worked):
        verb = "press" if "press" in part.verbs else "off" if part.name in on else "on"
        on ^= {part.name}
        yield Act(FIRST + place * apart, part.name, verb, 0, NOWHERE)


def _check(acts: tuple[Act, ...]) -> Check:
    return Check("", acts, (), (), (acts[-1].at if acts else FIRST) + AFTER, NOWHERE)
