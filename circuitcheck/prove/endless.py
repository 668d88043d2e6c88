"""From a search for runs without end to what is known of a claim about them: proved, broken by a lasso, or open.

The search leaves burn-out (rule T4) aside. A lasso is therefore gone again by the engine on the circuit as it is. And
where no run breaks the claim, but the world can burn out a torch that has a say in it, the circuit is left alone after
that: if what is owed then never comes, that is the answer. Otherwise the circuit is explored once more, with the offs
of its torches as part of each state; where that is too much, the claim is open.

After a short walk the formula that keeps no order is asked (`prove.symbolic.unending`), and the walk goes on only where
that decides nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.checks.allowed import allowed
from circuitcheck.checks.proof import Proof
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.program import Program
from circuitcheck.model.claims import (
    Act,
    AnyOf,
    Claim,
    Condition,
    Eventually,
    ForEver,
    Invariant,
    Not,
    RateLimit,
    Recurring,
    Resting,
    Study,
)
from circuitcheck.prove import solver
from circuitcheck.prove.burnt_torches import TOO_LARGE, Burning, as_check
from circuitcheck.prove.compose import Stimulus
from circuitcheck.prove.cut import Plan, ProofScope, cut, uncut
from circuitcheck.prove.forever import Endless, ForEverSearch, Lasso
from circuitcheck.prove.lasso import GoneRound, gone_round
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.piece import Deed
from circuitcheck.prove.space import Setting
from circuitcheck.prove.symbolic.decide import decide
from circuitcheck.prove.symbolic.unending import Unending, decide_unending
from circuitcheck.prove.wander import comes_up

UNFAIR = "no run keeps to what it takes to hold again and again"
BURNT_THEN = "it holds as long as no torch burns out (T4); runs after a burn-out were not explored"
SHORT_WALK = 12_000
"""How many states are explored before the formula is asked: about half a second."""
BURNT_ROUND = "the round found burns out a torch (T4), and ends there; others were not searched for"


Exploring = Callable[[Callable[[ProofScope], Plan], Meter | None], Setting]
"""Makes what exploring needs, of how the circuit is cut and of a budget, if it is not the claim's."""


class Known(NamedTuple):
    """What is known of a claim; neither proved nor with a lasso, it is open."""

    proof: Proof
    proved: bool
    triggered: bool = True
    gone: GoneRound | None = None
    why_vacuous: str = ""


class EndlessProver:
    """Claims about runs without end of one study.

    `quiet` is its circuit without burn-out, wired up; `setting` makes what exploring needs of how the circuit is cut;
    `states` is how many may be looked at for one claim, out of a budget that all claims share.
    """

    def __init__(
        self, study: Study, quiet: Program, burning: Burning, setting: Exploring, budget: Meter, states: int
    ) -> None:
        self._program = Program(study.circuit)
        self._quiet = quiet
        self._assumptions = study.assumptions
        self._burning = burning
        self._setting = setting
        self._budget = budget
        self._states = states
        self.far: Unending | None = None
        """How far the formula came, where it decided nothing."""

    def known(self, claim: Claim, body: ForEver) -> Known:
        """What is known of a claim. Raises what `TOO_LARGE` lists."""
        soon = None if self._program.moving else self._soon(claim, body)
        return soon or self._walked(claim, body)

    def _soon(self, claim: Claim, body: ForEver) -> Known | None:
        """What a short walk makes of a claim, or the formula that keeps no order; None if nothing."""
        if self._states <= SHORT_WALK:
            return None
        try:
            short = ForEverSearch(self._setting(cut, self._budget.part(SHORT_WALK)), body).run()
        except TOO_LARGE:
            short = Endless(0, 0, None, False, True, "too large")
        known = self._of_walk(claim, body, short)
        gone = known is not None and known.gone is not None
        return self._by_formula(claim, body, short) if short.limit and not gone else known

    def _by_formula(self, claim: Claim, body: ForEver, short: Endless) -> Known | None:
        """What the formula makes of a claim; None if nothing, and if the engine does not go its lasso."""
        meter = self._budget.part(2 * self._states, "for the formula")
        try:
            found = decide_unending(self._quiet, body, self._assumptions, meter)
            if found.lasso is not None:
                gone = self._gone(body, found.lasso)
                return gone and Known(Proof(short.states, short.depth, False, solver=solver.NAME), False, gone=gone)
            if not found.proved:
                self.far = found
                return None
            triggered = short.triggered or self._triggers(body, meter)
            fair = not _given(body) or self._fair(body, meter)
        except (*TOO_LARGE, OverBudget) as large:
            self.far = Unending(False, limit=str(large))
            return None
        proof = Proof(short.states, found.depth, True, solver=solver.NAME, clauses=found.clauses, rounds=found.rounds)
        return self._unless_burnt(claim, body, Endless(short.states, found.depth, None, triggered, fair), proof)

    def _gone(self, body: ForEver, lasso: Lasso) -> GoneRound | None:
        """A lasso that the engine goes, where inputs keep to what is assumed of them round after round as well."""
        gone = gone_round(self._program, body, lasso)
        if gone is None:
            return None
        longest = max((each.within for each in self._assumptions if isinstance(each, RateLimit)), default=0)
        rounds = gone.lasso.round * (2 + longest // len(gone.lasso.round))
        check = as_check(Claim("", body, NOWHERE), [*gone.lasso.way, *rounds])
        return gone if allowed(check, self._assumptions) else None

    def _triggers(self, body: ForEver, meter: Meter) -> bool:
        """Whether anything is ever owed. Raises OverBudget where that is not decided."""
        if not isinstance(body, Eventually):
            return True
        if comes_up(self._quiet, body.trigger, self._assumptions, meter):
            return True
        if decide(self._quiet, Invariant(Not(body.trigger)), self._assumptions, meter).proved:
            return False
        raise OverBudget("no run was found in which its trigger occurs")

    def _fair(self, body: ForEver, meter: Meter) -> bool:
        """Whether any run keeps to what a claim takes to hold again and again. Raises OverBudget, as above."""
        never = Recurring(AnyOf(()), _given(body))
        found = decide_unending(self._quiet, never, self._assumptions, meter)
        if found.limit or (found.lasso is not None and self._gone(never, found.lasso) is None):
            raise OverBudget("no run was found that keeps to what the claim takes to hold again and again")
        return found.lasso is not None

    def _walked(self, claim: Claim, body: ForEver) -> Known:
        """What exploring makes of a claim, as long as the budget lasts. Raises what `TOO_LARGE` lists."""
        for planner in (cut, uncut):
            try:
                found = ForEverSearch(self._setting(planner, None), body).run()
            except TOO_LARGE:
                if planner is uncut:
                    raise
                continue
            known = self._of_walk(claim, body, found)
            if known is not None:
                return known
        proof = Proof(found.states, found.depth, False, limit=BURNT_ROUND)
        return self._with_burn_out(body) or Known(proof, False)

    def _of_walk(self, claim: Claim, body: ForEver, found: Endless) -> Known | None:
        """What a search comes to; None if it has found a lasso that the engine does not go."""
        proof = Proof(found.states, found.depth, not found.limit, limit=found.limit)
        if found.lasso is not None:
            gone = gone_round(self._program, body, found.lasso)
            if gone is not None:
                return Known(proof, False, gone=gone)
        if found.limit:
            return Known(proof, False)
        return self._unless_burnt(claim, body, found, proof) if found.lasso is None else None

    def _unless_burnt(self, claim: Claim, body: ForEver, found: Endless, proof: Proof) -> Known:
        if not (found.triggered and found.fair):
            return Known(proof, True, False, why_vacuous="" if found.fair else UNFAIR)
        burn_outs, open_ = self._burning.behind(claim)
        if not (burn_outs or open_):
            return Known(proof, True)
        for burn_out in burn_outs:
            lasso = Lasso(_stimulus(burn_out.acts, burn_out.at), [[]])
            gone = gone_round(self._program, body, lasso)
            if gone is not None:
                return Known(proof, False, gone=gone)
        return self._with_burn_out(body) or Known(replace(proof, complete=False, limit=BURNT_THEN), False)

    def _with_burn_out(self, body: ForEver) -> Known | None:
        """What exploring the circuit with the offs of its torches comes to; None where that is too much."""
        try:
            found = ForEverSearch(self._setting(uncut, None)._replace(program=self._program), body).run()
        except TOO_LARGE:
            return None
        proof = Proof(found.states, found.depth, not found.limit)
        if found.limit:
            return None
        if found.lasso is None:
            return Known(proof, True)
        gone = gone_round(self._program, body, found.lasso)
        return gone and Known(proof, False, gone=gone)


def _given(body: ForEver) -> tuple[Condition, ...]:
    """What a claim takes to hold again and again."""
    return () if isinstance(body, Resting) else body.given


def _stimulus(acts: Iterable[Act], at: int) -> Stimulus:
    """Acts as what is done in each gt from 0 to `at`."""
    found: Stimulus = [[] for _ in range(at + 1)]
    for act in acts:
        found[act.at].append(Deed(act.name, act.verb, act.level))
    return found
