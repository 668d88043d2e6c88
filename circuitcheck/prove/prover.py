"""From claims to verdicts: proved, broken with a way that the simulator has run again, or undecided.

Claims are explored on the circuit without burn-out (rule T4), whose history would make the states many times more.
Which torches the world can burn out is found apart (`prove.burn_out`), and said: until then the claim holds. That is
exact, since a first burn-out has a past without one.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from circuitcheck.checks.judge import replayed, shown
from circuitcheck.checks.outcome import BurnOut, Outcome, Proof, Verdict
from circuitcheck.checks.run import Notebook, run_check
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.machine import Machine
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.step import TooManyStates
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import (
    Act,
    Assumption,
    Check,
    Claim,
    Possible,
    Sparing,
    Study,
    Unburnt,
    Unraced,
    atoms,
    conditions,
)
from circuitcheck.model.parts.torch import Torch
from circuitcheck.model.rules import NO_BURN_OUT
from circuitcheck.prove.burn_out import Span, least_span
from circuitcheck.prove.compose import Deeds, PieceTooLarge
from circuitcheck.prove.cut import Plan, Sight, cone, cut, uncut
from circuitcheck.prove.explore import Exploration
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.possible import Possibility
from circuitcheck.prove.races import Races
from circuitcheck.prove.space import Setting, seen_by
from circuitcheck.prove.words import TooMuch

USUAL_BUDGET = 1_000_000
"""How many states are looked at for one claim, of the whole and of its pieces, before it is left undecided."""
USUAL_MEMORY = 4 << 30
"""How many bytes the process may hold while it explores."""
AFTERWARDS = 16
"""How many gt are shown after the gt from which something can't be brought about any more."""

TOO_LARGE = (PieceTooLarge, TooMuch, TooManyStarts, TooManyOrders, TooManyStates)


@dataclass(frozen=True, slots=True)
class Limits:
    """How much is looked at for one claim: states, and bytes of memory."""

    states: int = USUAL_BUDGET
    memory: int = USUAL_MEMORY

    def meter(self) -> Meter:
        """A fresh count."""
        return Meter(self.states, self.memory)


class Prover:
    """Proves the claims of one study.

    `leaning` has it look into which assumptions each proof leaned on, and which torches can burn out before.
    """

    def __init__(
        self,
        study: Study,
        limits: Limits,
        leaning: bool = True,
        grown: Callable[[int], None] = lambda states: None,
    ) -> None:
        self._study = study
        self._limits = limits
        self._leaning = leaning
        self._grown = grown
        self._quiet = quiet(study.circuit)
        self._machine = Machine(self._quiet)
        self._burn_outs: dict[str, BurnOut | None] = {}

    def prove(self, claim: Claim) -> Outcome:
        """The verdict on a claim."""
        begun = time.perf_counter()
        try:
            outcome = self._judged(claim)
        except TOO_LARGE as large:
            outcome = self._undecided(claim, Proof(0, 0, False, limit=_said(large)))
        if outcome.proof is not None:
            words = tuple(each.words for each in self._study.assumptions)
            proof = replace(outcome.proof, assumptions=words, seconds=time.perf_counter() - begun)
            outcome = replace(outcome, proof=proof)
        return outcome

    def _judged(self, claim: Claim) -> Outcome:
        if isinstance(claim.body, Possible):
            return self._possible(claim, claim.body)
        if isinstance(claim.body, Unraced):
            return self._unraced(claim, claim.body)
        if isinstance(claim.body, Unburnt):
            return self._unburnt(claim, claim.body)
        return self._watched(claim)

    def _setting(self, planner: Callable[[Sight], Plan], assumptions: Sequence[Assumption] | None = None) -> Setting:
        assumed = tuple(self._study.assumptions if assumptions is None else assumptions)
        return Setting(self._machine, assumed, planner, self._limits.meter(), self._grown)

    # What can be watched in a run

    def _watched(self, claim: Claim) -> Outcome:
        for planner in (cut, uncut):
            last = planner is uncut
            try:
                exploration = Exploration(self._setting(planner), claim.body)
                result = exploration.run()
            except TOO_LARGE:
                if last:
                    raise
                continue
            proof = Proof(result.states, result.depth, result.complete, limit=result.limit)
            if result.way is not None:
                broken = self._broken(claim, result.way, proof)
                if broken is not None:
                    return broken
            elif result.complete:
                return self._proved(claim, proof, result.triggered)
            else:
                return self._undecided(claim, proof)
        raise AssertionError("what is explored without a cut is what the engine does")

    def _proved(self, claim: Claim, proof: Proof, triggered: bool) -> Outcome:
        if not triggered:
            nothing = "under the assumptions no input can ever change: " if self._nothing_can_happen() else ""
            detail = f"{nothing}what it speaks of can never come up"
            return Outcome(claim.title, claim.span, Verdict.VACUOUS, detail=detail, proof=proof)
        if claim.fails_because:
            detail = f"the file says it fails because of {claim.fails_because}"
            return Outcome(claim.title, claim.span, Verdict.HOLDS_AGAINST_WORD, detail=detail, proof=proof)
        detail = "under the assumptions no input can ever change" if self._nothing_can_happen() else ""
        if self._leaning:
            proof = replace(proof, needed=self._needed(claim), burn_outs=self._burning(claim))
        return Outcome(claim.title, claim.span, Verdict.PROVED, detail=detail, proof=proof)

    def _nothing_can_happen(self) -> bool:
        inputs = any(device.part.verbs for device in self._machine.devices)
        return inputs and any(isinstance(each, Sparing) and each.most == 0 for each in self._study.assumptions)

    def _broken(self, claim: Claim, way: Deeds, proof: Proof) -> Outcome | None:
        """The verdict on a way found, run again by the simulator; None if it can't go so."""
        check = self._check(claim, way)
        proof = replace(proof, way=check.acts)
        outcome = replayed(self._study.circuit, claim, check)
        if outcome.verdict is not Verdict.UNBROKEN:
            return replace(outcome, proof=proof)
        if replayed(self._quiet, claim, check).verdict is Verdict.UNBROKEN:
            return None
        limit = "the shortest way to break it burns a torch out on the way (T4); longer ones were not looked for"
        return self._undecided(claim, replace(proof, limit=limit))

    @staticmethod
    def _check(claim: Claim, way: Deeds, after: int = 0) -> Check:
        acts = tuple(
            Act(at, deed.name, deed.verb, deed.level, NOWHERE) for at, deeds in enumerate(way) for deed in deeds
        )
        return Check(claim.title, acts, (), (), len(way) - 1 + after, claim.span)

    def _undecided(self, claim: Claim, proof: Proof) -> Outcome:
        return Outcome(claim.title, claim.span, Verdict.UNDECIDED, detail=proof.limit, proof=proof)

    def _needed(self, claim: Claim) -> tuple[str, ...] | None:
        """The assumptions without which the claim could not be proved."""
        assumed = self._study.assumptions
        found = []
        for left_out in assumed:
            rest = tuple(each for each in assumed if each is not left_out)
            try:
                result = Exploration(self._setting(cut, rest), claim.body).run()
            except TOO_LARGE:
                result = None
            if result is None or not result.complete:
                found.append(left_out.words)
        return tuple(found) if assumed else None

    # What speaks of all runs together

    def _possible(self, claim: Claim, body: Possible) -> Outcome:
        for planner in (cut, uncut):
            try:
                reach = Possibility(self._setting(planner), body.condition).run()
            except TOO_LARGE:
                if planner is uncut:
                    raise
                continue
            proof = Proof(reach.states, reach.depth, not reach.limit, limit=reach.limit, within=reach.farthest)
            if reach.possible:
                return (
                    self._proved(claim, proof, triggered=True)
                    if claim.fails_because
                    else Outcome(claim.title, claim.span, Verdict.PROVED, proof=proof)
                )
            if planner is uncut and reach.way is not None:
                check = self._check(claim, reach.way, AFTERWARDS)
                failure = shown(self._quiet, claim, check, len(reach.way) - 1)
                proof = replace(proof, way=check.acts)
                return Outcome(claim.title, claim.span, Verdict.FAILS, failure, proof=proof)
            if reach.limit:
                return self._undecided(claim, proof)
        raise AssertionError("without cuts, what is not possible has a way to it")

    def _unraced(self, claim: Claim, body: Unraced) -> Outcome:
        raced = Races(self._setting(uncut), body.names).run()
        proof = Proof(raced.states, raced.depth, raced.complete, limit=raced.limit)
        if raced.way is not None:
            check = self._check(claim, raced.way)
            proof = replace(proof, way=check.acts)
            failure = shown(self._quiet, claim, check, len(raced.way) - 1)
            detail = f"what '{raced.name}' is then hangs on an order that nothing decides (C5)"
            return Outcome(claim.title, claim.span, Verdict.RACE, failure, detail=detail, proof=proof)
        return self._undecided(claim, proof) if raced.limit else self._proved(claim, proof, triggered=True)

    def _unburnt(self, claim: Claim, body: Unburnt) -> Outcome:
        states = 0
        for name in body.names:
            span = self._span(name)
            states += span.states
            if span.limit:
                return self._undecided(claim, Proof(states, 0, False, limit=span.limit))
            if span.way is not None:
                check = self._check(claim, span.way)
                proof = Proof(states, len(span.way) - 1, False, way=check.acts)
                failure = shown(self._study.circuit, claim, check, len(span.way) - 1)
                return Outcome(claim.title, claim.span, Verdict.FAILS, failure, proof=proof)
        return Outcome(claim.title, claim.span, Verdict.PROVED, proof=Proof(states, 0, True))

    # Burn-out

    def burn_out(self, torch: str) -> BurnOut | None:
        """How the world can burn a torch out, if it can, and if that was found within the budget."""
        if torch not in self._burn_outs:
            try:
                span = self._span(torch)
            except TOO_LARGE:
                span = None
            found = None
            if span is not None and span.way is not None and span.span is not None:
                acts = self._check(Claim("", Unburnt((torch,)), NOWHERE), span.way).acts
                found = BurnOut(torch, len(span.way) - 1, span.span, acts)
            self._burn_outs[torch] = found
        return self._burn_outs[torch]

    def _span(self, torch: str) -> Span:
        window = self._study.circuit.rules.burn_out_window
        span = least_span(self._setting(cut), torch, window)
        if span.way is None or self._burns(torch, span.way):
            return span
        return least_span(self._setting(uncut), torch, window)

    def _burns(self, torch: str, way: Deeds) -> bool:
        """Whether the simulator burns the torch out on this way, in one order at least."""
        machine = Machine(self._study.circuit)
        notebook = Notebook()
        run_check(machine, starts(machine), self._check(Claim("", Unburnt((torch,)), NOWHERE), way), (), notebook)
        return (machine.number[torch], "T4") in notebook.first

    def _burning(self, claim: Claim) -> tuple[BurnOut, ...]:
        """The torches with a say in a claim that the world can burn out, the one that may be first to go first."""
        asked = [atom for condition in conditions(claim.body) for atom in atoms(condition)]
        devices = cone(self._machine, (device for atom in asked for device, _ in seen_by(atom, self._machine)))
        torches = [name for name in (self._machine.names[device] for device in devices) if self._is_torch(name)]
        found = [burn_out for name in torches if (burn_out := self.burn_out(name)) is not None]
        return tuple(sorted(found, key=lambda each: (each.span, each.at)))

    def _is_torch(self, name: str) -> bool:
        return isinstance(self._study.circuit.by_name[name], Torch)


def quiet(circuit: Circuit) -> Circuit:
    """The circuit under rules without burn-out."""
    return replace(circuit, rules=replace(circuit.rules, burn_out_window=NO_BURN_OUT))


def _said(large: Exception) -> str:
    if isinstance(large, TooManyStarts):
        return f"{large}: say how these start: {', '.join(large.names[:4])} (C6)"
    if isinstance(large, TooManyStates):
        return "unknown orders lead to too many states within one gt"
    return str(large) or "the circuit has too many states to write down"
