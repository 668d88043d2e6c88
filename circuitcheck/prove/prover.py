"""From claims to verdicts: proved, broken with a trace that the simulator has run again, or undecided.

Claims are explored on the circuit without burn-out (rule T4), whose history would make the states many times more.
Which torches the world can burn out is found apart (`prove.burn_out`), and said: until then the claim holds. For what
can be watched that is exact, since a first burn-out has a past without one. What refers to all time (`possible`,
`races`, `burnt`) is left undecided where its answer could be another after a burn-out.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.checks.allowed import allowed
from circuitcheck.checks.judge import dispute
from circuitcheck.checks.outcome import Outcome, Verdict
from circuitcheck.checks.proof import Proof
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import Start, starts
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import (
    Assumption,
    Body,
    Claim,
    Eventually,
    ForEver,
    Invariant,
    Not,
    Possible,
    RateLimit,
    Study,
    Timely,
    Unburnt,
    Unraced,
    Until,
)
from circuitcheck.prove import solver
from circuitcheck.prove.afterwards import comes_about
from circuitcheck.prove.burnt_torches import TOO_LARGE, Burning, acts_of, as_check, quiet
from circuitcheck.prove.cut import Plan, ProofScope, cut, uncut
from circuitcheck.prove.endless import SHORT_WALK, EndlessProver
from circuitcheck.prove.explore import Exploration
from circuitcheck.prove.few import SEARCHES, FewChanges, are_few, few_changes, none_by_few
from circuitcheck.prove.influence import until_wide_enough
from circuitcheck.prove.meter import Limits, Meter, OverBudget
from circuitcheck.prove.possible import Possibility
from circuitcheck.prove.races import Races
from circuitcheck.prove.space import Setting
from circuitcheck.prove.symbolic.by_depth import is_deep
from circuitcheck.prove.symbolic.decide import (
    Decided,
    deadline_at_rest,
    decide,
    named,
    proved_by_depth,
    proved_of_little,
    trigger_of,
)
from circuitcheck.prove.symbolic.unending import Unending
from circuitcheck.prove.traces import TraceVerdicts
from circuitcheck.prove.undecided import BURNT_BEFORE, explained, said, undecided, with_far
from circuitcheck.prove.wander import broken_by_chance, comes_up

UNTIL_BURNT = "as long as no torch burns out (T4); no trace was found after a burn-out either"
MOST_STARTS_PROVED = 8
"""From how many starts a claim is looked at one by one."""
AFTERWARDS = 16
"""How many gt are shown after the gt from which something can't be brought about any more."""


ByChance = Callable[[Claim, Circuit], Outcome]
WayToProve = Callable[[Program, Body, Sequence[Assumption], Meter], Decided | None]


class _Walk(NamedTuple):
    """What exploring a claim came to."""

    outcome: Outcome | None
    proof: Proof
    spurious: bool
    """Whether it found a counterexample that the simulator can't go."""
    exploration: Exploration
    meter: Meter


class Prover:
    """Proves the claims of one study.

    `solving` has it hand to a SAT solver what a walk can't finish, piece by piece, and `burn_outs` look into which
    torches can burn out before a claim is decided. `budget` is the one that all claims share, those of other studies of
    the same file among them. `by_chance` judges claims about responses, which are not a matter of what can happen.
    """

    def __init__(
        self,
        study: Study,
        limits: Limits,
        solving: bool = True,
        grown: Callable[[int], None] = lambda states: None,
        budget: Meter | None = None,
        burn_outs: bool = True,
        by_chance: ByChance | None = None,
    ) -> None:
        self._study = study
        self._limits = limits
        self.budget = budget or limits.meter()
        """What all that is asked of it may cost."""
        self._claim = self.budget
        self._solving = solving
        self._grown = grown
        self._quiet = quiet(study.circuit)
        self.program = Program(self._quiet)
        """The circuit without burn-out, wired up."""
        self._traces = TraceVerdicts(study, self._quiet, self.program)
        self._burning_out = burn_outs
        self._by_chance = by_chance
        burning = self.budget.part(limits.states, "for burn-outs")
        self.burning = Burning(study.circuit, self.program, self._setting, burning)
        self._none_by_few = False
        """Whether a search with few changes of inputs was finished for the claim, and found nothing."""
        self._far: Decided | Unending | None = None
        """How far the formula came for the claim, where it decided nothing."""

    def prove(self, claim: Claim) -> Outcome:
        """The verdict on a claim."""
        begun = time.perf_counter()
        self._claim = self.budget.part(self._limits.states, "for one claim")
        self._none_by_few, self._far = False, None
        try:
            outcome = until_wide_enough(lambda: self._judged(claim))
        except (*TOO_LARGE, OverBudget) as large:
            outcome = undecided(claim, Proof(0, 0, False, limit=said(large)))
        if outcome.verdict is Verdict.UNDECIDED and outcome.proof is not None and outcome.refusal is None:
            found = f"{outcome.proof.limit}; {none_by_few(self.program)}" if self._none_by_few else outcome.proof.limit
            proof = with_far(replace(outcome.proof, limit=found), self._far)
            outcome = explained(outcome, proof, claim, self._study, self._limits.states)
        if outcome.proof is not None:
            words = tuple(each.words for each in self._study.assumptions)
            proof = replace(outcome.proof, assumptions=words, seconds=time.perf_counter() - begun)
            outcome = replace(outcome, proof=proof)
        return self.over_starts(claim, outcome)

    def over_starts(self, claim: Claim, outcome: Outcome) -> Outcome:
        """The verdict on a claim that is broken from one start: it fails if a trace breaks it from each."""
        if outcome.verdict is not Verdict.OPEN_START:
            return outcome
        every = starts(self.program)
        if len(every) > MOST_STARTS_PROVED or not all(self._fails_from(start, claim) for start in every):
            return outcome
        return replace(outcome, verdict=Verdict.FAILS, starts=())

    def _fails_from(self, start: Start, claim: Claim) -> bool:
        study = self._study._replace(circuit=self._study.circuit.starting(dict(start.tried)))
        verdict = self._verdict(study, self._limits.states, claim)
        return verdict in (Verdict.FAILS, Verdict.RACE)

    def _verdict(self, study: Study, states: int, claim: Claim) -> Verdict:
        """The verdict on a claim of a study that differs in something, out of what is left for the claim itself."""
        limits = self._limits._replace(states=states)
        prover = Prover(study, limits, False, self._grown, self._claim, False, self._by_chance)
        return prover.prove(claim).verdict

    def _judged(self, claim: Claim) -> Outcome:
        if isinstance(claim.body, Possible):
            return self._possible(claim, claim.body)
        if isinstance(claim.body, Unraced):
            return self._unraced(claim, claim.body)
        if isinstance(claim.body, ForEver):
            return self._for_ever(claim, claim.body)
        if isinstance(claim.body, Unburnt):
            return self._unburnt(claim, claim.body)
        if isinstance(claim.body, Timely):
            assert self._by_chance is not None, "whoever asks for responses says how they are judged"
            return self._by_chance(claim, self._study.circuit)
        return self._watched(claim)

    def _setting(self, planner: Callable[[ProofScope], Plan], budget: Meter | None = None) -> Setting:
        meter = (budget or self._claim).part(self._limits.states)
        return Setting(self.program, self._study.assumptions, planner, meter, self._grown)

    # What can be watched in a run

    def _watched(self, claim: Claim) -> Outcome:
        """First what is quick, and then as long a walk as the budget lasts."""
        quickly = self._broken_by_few(claim) if self.program.moving else self._soon(claim)
        if quickly is not None:
            return quickly
        for planner in (cut, uncut):
            try:
                walk = self._walk(claim, planner, self._claim)
            except TOO_LARGE:
                if planner is uncut:
                    raise
                continue
            if walk.outcome is not None:
                return walk.outcome
            if walk.spurious:
                continue  # what the cuts added is left out the next time
            solved = None if walk.meter.full else self._solved(claim, walk)
            return solved or undecided(claim, walk.proof)
        raise AssertionError("what is explored without a cut is what the engine does")

    def _walk(self, claim: Claim, planner: Callable[[ProofScope], Plan], budget: Meter) -> _Walk:
        """Explores with the cuts of one planner. Raises what `TOO_LARGE` lists."""
        setting = self._setting(planner, budget)
        exploration = Exploration(setting, claim.body)
        result = exploration.run()
        proof = Proof(result.states, result.depth, result.complete, limit=result.limit)
        outcome = None
        if result.counterexample is not None:
            outcome = self._traces.broken(claim, result.counterexample, proof)
        if outcome is None and result.led_there is not None:
            outcome = self._traces.refused(claim, result.led_there, proof)
        if outcome is None and result.complete:
            outcome = self._proved(claim, proof, result.triggered)
        spurious = outcome is None and result.counterexample is not None
        return _Walk(outcome, proof, spurious, exploration, setting.meter)

    def _soon(self, claim: Claim) -> Outcome | None:
        """What a short walk, or the formula that keeps no order, makes of a claim; None if nothing."""
        if self._limits.states <= SHORT_WALK:
            return None
        proof, triggered = Proof(0, 0, False), False
        try:
            walk = self._walk(claim, cut, self.budget.part(SHORT_WALK))
        except TOO_LARGE:
            pass
        else:
            if walk.outcome is not None or walk.spurious or walk.meter.full:
                return walk.outcome
            proof, triggered = walk.proof, walk.exploration.watch.triggered
        return self._by_formula(claim, proof, triggered)

    def _broken_by_few(self, claim: Claim) -> Outcome | None:
        """A counterexample with few changes of inputs; None if none was found."""
        if are_few(self._study.assumptions):
            return None
        for search in SEARCHES:
            try:
                found, finished = self._search(claim, search)
            except (*TOO_LARGE, OverBudget):
                return None
            if found is not None or not finished:
                return found
            self._none_by_few = True
        return None

    def _search(self, claim: Claim, search: FewChanges) -> tuple[Outcome | None, bool]:
        """A counterexample with few changes of inputs, and whether all that they can lead to was seen."""
        assumptions = (*self._study.assumptions, *few_changes(self.program, search))
        meter = self._claim.part(min(self._limits.states, search.budget))
        result = Exploration(Setting(self.program, assumptions, cut, meter, self._grown), claim.body).run()
        if result.counterexample is None:
            return None, result.complete
        proof = Proof(result.states, result.depth, False, shortest=False)
        return self._traces.broken(claim, result.counterexample, proof), False

    def _by_formula(self, claim: Claim, proof: Proof, triggered: bool) -> Outcome | None:
        """What the formula that keeps no order makes of a claim; None if nothing."""
        meter = self.budget.part(self._limits.states // 2, "for the formula")
        try:
            decided = self._proved_by(deadline_at_rest, claim, meter.part(self._limits.states // 6)) or self._proved_by(
                proved_by_depth, claim, self.budget.part(self._limits.states)
            )
            if decided is None and is_deep(self.program, named(self.program, claim.body), self._study.assumptions):
                broken = self._broken_by_chance(claim, proof)
                if broken is not None:
                    return broken
            decided = (
                decided
                or self._proved_by(proved_of_little, claim, self.budget.part(self._limits.states // 4))
                or decide(self.program, claim.body, self._study.assumptions, meter)
            )
            if decided.proved and not triggered:
                triggered = self._triggers(claim, meter)
        except (*TOO_LARGE, OverBudget):
            return None
        self._far = decided
        proof = replace(proof, solver=solver.NAME, clauses=decided.clauses, depth=decided.depth, parts=decided.parts)
        if decided.proved:
            return self._proved(claim, replace(proof, complete=True, limit=""), triggered)
        if decided.run is None or not allowed(as_check(claim, decided.run), self._study.assumptions):
            return None
        return self._traces.broken(claim, decided.run, proof)

    def _broken_by_chance(self, claim: Claim, proof: Proof) -> Outcome | None:
        """What a run at random that breaks a claim makes of it; None if none was found."""
        meter = self.budget.part(self._limits.states // 4)
        try:
            run = broken_by_chance(self.program, claim.body, self._study.assumptions, meter)
        except (*TOO_LARGE, OverBudget):
            return None
        if run is None or not allowed(as_check(claim, run), self._study.assumptions):
            return None
        return self._traces.broken(claim, run, replace(proof, shortest=False))

    def _proved_by(self, way: WayToProve, claim: Claim, meter: Meter) -> Decided | None:
        """The proof of a claim in one way; None if there is none."""
        try:
            return way(self.program, claim.body, self._study.assumptions, meter)
        except (*TOO_LARGE, OverBudget):
            return None

    def _triggers(self, claim: Claim, meter: Meter) -> bool:
        """Whether what a claim refers to comes up in some run. Raises OverBudget where that is not decided."""
        trigger = trigger_of(claim.body)
        assumptions = self._study.assumptions
        if trigger is None or comes_up(self.program, trigger, assumptions, meter):
            return True
        if decide(self.program, Invariant(Not(trigger)), assumptions, meter).proved:
            return False
        raise OverBudget("no run was found in which its trigger occurs")

    def _solved(self, claim: Claim, walk: _Walk) -> Outcome | None:
        """What a SAT solver makes of what a walk could not finish; None if it is not asked."""
        if not self._solving:
            return None
        proof, explored = walk.proof, walk.exploration
        try:
            walk.meter.renew(self._limits.states, f"for {solver.NAME}", self.budget)
            solved = solver.solve(explored.space, explored.watch, explored.questions, walk.meter)
        except (*TOO_LARGE, OverBudget) as large:
            limit = f"{proof.limit}; for {solver.NAME} it is too large as well: {said(large)}"
            return undecided(claim, replace(proof, limit=limit))
        if solved.proved:
            proof = replace(proof, complete=True, depth=solved.depth, limit="", solver=solver.NAME)
            return self._proved(claim, proof, triggered=True)
        if solved.counterexample is not None and allowed(
            as_check(claim, solved.counterexample), self._study.assumptions
        ):
            broken = self._traces.broken(claim, solved.counterexample, replace(proof, solver=solver.NAME))
            if broken is not None:
                return broken
        return undecided(claim, replace(proof, limit=f"{proof.limit}; {solver.NAME}: {solved.limit}"))

    def _proved(self, claim: Claim, proof: Proof, triggered: bool) -> Outcome:
        if not triggered:
            nothing = "under the assumptions no input can ever change: " if self._nothing_can_happen() else ""
            detail = f"{nothing}its trigger never occurs"
            return Outcome(claim.title, claim.span, Verdict.VACUOUS, detail=detail, proof=proof)
        if claim.fails_because:
            detail = f"the file says it fails because of {claim.fails_because}"
            return Outcome(claim.title, claim.span, Verdict.HOLDS_AGAINST_WORD, detail=detail, proof=proof)
        detail = "under the assumptions no input can ever change" if self._nothing_can_happen() else ""
        if self._burning_out and not isinstance(claim.body, Unburnt | ForEver):
            burn_outs, open_ = self.burning.behind(claim)
            proof = replace(proof, burn_outs=burn_outs, burn_outs_open=open_)
        return Outcome(claim.title, claim.span, Verdict.PROVED, detail=detail, proof=proof)

    def _nothing_can_happen(self) -> bool:
        inputs = any(device.part.verbs for device in self.program.devices)
        return inputs and any(isinstance(each, RateLimit) and each.most == 0 for each in self._study.assumptions)

    # What refers to all runs together

    def _possible(self, claim: Claim, body: Possible) -> Outcome:
        for planner in (cut, uncut):
            try:
                reach = Possibility(self._setting(planner), body.condition, body.rest).run()
            except TOO_LARGE:
                if planner is uncut:
                    raise
                continue
            proof = Proof(reach.states, reach.depth, not reach.limit, limit=reach.limit, within=reach.farthest)
            if reach.possible:
                there = reach.trace or []
                proof = replace(proof, trace=acts_of(there), back=acts_of(reach.back or []), back_from=len(there))
                return self._proved(claim, proof, triggered=True)
            if planner is uncut and reach.trace is not None:
                trace = acts_of(reach.trace)
                if comes_about(self._study.circuit, body, trace, self._study.assumptions):
                    return undecided(claim, replace(proof, trace=trace, limit=BURNT_BEFORE))
                outcome = self._traces.shown(claim, reach.trace, proof, self._quiet, AFTERWARDS)
                burn_outs, open_ = self.burning.behind(claim)
                return replace(outcome, detail=UNTIL_BURNT) if burn_outs or open_ else outcome
            if reach.limit:
                return undecided(claim, proof)
        raise AssertionError("without cuts, what is not possible has a trace to it")

    def _for_ever(self, claim: Claim, body: ForEver) -> Outcome:
        """What is to hold meanwhile can be watched in a run; that it comes can't."""
        if isinstance(body, Eventually) and body.meanwhile is not None:
            until = Until(body.trigger, body.meanwhile, body.goal)
            meanwhile = self._watched(claim._replace(body=until))
            if meanwhile.verdict is not Verdict.PROVED:
                return meanwhile
        budget, states = self.budget, self._limits.states
        endless = EndlessProver(self._study, self.program, self.burning, self._setting, budget, states)
        try:
            known = endless.known(claim, body)
        finally:
            self._far = endless.far
        if known.gone is not None:
            return self._traces.gone_round(claim, known.gone, known.proof)
        if not known.proved:
            return undecided(claim, known.proof)
        outcome = self._proved(claim, known.proof, known.triggered)
        return replace(outcome, detail=known.why_vacuous) if known.why_vacuous else outcome

    def _unraced(self, claim: Claim, body: Unraced) -> Outcome:
        raced = Races(self._setting(uncut), body.names).run()
        proof = Proof(raced.states, raced.depth, raced.complete, limit=raced.limit)
        if raced.trace is None:
            return undecided(claim, proof) if raced.limit else self._proved(claim, proof, triggered=True)
        race = dispute(self._study.circuit, as_check(claim, raced.trace), raced.name)
        if race is None:
            return undecided(claim, replace(proof, trace=acts_of(raced.trace), limit=BURNT_BEFORE))
        outcome = replace(self._traces.shown(claim, raced.trace, proof, self._study.circuit), race=race)
        if outcome.verdict is Verdict.FAILS:
            detail = f"what '{raced.name}' is then depends on an order that only the build decides (C5)"
            outcome = replace(outcome, verdict=Verdict.RACE, detail=detail)
        return outcome

    def _unburnt(self, claim: Claim, body: Unburnt) -> Outcome:
        """A torch that can be burnt out is shown; one that can't be is safe only if no other burns out before."""
        states = 0
        for name in body.names:
            span = self.burning.span(name, self._claim)
            states += span.states
            if span.limit:
                return undecided(claim, Proof(states, 0, False, limit=span.limit))
            if span.trace is not None:
                proof = Proof(states, len(span.trace) - 1, False)
                if not self.burning.burns(name, span.trace):
                    return undecided(claim, replace(proof, limit=BURNT_BEFORE))
                return self._traces.shown(claim, span.trace, proof, self._study.circuit)
        proof = Proof(states, 0, True)
        others, open_ = self.burning.behind(claim, but=body.names)
        if others or open_:
            limit = f"it can't be burnt out before '{others[0].torch if others else open_[0]}' is, if that can be (T4)"
            return undecided(claim, replace(proof, complete=False, limit=limit))
        return self._proved(claim, proof, triggered=True)
