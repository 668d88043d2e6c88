"""Parts that were alike in every run looked at, so that one of them may stand for the other.

That they are is only a guess, and each step made of it is judged as every other. So are logic circuits swept: first
classes of signals that simulation can't tell apart, then a proof for each pair of such a class (A. Kuehlmann and F.
Krohm, "Equivalence Checking Using Cuts and Heaps", DAC 1997; from memory).
"""

from __future__ import annotations

import itertools
from collections.abc import Hashable, Iterator, Mapping

from circuitcheck.checks.allowed import allowed
from circuitcheck.checks.run import GivenUp, Notebook, replay, run_check
from circuitcheck.curing.source_text import Source
from circuitcheck.designing.too_weak import histories
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.work import Undecided
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Check, Study

MOST_RUNS = 40
"""How many runs are looked at besides those of the checks."""
RUN_WORK = 200_000


class Alike:
    """Whether, in a definition or in a file's own lines, two signals were at the same level in all runs.

    What nothing reads is like the first signal of all, since anything may be read in its place.
    """

    def __init__(self, source: Source) -> None:
        self._source = source
        self._levels: dict[str, Mapping[str, Hashable]] = {}
        self._unread: dict[str, frozenset[str]] = {}

    def __call__(self, definition: str, one: str, other: str) -> bool:
        if definition not in self._levels:
            study = self._source.study_of(definition)
            self._levels[definition] = {} if study is None else levels(study)
            self._unread[definition] = frozenset() if study is None else unread(study.circuit)
        known = self._levels[definition]
        if one in self._unread[definition]:
            return other == next((name for name in known if name != one), "")
        return one in known and known[one] == known.get(other)


def unread(circuit: Circuit) -> frozenset[str]:
    """The parts that nothing reads, and that show nothing and are given out nowhere."""
    given = {circuit.signal(output.source) for output in circuit.outputs}
    idle = (name for name, part in circuit.by_name.items() if not (part.indicates or circuit.graph.out_degree(name)))
    return frozenset(name for name in idle if name not in given)


def levels(study: Study) -> Mapping[str, Hashable]:
    """Of each part the levels that it was at in some runs, each in one of its orders."""
    program = Program(study.circuit)
    found: dict[str, list[Hashable]] = {name: [] for name in study.circuit.by_name if name in program.number}
    try:
        begins = starts(program)
    except (TooManyStarts, Undecided):
        return {}
    for check in _runs(study):
        try:
            run = run_check(program, begins, check, (), Notebook(), most=RUN_WORK).to_its_end()
            recording = replay(run, run.tracks[0], check.until)
        except (GivenUp, Undecided):
            continue
        changes: dict[int, list[tuple[int, int]]] = {}
        for change in recording.changes:
            changes.setdefault(change.device, []).append((change.at, change.level))
        for name, series in found.items():
            number = program.number[name]
            series.append((recording.start[number], tuple(changes.get(number, ()))))
    return {name: tuple(series) for name, series in found.items() if series}


def _runs(study: Study) -> Iterator[Check]:
    """What is worked in the checks, and each few inputs one after the other, as far as that is assumed of them."""
    for check in study.checks:
        yield check._replace(expectations=(), throughout=(), fails_because="")
    kept = (each for each in histories(list(study.circuit.inputs)) if allowed(each, study.assumptions))
    yield from itertools.islice(kept, MOST_RUNS)
