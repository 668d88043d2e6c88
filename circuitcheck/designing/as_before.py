"""What a circuit gives out asked of every netlist in its place: at every gt the same, up to one constant shift.

A netlist is proved beside the circuit as it was (`same_reactions`). Each run that tells the two apart becomes a
constraint on all netlists: what the circuit gave out in that run, by the engine, is what they must give out in it.
So of the circuit as it was no rule is written as clauses; and as it reacts in one way only, one run of it says all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from circuitcheck.checks.outcome import FAILING, Outcome, Verdict
from circuitcheck.checks.run import GivenUp, Notebook, replay, run_check
from circuitcheck.designing.counterexamples import Counterexamples
from circuitcheck.designing.frame import Frame
from circuitcheck.designing.same_reactions import BEFORE, SHOWN, Pair, Reactions, Unlike, given_out, side_by_side
from circuitcheck.designing.unrolled import Asked, Stimulus
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.work import Undecided
from circuitcheck.judging.door import judged_until_failing
from circuitcheck.model.claims import Act, Check, Claim, Study, Unburnt
from circuitcheck.prove.burnt_torches import quiet
from circuitcheck.prove.meter import Limits, Meter

MOST_STARTS = 8
"""From how many starts a netlist is looked at one by one."""


class AsBefore:
    """What the circuit of a study gives out, which is to stay so."""

    def __init__(self, study: Study, limits: Limits, most_shift: int = 0) -> None:
        """All of it may come up to so many gt later, or earlier. Raises Unlike."""
        reactions = Reactions((study,), limits, most_shift)
        circuit = quiet(study.circuit)
        self._study, self._limits = study._replace(circuit=circuit, checks=(), claims=()), limits
        self._program = Program(circuit)
        (self._start,) = starts(self._program)
        self._on = [part.name for part in circuit.inputs if part.start]
        self.names = given_out(circuit)
        """What must be as it was."""
        self.signals = tuple(circuit.signal(name) or name for name in self.names)
        """The parts that give that."""
        self.shifts = reactions.shifts
        self.calm = _burns(study, limits, limits.meter()) is False
        """No torch of it ever burns out: then none of a netlist in its place may."""
        self._shown: dict[Stimulus, Stimulus] = {}
        self._runs: dict[int, Counterexamples] = {}
        self._last: tuple[Study, int, Pair] | None = None

    def broken_in(self, study: Study, shift: int) -> Iterator[Stimulus]:
        """Those of the runs known so far that tell a changed circuit from what it was, by the engine."""
        pair = self._pair(study, shift)
        for stimulus in (*self._unlike_at_rest(pair), *self._of(pair, shift).broken_in(pair.study)):
            yield self.shown(stimulus)

    def judged_until_failing(self, study: Study, shift: int, budget: Meter) -> tuple[Outcome, ...]:
        """What proving comes to, until something fails, of: each output is as it was, so many gt later."""
        pair = self._pair(study, shift)
        if any(True for _ in self._unlike_at_rest(pair)):
            return (Outcome("it starts as it did", NOWHERE, Verdict.FAILS),)
        return judged_until_failing(pair.study, self._limits, budget)

    def keep(self, study: Study, shift: int, failing: Sequence[Outcome]) -> Iterator[Stimulus]:
        """Keeps the runs in which a changed circuit gave out something else."""
        pair = self._pair(study, shift)
        for stimulus in self._of(pair, shift).keep(failing):
            yield self.shown(stimulus)

    def burns(self, study: Study, budget: Meter) -> bool | None:
        """Whether a torch of a changed circuit burns out where none did; None where that is not decided."""
        return self.calm and _burns(study, self._limits, budget)

    def shown(self, stimulus: Stimulus) -> Stimulus:
        """A run of two circuits as one of the changed one alone, with what the other gave out in it."""
        if stimulus not in self._shown:
            start = stimulus.start
            own = None if start is None else frozenset(name for name in start if not name.startswith(BEFORE))
            self._shown[stimulus] = stimulus._replace(start=own, shown=self._levels(stimulus))
        return self._shown[stimulus]

    def _levels(self, stimulus: Stimulus) -> tuple[tuple[bool, ...], ...]:
        """Of each output whether it is on before all, and at the end of each gt; of none if that is too much."""
        until = stimulus.gt + max(-min(self.shifts), 0)
        acts = tuple(Act(at, name, self._verb(name), 0, NOWHERE) for at, name in sorted(stimulus.worked))
        try:
            check = Check("", acts, (), (), until, NOWHERE)
            run = run_check(self._program, (self._start,), check, (), Notebook()).to_its_end()
            recording = replay(run, run.tracks[0], until)
        except (GivenUp, Undecided):
            return ()
        each = ((recording.level_at_start(name), *recording.levels_of(name, 0, until)) for name in self.signals)
        return tuple(tuple(map(bool, levels)) for levels in each)

    def _verb(self, name: str) -> str:
        verbs = self._program.circuit.by_name[name].verbs
        return "press" if "press" in verbs else "throw"

    def _pair(self, study: Study, shift: int) -> Pair:
        """A changed circuit beside what it was: made once, however often one after the other it is asked for."""
        if self._last is None or self._last[0] is not study or self._last[1] != shift:
            changed = study._replace(circuit=quiet(study.circuit), checks=(), claims=())
            self._last = study, shift, side_by_side(self._study, changed, shift)
        return self._last[2]

    def _of(self, pair: Pair, shift: int) -> Counterexamples:
        """The runs known of one shift; what is claimed of each pair is the same."""
        if shift not in self._runs:
            self._runs[shift] = Counterexamples(Asked((), pair.study.claims, pair.study.assumptions), self._on)
        return self._runs[shift]

    def _unlike_at_rest(self, pair: Pair) -> Iterator[Stimulus]:
        """The starts in which an output is not as it was, each as a run in which nothing is worked."""
        program = Program(pair.study.circuit)
        try:
            every = starts(program)
        except (TooManyStarts, Undecided):
            return
        for start in every[:MOST_STARTS]:
            levels = start.levels
            if any(
                read(program.probe(one), levels) != read(program.probe(other), levels) for one, other in pair.outputs
            ):
                on = frozenset(name for name, level in zip(program.names, levels, strict=False) if level)
                yield Stimulus(frozenset(), 1, None, on)


def as_before(frame: Frame, limits: Limits, most_shift: int) -> AsBefore:
    """What a file's circuit gives out, which is to stay so. Raises Unlike; also where what it asks does not hold."""
    if frame.study.checks or frame.study.claims:
        outcomes = judged_until_failing(frame.study, limits, limits.meter())
        failing = next((each.title for each in outcomes if each.verdict in FAILING), None)
        if failing is not None:
            raise Unlike(f"“{failing}” does not hold as it is; cure that first")
    return AsBefore(frame.study, limits, most_shift)


def is_same(outcomes: Sequence[Outcome]) -> bool:
    """Every claim about the pair is proved."""
    return all(outcome.verdict in SHOWN for outcome in outcomes)


def _burns(study: Study, limits: Limits, budget: Meter) -> bool | None:
    """Whether a torch of a circuit burns out; None where that is not decided."""
    torches = tuple(part.name for part in study.circuit.parts if part.word == "torch")
    if not torches:
        return False
    claim = Claim("no torch burns out", Unburnt(torches), NOWHERE)
    (outcome,) = judged_until_failing(study._replace(checks=(), claims=(claim,)), limits, budget)
    return None if outcome.verdict not in (*FAILING, *SHOWN) else outcome.verdict in FAILING
