"""Runs of every netlist of some kinds at once, as clauses over who powers whom.

A run is given by what is worked and when. What the rules leave open in it may be chosen to suit the netlist: so the
clauses leave out only netlists that break what is asked whatever happens. How it starts may be chosen as well, or is
given: since a circuit may start in each way in which it rests (rule C6), all must be kept from each.

The rules here are those without burn-out (T4). Where no torch may burn out, their offs are counted: until the eighth
within the window nothing is otherwise, and with it the netlist is refuted.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from circuitcheck.certificate.claim_rules import broken, holds
from circuitcheck.certificate.gates import Latch, needed
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.checks.allowed import allowed
from circuitcheck.designing.open_system import Bit, OpenSystem
from circuitcheck.model.claims import Assumption, Atom, Check, Claim, Condition, Expectation, Watched
from circuitcheck.model.rules import BURN_OUT_COUNT
from circuitcheck.prove.symbolic.formula import FALSE, TRUE, Formula

WORKED = " is worked"
ON = " is on"
SHIFTED = ""
"""The reader, as it were, of the bits that say by how many gt all outputs come later: one for each shift."""


class Stimulus(NamedTuple):
    """What is worked in a run, and when: so that of equal runs one is looked at."""

    worked: frozenset[tuple[int, str]]
    gt: int
    """How many gt it lasts."""
    check: int | None = None
    """The place of the check that it is the run of; none for a run that breaks a claim."""
    start: frozenset[str] | None = None
    """What is on before anything is worked: then it is asked of netlists that rest so. None leaves that open."""
    shown: tuple[tuple[bool, ...], ...] = ()
    """Of each output that must be as it was: whether it was on before all, and at the end of each gt."""


class Asked(NamedTuple):
    """What must hold of the circuit, and what is assumed of the world."""

    checks: tuple[Check, ...]
    claims: tuple[Claim, ...]
    assumptions: tuple[Assumption, ...]
    unburnt: bool = False
    """Whether no torch that is searched for may burn out."""
    outputs: tuple[str, ...] = ()
    """What must be as it was in each run that says how that is."""
    shifts: tuple[int, ...] = ()
    """By how many gt all of that may come later; less than 0 for earlier."""


class Unrolling:
    """Makes the clauses of runs."""

    def __init__(self, system: OpenSystem, asked: Asked) -> None:
        self._asked = asked
        self._rests = system.rests()
        self._claims = _watched(system, asked.claims)
        self._throughout = [_watched(system, check.throughout) for check in asked.checks]
        self._expected = [[_held(system, each.condition) for each in check.expectations] for check in asked.checks]
        self._outputs = [_held(system, Atom(name)) for name in asked.outputs]
        self._gates = system.gates
        self._latches, self._constraints = system.kept(), system.constraints()
        self._bits = {bit: literal >> 1 for bit, literal in system.bits.items()}
        wanted = [self._rests, *self._constraints, *(latch.then for latch in self._latches)]
        wanted += [each for row in (*self._expected, self._outputs) for each in row if each is not None]
        kept = needed(system.gates, wanted)
        self._ands = [(gate, *between) for gate, between in system.gates.ands.items() if gate in kept]
        self._window = system.wired.circuit.rules.burn_out_window
        names = {f"{torch}{ON}" for torch in system.torches} if asked.unburnt and self._window else set()
        self._torches = [place for place, latch in enumerate(self._latches) if latch.name in names]

    def write(self, stimulus: Stimulus, formula: Formula, bits: Mapping[Bit, int]) -> None:
        """Adds the clauses of a run: something is possible in it under which all that is asked of it holds.

        `bits` are the variables of who powers whom.
        """
        latches = self._latches
        fixed = {0: FALSE, **{variable: bits[bit] for bit, variable in self._bits.items()}}
        state = [self._first(formula, latch, stimulus.start) for latch in latches]
        held: list[list[int]] = []
        given: list[list[int]] = []
        check = stimulus.check
        expected = self._expected[check] if check is not None else []
        otherwise = FALSE
        offs = {place: [FALSE] * BURN_OUT_COUNT for place in (self._torches if self._counts(check) else ())}
        for gt in range(stimulus.gt):
            values = self._step(formula, {**fixed, **self._given(state, stimulus, gt)})
            if not gt:
                rests = _of(values, self._rests)
                if stimulus.start is None:
                    formula.add(rests)
                else:
                    otherwise = -rests
            for each in self._constraints:
                formula.add(otherwise, _of(values, each))
            held.append([TRUE if each is None else _of(values, each) for each in expected])
            given.append([_of(values, each) for each in self._outputs if each is not None])
            before, state = state, [_of(values, latch.then) for latch in latches]
            if gt >= stimulus.gt - 1 - self._window:
                for place, row in offs.items():
                    offs[place] = _counted(formula, formula.both(before[place], -state[place]), row)
        for row in offs.values():
            formula.add(otherwise, -row[-1])
        ends = dict(zip((latch.literal for latch in latches), state, strict=True))
        for ever in self._unbroken(check):
            formula.add(otherwise, -ends[ever])
        if check is not None:
            _expect(formula, self._asked.checks[check].expectations, held, otherwise)
        if stimulus.shown:
            self._as_shown(formula, stimulus, bits, given, otherwise)

    def _as_shown(
        self,
        formula: Formula,
        stimulus: Stimulus,
        bits: Mapping[Bit, int],
        given: Sequence[Sequence[int]],
        otherwise: int,
    ) -> None:
        """With each shift the outputs are as they are shown, so much later."""
        known = [levels for levels, each in zip(stimulus.shown, self._outputs, strict=True) if each is not None]
        for shift in self._asked.shifts:
            for gt, row in enumerate(given):
                at = max(gt + 1 - shift, 0)  # what is shown begins with what was before all
                for literal, levels in zip(row, known, strict=True):
                    if at < len(levels):
                        formula.add(otherwise, -bits[SHIFTED, shift], literal if levels[at] else -literal)

    @staticmethod
    def _first(formula: Formula, latch: Latch, start: frozenset[str] | None) -> int:
        """How a bit is at the start."""
        if latch.reset is not None:
            return TRUE if latch.reset else FALSE
        if start is None or not latch.name.endswith(ON):
            return formula.fresh()
        return TRUE if latch.name.removesuffix(ON) in start else FALSE

    def _counts(self, check: int | None) -> bool:
        """Whether a torch that burns out in a run refutes a netlist: in one that the world is assumed to do."""
        return check is None or allowed(self._asked.checks[check], self._asked.assumptions)

    def _unbroken(self, check: int | None) -> list[int]:
        """What may not have been broken by the end of a run: claims count in a check that does what is assumed."""
        if check is None:
            return self._claims
        claims = self._claims if self._counts(check) else []
        return [*claims, *self._throughout[check]]

    def _given(self, state: Sequence[int], stimulus: Stimulus, gt: int) -> dict[int, int]:
        """What a step begins with, and what is worked in it."""
        values = {latch.literal >> 1: literal for latch, literal in zip(self._latches, state, strict=True)}
        for variable, name in self._gates.inputs.items():
            if name.endswith(WORKED):
                worked = (gt, name.removesuffix(WORKED)) in stimulus.worked
                values[variable] = TRUE if worked else FALSE
        return values

    def _step(self, formula: Formula, values: dict[int, int]) -> dict[int, int]:
        for variable in self._gates.inputs:
            if variable not in values:
                values[variable] = formula.fresh()
        for variable, low, high in self._ands:
            values[variable] = formula.choose(_of(values, low), _of(values, high), FALSE)
        return values


def _counted(formula: Formula, off: int, row: Sequence[int]) -> list[int]:
    """Of how many offs there have been, that it is at least one, at least two, and so on: with one more, if it is."""
    return [formula.choose(off, fewer, each) for fewer, each in zip((TRUE, *row), row, strict=False)]


def _of(values: Mapping[int, int], literal: int) -> int:
    value = values[literal >> 1]
    return -value if literal & 1 else value


def _expect(
    formula: Formula, expectations: Iterable[Expectation], held: Sequence[Sequence[int]], otherwise: int
) -> None:
    for place, each in enumerate(expectations):
        when = [held[gt][place] for gt in range(each.start, min(each.end, len(held)))]
        if each.eventually:
            formula.add(otherwise, *when)
        else:
            for literal in when:
                formula.add(otherwise, literal)


def _watched(system: OpenSystem, claims: Iterable[Claim]) -> list[int]:
    """Of each claim that a run can break, and may not: it has been broken."""
    found = []
    for claim in claims:
        if isinstance(claim.body, Watched) and not claim.fails_because:
            try:
                found.append(broken(system, claim.body))
            except Uncertified:
                continue  # it is left to the prover alone, which has the last word on every netlist
    return found


def _held(system: OpenSystem, condition: Condition) -> int | None:
    try:
        return holds(system, condition)
    except Uncertified:
        return None


def worked_in(check: Check, on: Iterable[str]) -> frozenset[tuple[int, str]]:
    """What is worked in a check: a press, a throw, or a change of what stays. `on` is what is on before.

    Raises Uncertified where one gt works an input more than once.
    """
    state = set(on)
    found: set[tuple[int, str]] = set()
    for act in sorted(check.acts, key=lambda each: each.at):
        if (act.at, act.name) in found:
            raise Uncertified(f"'{act.name}' is worked twice in one gt")
        if act.verb == "press":
            found.add((act.at, act.name))
        elif act.verb == "throw" or (act.name in state) != (act.verb == "on"):
            state ^= {act.name}
            found.add((act.at, act.name))
    return frozenset(found)
