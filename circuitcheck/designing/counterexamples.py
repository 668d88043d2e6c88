"""The runs that have refuted netlists: each is gone again by the engine on the next netlist, before any proof.

A run counts in every order that the rules leave open, and from every start. What it comes to in one order says nothing
of other netlists; what it comes to from one start says something of all that rest there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.checks.allowed import allowed
from circuitcheck.checks.outcome import Outcome
from circuitcheck.checks.run import Notebook, Track, run_check
from circuitcheck.checks.watches import Broken
from circuitcheck.designing.unrolled import Asked, Stimulus, worked_in
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.work import Undecided
from circuitcheck.model.claims import Check, Study, Watched

MOST_RUNS = 60
"""How many runs are gone again; the one that has refuted nothing for longest goes."""
RUN_WORK = 20_000
"""How much one of them may do."""

LATER = 2
"""How many gt later the rules of certificates may see that something was broken."""


class Counterexamples:
    """What has been worked in runs that broke something."""

    def __init__(self, asked: Asked, on: Sequence[str]) -> None:
        """`on` are the inputs that are on before anything is worked."""
        self._asked, self._on = asked, on
        self._claims = tuple(
            claim for claim in asked.claims if isinstance(claim.body, Watched) and not claim.fails_because
        )
        self._titles = {check.title: place for place, check in enumerate(asked.checks)}
        self._runs: list[tuple[Check, int | None]] = [
            (check, place) for place, check in enumerate(asked.checks) if not check.fails_because
        ]

    def keep(self, failing: Iterable[Outcome]) -> Iterator[Stimulus]:
        """Keeps the runs in which something failed, and says what was worked in each and how it started."""
        for outcome in failing:
            failure = outcome.failure
            if failure is None or failure.check is None or failure.check.fails_because:
                continue
            place = self._place(failure.check)
            if place is None:
                self._front(failure.check, None)
            recording = failure.recording
            stimulus = self._stimulus(failure.check, place, failure.at, recording.program, recording.start)
            if stimulus is not None:
                yield stimulus

    def burning_in(self, study: Study, outcomes: Iterable[Outcome]) -> Iterator[Stimulus]:
        """The shortest runs in which a torch burns out before a claim is done with, from each start."""
        burnt = [each for outcome in outcomes if outcome.proof for each in outcome.proof.burn_outs]
        if not burnt:
            return
        program = Program(study.circuit)
        try:
            begins = [_on_at(program, start.levels) for start in starts(program)]
        except TooManyStarts:
            return
        for burn_out in sorted(dict.fromkeys(burnt), key=lambda each: each.at):
            check = Check("", burn_out.acts, (), (), burn_out.at, NOWHERE)
            try:
                worked = worked_in(check, self._on)
            except Uncertified:
                continue
            yield from (Stimulus(worked, burn_out.at + 1 + LATER, None, start) for start in begins)

    def broken_in(self, study: Study) -> Iterator[Stimulus]:
        """Those of them that break something in a study, in some order and from some start."""
        program = Program(study.circuit)
        try:
            begins = starts(program)
            for check, place in list(self._runs):
                watched = self._claims if place is None or allowed(check, self._asked.assumptions) else ()
                run = run_check(program, begins, check, watched, Notebook(), until_broken=True, most=RUN_WORK)
                broken = [(at, track) for track in run.tracks if (at := _broken_at(track)) is not None]
                if broken:
                    at, track = min(broken, key=lambda each: each[0])
                    self._front(check, place)
                    stimulus = self._stimulus(check, place, at, program, track.start.levels)
                    if stimulus is not None:
                        yield stimulus
        except (TooManyStarts, Undecided):
            return

    def _place(self, check: Check) -> int | None:
        """The place of a check of the file; none for a run that the prover found."""
        place = self._titles.get(check.title)
        return place if place is not None and self._asked.checks[place].acts == check.acts else None

    def _front(self, check: Check, place: int | None) -> None:
        run = (check._replace(expectations=(), throughout=()) if place is None else check, place)
        if run in self._runs:
            self._runs.remove(run)
        self._runs.insert(0, run)
        del self._runs[MOST_RUNS:]

    def _stimulus(
        self, check: Check, place: int | None, at: int, program: Program, levels: Sequence[int]
    ) -> Stimulus | None:
        """What was worked; None where that can't be said gt by gt."""
        try:
            worked = worked_in(check, self._on)
        except Uncertified:
            return None
        start = _on_at(program, levels)
        if place is not None:
            return Stimulus(worked, check.until + 1, place, start)
        return Stimulus(frozenset(act for act in worked if act[0] <= at), at + 1 + LATER, None, start)


def _on_at(program: Program, levels: Sequence[int]) -> frozenset[str]:
    """What is on at some levels."""
    return frozenset(name for name, level in zip(program.names, levels, strict=False) if level)


def _broken_at(track: Track) -> int | None:
    return min((state.at for state in track.watches if isinstance(state, Broken)), default=None)
