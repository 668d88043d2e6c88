"""What tells quickly that a change is no cure: the checks that fail, and each counterexample once it has been seen.

A trial runs one check, or the inputs of one counterexample, on the changed circuit. One that breaks settles the
change, and comes first from then on. That none breaks settles nothing: then all is judged as `verify` does.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from circuitcheck.checks.allowed import allowed
from circuitcheck.checks.outcome import FAILING, Outcome
from circuitcheck.checks.run import Notebook, run_check
from circuitcheck.checks.watches import Broken
from circuitcheck.curing.edits import Change
from circuitcheck.curing.source_text import ASKING, Source, first_line
from circuitcheck.engine.power import is_line
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.work import Undecided
from circuitcheck.judging.responses import surely_late
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Check, Claim, Study, Timely, Watched, atoms, conditions

MOST_TRIALS = 40
"""How many checks and counterexamples are kept; the one that has settled nothing for longest goes."""
TRIAL_WORK = 400_000
"""How much one trial may do."""


@dataclass(frozen=True)
class Kept:
    """A check or a claim about a response, by its title; or what was done in a counterexample, and what broke then."""

    label: str
    title: str
    trace: Check | None
    asking: int
    """The line of the file that asks it."""
    reaches: frozenset[tuple[int, int]] | None
    """Where the lines of all parts stand that what it asks depends on; None if it may depend on any."""
    area: frozenset[tuple[int, int]] = frozenset()
    """Where the lines of all parts of its circuit stand: it depends on no others, however these are wired."""
    pointing: frozenset[str] = frozenset()
    """What lines may call those of the parts it depends on that point: one more reader can make them act later."""
    broke_at: int = 0
    """The gt in which it broke when it was kept; 0 if that is not known."""

    def may_differ(self, change: Change, rewired: bool = False) -> bool:
        """Whether a change can make anything of it; `rewired` says that something else of its circuit is."""
        if self.reaches is None or change.readers is None:
            return True
        within = self.area if rewired else self.reaches
        return bool(within & change.readers or self.pointing & change.reads)


class Asked(NamedTuple):
    """A study with what stands in which line of the file."""

    study: Study
    lines: Mapping[str, int]


class Trials:
    """All that is kept, what settled a change last first."""

    def __init__(self, source: Source) -> None:
        self._source = source
        self._kept: list[Kept] = []
        self._drawn: list[Kept] = []
        """The same of circuits that are read out of a drawing, which is read whole again each time."""
        self._at_first: list[Kept] = []
        """What breaks in the file as it stands."""
        self._asking = {first_line(each) for _, _, each in source.statements() if isinstance(each, ASKING)}
        self.settled = 0
        """How many changes were settled by what was kept."""
        self.open = 0
        """With how many of them it can't be decided how the circuit starts."""

    def __len__(self) -> int:
        return len(self._kept)

    def keep(self, study: Study, outcome: Outcome) -> None:
        """Keeps what broke in a study, if it can be tried again quickly."""
        checks = {each.title: each for each in study.checks}
        claims = {each.title: each for each in study.claims}
        failure, drawn = outcome.failure, study.circuit.drawing is not None
        if outcome.title in checks:
            check = checks[outcome.title]
            broke_at = 0 if failure is None else failure.at
            kept = Kept(study.label, check.title, None, self._line_of(check), None, broke_at=broke_at)
            self._add(kept, drawn)
        elif outcome.title in claims and isinstance(claims[outcome.title].body, Timely):
            claim = claims[outcome.title]
            self._add(Kept(study.label, claim.title, None, self._line_of(claim), None), drawn)
        elif outcome.title in claims and failure is not None and failure.check is not None:
            claim = claims[outcome.title]
            if _can_be_kept(claim):
                trace = Check("", failure.check.acts, (), (), failure.check.until, claim.span)
                self._add(Kept(study.label, claim.title, trace, self._line_of(claim), None), drawn)

    def _line_of(self, asked: Check | Claim) -> int:
        """The line of the statement that asks it: its own, or that of the repetition that it stands in."""
        return max((line for line in self._asking if line <= asked.span.line), default=0)

    def _add(self, trial: Kept, drawn: bool) -> None:
        if not trial.asking:
            return
        if drawn:
            self._drawn.insert(0, trial)
            del self._drawn[MOST_TRIALS:]
            return
        study = next((each for each in self._source.loaded.studies if each.label == trial.label), None)
        if study is not None and _breaks_at_all(Program(study.circuit), study, trial):
            spans = frozenset((part.span.line, part.span.column) for part in study.circuit.parts)
            reaches, pointing = _reach(study, trial)
            trial = replace(trial, reaches=reaches, area=spans, pointing=pointing)
            self._at_first += [trial] if trial not in self._at_first else []
        if trial not in self._kept:
            self._kept.insert(0, trial)
            del self._kept[MOST_TRIALS:]

    def settled_by(self, change: Change) -> Kept | None:
        """What of that which is kept still breaks with a change made, or any of it where it can't be made."""
        broken = next(self._broken(change, self._kept), None)
        if broken is None:
            return None
        self.settled += 1
        if broken in self._kept:
            self._kept.remove(broken)
            self._kept.insert(0, broken)
        return broken

    def breaks_drawn(self, study: Study) -> bool:
        """Whether something that is kept of drawn circuits breaks in one that was changed."""
        program: Program | None = None
        for place, trial in enumerate(self._drawn):
            if trial.label != study.label:
                continue
            program = program or Program(study.circuit)
            if _breaks_at_all(program, study, trial):
                self._drawn.insert(0, self._drawn.pop(place))
                self.settled += 1
                return True
        return False

    def cured_by(self, change: Change) -> frozenset[Kept]:
        """What broke in the file as it stands, and does not with a change made."""
        return frozenset(self._at_first) - frozenset(self._broken(change, self._at_first))

    def pointless(self, one: Change, other: Change, cured: Mapping[int, frozenset[Kept]]) -> bool:
        """Whether two changes together leave something broken because one does, and the other can't matter to it."""
        for first, second in ((one, other), (other, one)):
            rewired = bool(first.cost.places or first.cost.parts)
            left = self.at_first - cured.get(id(first), self.at_first) if first.readers is not None else ()
            if any(not trial.may_differ(second, rewired) for trial in left):
                return True
        return False

    @property
    def at_first(self) -> frozenset[Kept]:
        """What breaks in the file as it stands."""
        return frozenset(self._at_first)

    def _broken(self, change: Change, trials: Sequence[Kept]) -> Iterator[Kept]:
        """What breaks with a change made; all of it where it can't be made."""
        out_of_reach = [each for each in trials if not each.may_differ(change)]
        yield from out_of_reach
        others = [each for each in trials if each not in out_of_reach]
        if not others or not change.homes:
            return
        wanted = frozenset(each.label for each in others)
        studies = self._source.studies(change, wanted, frozenset(each.asking for each in others))
        if studies is None:
            yield from others
            return
        programs: dict[str, Program] = {}
        for trial in others:
            study = studies.get(trial.label)
            if study is None:
                continue
            if trial.label not in programs:
                programs[trial.label] = Program(study.circuit)
            try:
                if _breaks(programs[trial.label], study, trial):
                    yield trial
            except TooManyStarts:
                self.open += 1
                yield from others  # nothing of it can be decided
                return


def _can_be_kept(claim: Claim) -> bool:
    """Whether what breaks a claim can be tried again quickly: a run, or a response that is late by far."""
    return isinstance(claim.body, Watched | Timely) and not claim.fails_because


def _breaks(program: Program, study: Study, trial: Kept) -> bool:
    """Whether a trial breaks on a changed circuit."""
    if trial.trace is None:
        check = next((each for each in study.checks if each.title == trial.title), None)
        if check is None:
            return any(surely_late(each, study.circuit) for each in study.claims if each.title == trial.title)
        begun = _beginning(check, trial.broke_at)
        return (begun is not None and fails(program, begun, ()) is True) or fails(program, check, ()) is True
    claim = next((each for each in study.claims if each.title == trial.title), None)
    return claim is not None and fails(program, trial.trace, (claim,)) is True


def _beginning(check: Check, until: int) -> Check | None:
    """What a check expects up to a gt, which breaks no sooner than the whole; None where that can't be told apart."""
    expectations = tuple(each for each in check.expectations if each.end - 1 <= until)
    if not until or check.throughout or check.fails_because or not expectations or until >= check.until:
        return None
    acts = tuple(each for each in check.acts if each.at <= until)
    return check._replace(expectations=expectations, acts=acts, until=until)


def _breaks_at_all(program: Program, study: Study, trial: Kept) -> bool:
    """The same, where what can't be started does not count as broken."""
    try:
        return _breaks(program, study, trial)
    except TooManyStarts:
        return False


def fails(program: Program, check: Check, claims: Sequence[Claim]) -> bool | None:
    """Whether a check, or a claim in its run, fails in some order or from some start; None if that was not seen.

    Raises TooManyStarts.
    """
    try:
        begins = starts(program)
        run = run_check(program, begins, check, claims, Notebook(), until_broken=True, most=TRIAL_WORK)
    except Undecided:
        return None
    broken = any(isinstance(state, Broken) for track in run.tracks for state in track.watches)
    if check.fails_because:
        return None if broken or run.limit else True
    return True if broken else None if run.limit else False


def first_run_that_fails(study: Study) -> Outcome | None:
    """The first check of a study, or claim watched in its run, that plainly fails."""
    from circuitcheck.checks.judge import outcomes_of_runs

    program = Program(study.circuit)
    for check in study.checks:
        watched = () if check.fails_because or not allowed(check, study.assumptions) else study.claims
        try:
            failing = fails(program, check, watched)
        except TooManyStarts:
            return None
        if failing:
            outcomes = outcomes_of_runs(study._replace(checks=(check,), claims=watched))
            bad = next((each for each in outcomes if each.verdict in FAILING), None)
            if bad is not None:
                return bad
    return None


# What a change must reach to matter


def _reach(study: Study, trial: Kept) -> tuple[frozenset[tuple[int, int]] | None, frozenset[str]]:
    """Where the lines stand that a trial depends on which breaks in the file as it stands, and what points of it."""
    every: tuple[Check | Claim, ...] = (*study.checks, *study.claims)
    asked = [each for each in every if each.title == trial.title]
    if any(each.fails_because for each in asked):
        return None, frozenset()  # the rule that it names may be at work anywhere
    expectations = [each for check in asked if isinstance(check, Check) for each in check.expectations]
    claims = [each for each in asked if isinstance(each, Claim)]
    claims += [claim for check in asked if isinstance(check, Check) for claim in check.throughout]
    named = [conditions(claim.body) for claim in claims]
    if not all(named):
        return None, frozenset()
    looked_at = [*(each.condition for each in expectations), *(each for found in named for each in found)]
    names = [atom.name for each in looked_at for atom in atoms(each)]
    return _upstream(study.circuit, [*names, *_lights(study.circuit)])


def _lights(circuit: Circuit) -> Iterator[str]:
    """What has a say in when cells change: cells that others grow from, and what lets light through."""
    yield from (part.name for part in circuit.parts if part.cell is not None)
    yield from (name for place in circuit.places for name in place.parts)


def _upstream(circuit: Circuit, names: Sequence[str]) -> tuple[frozenset[tuple[int, int]], frozenset[str]]:
    """Where the lines of parts stand that signals can come from, and of all that reads those of them that point.

    What reads one that points decides how early it acts (rule C3), so lines that make other readers point count too.
    """
    reads: dict[str, set[str]] = {}
    for name, source in _connections(circuit):
        reads.setdefault(name, set()).add(source)
    found = dict.fromkeys(names)
    for name in list(found):
        found |= dict.fromkeys((f"{name}.inverse",)) if name in circuit.latches else {}
    queue = list(found)
    for name in queue:
        for source in reads.get(name, ()):
            if source not in found:
                found[source] = None
                queue.append(source)
    pointing = {part.name for part in circuit.parts if part.directed and part.name in found}
    lines = (part.span for part in circuit.parts if part.name in found or pointing & reads.get(part.name, set()))
    outputs = {each.name for each in circuit.outputs if each.source in pointing}
    return frozenset((span.line, span.column) for span in lines), frozenset(_called(pointing | outputs))


def _called(names: Iterable[str]) -> Iterator[str]:
    """What lines may call signals: by the whole name; inside a definition by the end of it; as one of a whole row."""
    for name in names:
        words = name.split(".")
        for place in range(len(words)):
            yield ".".join(words[place:])
            yield ".".join([*words[place:-1], "*"])


def _connections(circuit: Circuit) -> Iterator[tuple[str, str]]:
    """What reads what; lines that meet read each other."""
    for part in circuit.parts:
        for port in part.ports():
            for source in port.sources:
                yield part.name, source
                other = circuit.by_name.get(source)
                if other is not None and is_line(part) and is_line(other):
                    yield source, part.name
