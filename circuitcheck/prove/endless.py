"""From a search for runs without end to what is known of a claim about them: proved, broken by a lasso, or open.

The search leaves burn-out (rule T4) aside. A lasso is therefore gone again by the engine on the circuit as it is. And
where no run breaks the claim, but the world can burn out a torch that has a say in it, the circuit is left alone after
that: if what is owed then never comes, that is the answer. Otherwise the circuit is explored once more, with the offs
of its torches as part of each state; where that is too much, the claim is open.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import NamedTuple

from circuitcheck.checks.proof import Proof
from circuitcheck.engine.program import Program
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Act, Claim, ForEver
from circuitcheck.prove.burnt_torches import TOO_LARGE, Burning
from circuitcheck.prove.compose import Stimulus
from circuitcheck.prove.cut import Plan, ProofScope, cut, uncut
from circuitcheck.prove.forever import Endless, ForEverSearch, Lasso
from circuitcheck.prove.lasso import GoneRound, gone_round
from circuitcheck.prove.piece import Deed
from circuitcheck.prove.space import Setting

UNFAIR = "no run keeps to what it takes to hold again and again"
BURNT_THEN = "it holds as long as no torch burns out (T4); runs after a burn-out were not explored"
BURNT_ROUND = "the round found burns out a torch (T4), and ends there; others were not searched for"


class Known(NamedTuple):
    """What is known of a claim; neither proved nor with a lasso, it is open."""

    proof: Proof
    proved: bool
    triggered: bool = True
    gone: GoneRound | None = None
    why_vacuous: str = ""


class EndlessProver:
    """Claims about runs without end of one circuit; `setting` makes what exploring needs of how the circuit is cut."""

    def __init__(
        self, circuit: Circuit, burning: Burning, setting: Callable[[Callable[[ProofScope], Plan]], Setting]
    ) -> None:
        self._program = Program(circuit)
        self._burning = burning
        self._setting = setting

    def known(self, claim: Claim, body: ForEver) -> Known:
        """What is known of a claim. Raises what `TOO_LARGE` lists."""
        for planner in (cut, uncut):
            try:
                found = ForEverSearch(self._setting(planner), body).run()
            except TOO_LARGE:
                if planner is uncut:
                    raise
                continue
            proof = Proof(found.states, found.depth, not found.limit, limit=found.limit)
            if found.limit:
                return Known(proof, False)
            if found.lasso is None:
                return self._unless_burnt(claim, body, found, proof)
            gone = gone_round(self._program, body, found.lasso)
            if gone is not None:
                return Known(proof, False, gone=gone)
            if planner is uncut:
                return self._with_burn_out(body) or Known(replace(proof, complete=False, limit=BURNT_ROUND), False)
        raise AssertionError("what is explored without a cut is what the engine does")

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
            found = ForEverSearch(self._setting(uncut)._replace(program=self._program), body).run()
        except TOO_LARGE:
            return None
        proof = Proof(found.states, found.depth, not found.limit)
        if found.limit:
            return None
        if found.lasso is None:
            return Known(proof, True)
        gone = gone_round(self._program, body, found.lasso)
        return gone and Known(proof, False, gone=gone)


def _stimulus(acts: Iterable[Act], at: int) -> Stimulus:
    """Acts as what is done in each gt from 0 to `at`."""
    found: Stimulus = [[] for _ in range(at + 1)]
    for act in acts:
        found[act.at].append(Deed(act.name, act.verb, act.level))
    return found
