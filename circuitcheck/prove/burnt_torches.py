"""Which torches the world can burn out, of those with a say in a claim: a proof holds until one does.

Claims are explored on the circuit without burn-out (rule T4), whose history would make the states many times more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from circuitcheck.checks.proof import BurnOut
from circuitcheck.checks.run import GivenUp, Notebook, run_check
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine.orders import TooManyOrders
from circuitcheck.engine.program import Program
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.engine.work import Undecided
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.claims import Act, Check, Claim, Possible, Resting, Unburnt, atoms, conditions
from circuitcheck.model.rules import NO_BURN_OUT
from circuitcheck.prove.burn_out import LeastSpan, least_span
from circuitcheck.prove.compose import PieceTooLarge, Stimulus
from circuitcheck.prove.cut import Plan, ProofScope, cone, cut, uncut
from circuitcheck.prove.interleavings import TooMuch
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.space import Setting, seen_by

BURN_OUT_BUDGET = 50_000
"""How many are looked at, at most, to see whether a torch can burn out before a claim is done with."""

TOO_LARGE = (PieceTooLarge, TooMuch, TooManyStarts, TooManyOrders, Undecided, GivenUp)

Planned = Callable[[Callable[[ProofScope], Plan], Meter], Setting]
"""Makes what exploring needs, of how the circuit is cut and of a budget."""


class Burning:
    """The torches of one circuit; `program` is the circuit without burn-out, wired up."""

    def __init__(self, circuit: Circuit, program: Program, setting: Planned, budget: Meter) -> None:
        self._circuit = circuit
        self._program = program
        self._setting = setting
        self._budget = budget
        self._found: dict[str, BurnOut | None] = {}
        self._open: set[str] = set()

    def burn_out(self, torch: str) -> BurnOut | None:
        """How the world can burn a torch out, if it can, and if that was found within the budget."""
        if torch not in self._found:
            try:
                span = self.span(torch, self._budget.part(BURN_OUT_BUDGET))
            except TOO_LARGE:
                span = None
            if span is None or span.limit:
                self._open.add(torch)
            found = None
            if span is not None and span.trace is not None and span.span is not None:
                acts = as_check(Claim("", Unburnt((torch,)), NOWHERE), span.trace).acts
                found = BurnOut(torch, len(span.trace) - 1, span.span, acts)
            self._found[torch] = found
        return self._found[torch]

    def span(self, torch: str, budget: Meter) -> LeastSpan:
        """The least time in which the world can have a torch go off eight times. Raises what exploring raises."""
        window = self._circuit.rules.burn_out_window
        span = least_span(self._setting(cut, budget), torch, window)
        if span.trace is None or self.burns(torch, span.trace):
            return span
        return least_span(self._setting(uncut, budget), torch, window)

    def burns(self, torch: str, trace: Stimulus) -> bool:
        """Whether the simulator burns the torch out on this trace, in one order at least."""
        program = Program(self._circuit)
        notebook = Notebook()
        run_check(program, starts(program), as_check(Claim("", Unburnt((torch,)), NOWHERE), trace), (), notebook)
        return (program.number[torch], "T4") in notebook.first

    def behind(self, claim: Claim, but: Sequence[str] = ()) -> tuple[tuple[BurnOut, ...], tuple[str, ...]]:
        """The torches with a say in a claim that the world can burn out, and those of which it was not decided."""
        asked = [atom for condition in conditions(claim.body) for atom in atoms(condition)]
        devices: Iterable[int] = (device for atom in asked for device, _ in seen_by(atom, self._program))
        if isinstance(claim.body, Resting) or (isinstance(claim.body, Possible) and claim.body.rest):
            devices = range(len(self._program.devices))
        behind = [self._program.devices[device].part for device in cone(self._program, devices)]
        torches = [part.name for part in behind if part.burns_out and part.name not in but]
        found = [burn_out for name in torches if (burn_out := self.burn_out(name)) is not None]
        open_ = tuple(name for name in torches if name in self._open)
        return tuple(sorted(found, key=lambda each: (each.span, each.at))), open_


def as_check(claim: Claim, trace: Stimulus, after: int = 0) -> Check:
    """A trace as a check of a claim's title, which goes on for some gt after its end."""
    return Check(claim.title, acts_of(trace), (), (), len(trace) - 1 + after, claim.span)


def acts_of(trace: Stimulus) -> tuple[Act, ...]:
    """What is done from outside in a trace, as a check has it."""
    return tuple(
        Act(at, action.name, action.verb, action.level, NOWHERE)
        for at, actions in enumerate(trace)
        for action in actions
    )


def quiet(circuit: Circuit) -> Circuit:
    """The circuit under rules without burn-out."""
    return replace(circuit, rules=replace(circuit.rules, burn_out_window=NO_BURN_OUT))
