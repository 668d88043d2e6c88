"""What a trace that the search found comes to, once the simulator has run it: the verdict, and the run shown."""

from __future__ import annotations

from dataclasses import replace

from circuitcheck.checks import judge
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.checks.proof import Proof
from circuitcheck.checks.refusing import refusal_of
from circuitcheck.checks.run import Notebook, run_check
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import starts
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Claim, Study, Unraced
from circuitcheck.prove.burnt_torches import as_check
from circuitcheck.prove.compose import Stimulus
from circuitcheck.prove.lasso import GoneRound
from circuitcheck.prove.undecided import undecided

IN_ONE_ORDER = "in one order it goes round so for ever; in others it may not (C5)"


class TraceVerdicts:
    """Verdicts on traces of one study; `quiet` is its circuit without burn-out, and `program` that one wired up."""

    def __init__(self, study: Study, quiet: Circuit, program: Program) -> None:
        self._study, self._quiet, self._program = study, quiet, program

    def broken(self, claim: Claim, counterexample: Stimulus, proof: Proof) -> Outcome | None:
        """The verdict on a trace found, run again by the simulator; None if it can't go so."""
        check = as_check(claim, counterexample)
        proof = replace(proof, trace=check.acts)
        calm = judge.replayed(self._quiet, claim._replace(fails_because=""), check).failure
        if calm is None or calm.at > check.until:
            return None  # it can't go so; or breaks later, so that a shorter trace may have been missed
        outcome = judge.replayed(self._study.circuit, claim, check)
        if outcome.failure is not None and outcome.failure.at <= check.until:
            return replace(outcome, proof=proof)
        limit = "the shortest counterexample burns out a torch (T4); longer ones were not searched for"
        return undecided(claim, replace(proof, limit=limit))

    def refused(self, claim: Claim, led_there: Stimulus, proof: Proof) -> Outcome:
        """The verdict where the search came to a mistake of the drawing, with the trace to it."""
        check = as_check(claim, led_there, after=1)
        run = run_check(self._program, starts(self._program), check, (), Notebook())
        proof = replace(proof, trace=check.acts)
        return replace(undecided(claim, proof), refusal=refusal_of(run))

    def gone_round(self, claim: Claim, gone: GoneRound, proof: Proof) -> Outcome:
        """The verdict on a claim that a trace without end breaks; two of its rounds are shown."""
        way, round_ = gone.lasso
        since = len(way) - 1
        proof = replace(proof, round=(since, len(round_)))
        circuit = self._study.circuit.starting(dict(gone.start.tried))
        outcome = self.shown(claim, [*way, *round_, *round_], proof, circuit)
        if outcome.failure is not None:
            failure = replace(outcome.failure, at=since + len(round_), since=since)
            outcome = replace(outcome, failure=failure)
        if outcome.verdict is not Verdict.FAILS:
            return outcome
        if len(starts(self._program)) > 1:
            return replace(outcome, verdict=Verdict.OPEN_START, starts=gone.start.tried)
        if gone.certain:
            return outcome
        return replace(outcome, verdict=Verdict.RACE, detail=IN_ONE_ORDER)

    def shown(self, claim: Claim, trace: Stimulus, proof: Proof, circuit: Circuit, after: int = 0) -> Outcome:
        """The verdict on a claim over all runs that a trace breaks."""
        check = as_check(claim, trace, after)
        failure = judge.shown(circuit, claim, check, len(trace) - 1)
        outcome = Outcome(claim.title, claim.span, Verdict.FAILS, failure, proof=replace(proof, trace=check.acts))
        if not claim.fails_because:
            return outcome
        at_work = {note.rule for note in failure.recording.notes}
        if isinstance(claim.body, Unraced):
            at_work |= {"C5", "L4"}
        if claim.fails_because in at_work:
            return replace(outcome, verdict=Verdict.FAILS_AS_SAID, detail=f"because of {claim.fails_because}")
        seen = ", ".join(sorted(at_work)) or "nothing of note"
        detail = f"the file says because of {claim.fails_because}; rules that apply on this trace: {seen}"
        return replace(outcome, verdict=Verdict.FAILS_OTHERWISE, detail=detail)
