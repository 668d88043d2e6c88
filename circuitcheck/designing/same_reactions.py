"""Whether a changed circuit reacts as it did: both side by side, on the same inputs, as one circuit that is proved.

The circuit as it was stands beside the changed one, with all its parts but the inputs under other names. Of the two
together it is proved, over every state that they can reach, that no output differs from what it was at the end of any
gt. Neither reads anything of the other, so that each does in the pair exactly what it does alone; and as every open
order is tried in each of the two apart, what holds of the pair says that both react in one way only. So a circuit
whose reactions an open order decides is not even the same as itself, and is refused. Only actions of one gt come
to both in one order, since that is the world's. As every proof, it is of what happens as long as no torch burns out
(rule T4).

This is the product, or miter, in which two circuits are held to be equivalent (Brand, "Verification of Large
Synthesized Designs", ICCAD 1993; from memory), here of the exact simulation and not of Boolean functions.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from typing import Any, NamedTuple

from circuitcheck.checks.outcome import FAILING, Verdict
from circuitcheck.curing.trying import first_run_that_fails
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.engine import work
from circuitcheck.engine.program import Program, read
from circuitcheck.engine.start import TooManyStarts, starts
from circuitcheck.explain.circuit_reading import outputs_of
from circuitcheck.explain.compare import same_circuit
from circuitcheck.judging.door import proved, prover_of
from circuitcheck.model.circuit import Circuit, Output
from circuitcheck.model.claims import (
    AllOf,
    AnyOf,
    Atom,
    Body,
    Check,
    Claim,
    Condition,
    Delay,
    Invariant,
    Not,
    Steady,
    Study,
    Test,
)
from circuitcheck.model.parts.base import Part
from circuitcheck.model.rules import FULL_POWER
from circuitcheck.prove.meter import Limits

COPIED = ("torch", "repeater", "comparator", "lamp", "dust", "block", "latch")
"""The parts that can stand a second time beside what they were: they do nothing to one another but by power."""
INPUTS = ("lever", "button", "plate", "analogue", "sensor")
ON_OR_OFF = ("lamp", "torch", "repeater")
"""What gives full power or none."""
BEFORE = "before:"
"""What stands before the names of the circuit as it was: no name of a file has a colon."""
SHOWN = (Verdict.PROVED, Verdict.VACUOUS)
"""What a claim may come to that is proved; of one about what never occurs there is nothing to break."""
MOST_KEPT = 20
"""How many runs that told a changed circuit from what it was are tried first on the next."""


class Unlike(Exception):
    """Why two circuits can't be held side by side."""


class Pair(NamedTuple):
    """Two circuits as one."""

    study: Study
    """With what is claimed of it: that they react alike."""
    outputs: tuple[tuple[str, str], ...]
    """What gives each output in the first, and in the second."""


class Reactions:
    """What the circuits of a file's studies give out, which is to stay the same."""

    def __init__(self, studies: Sequence[Study], limits: Limits, most_shift: int = 0) -> None:
        """All outputs may be as they were so many gt later, or earlier.

        Raises Unlike where it is not proved of the circuits that they react in one way.
        """
        self._studies, self._limits = tuple(studies), limits
        self.shifts = tuple(sorted(range(-most_shift, most_shift + 1), key=lambda shift: (abs(shift), shift)))
        """By how many gt all may come later (less than 0 for earlier), in the order in which that is tried."""
        self._kept: list[list[Check]] = [[] for _ in studies]
        self._title = ""
        """The output of which it was last not proved that it is as it was."""
        self.steps = 0
        """How many states were looked at so far."""
        self.undecided = 0
        """Of how many changed circuits it was not decided whether they react as before."""
        self.last = 0
        """By how many gt those react later that were the same last; less than 0 for earlier."""
        if not studies:
            raise Unlike("it has no circuit of its own")
        for place, study in enumerate(studies):
            self._settle(study, place)
            if most_shift:
                _only_on_or_off(study.circuit, given_out(study.circuit))

    def _settle(self, study: Study, place: int) -> None:
        """Raises Unlike where a circuit is not the same as itself."""
        if not given_out(study.circuit):
            raise Unlike("nothing is given out, so nothing says what must stay so")
        pair = side_by_side(study, study).study
        try:
            if len(starts(Program(study.circuit))) > 1:
                raise Unlike("it may start in more than one way; say with 'starts' how it does")
        except (TooManyStarts, work.Undecided) as many:
            raise Unlike(str(many)) from None
        verdict = self._verdict(pair, place)
        if verdict in FAILING:
            raise Unlike(f"how {self._title} reacts depends on an order that only the build decides")
        if verdict not in SHOWN:
            undecided = f"whether {self._title} reacts in one way only is not decided within so many states"
            raise Unlike(f"{undecided}; give more with --states")

    def same(self, studies: Sequence[Study]) -> bool:
        """Whether changed circuits are proved to react just as those did, but for a shift if that is allowed."""
        if [each.label for each in studies] != [each.label for each in self._studies]:
            return False
        undecided = False
        for shift in self.shifts:
            verdict = self._all(studies, shift)
            if verdict in SHOWN:
                self.last = shift
                return True
            undecided = undecided or verdict not in FAILING
        self.undecided += undecided
        return False

    def _all(self, studies: Sequence[Study], shift: int) -> Verdict:
        """PROVED where all circuits react as before but for a shift; else what the first comes to that does not."""
        for place, (before, after) in enumerate(zip(self._studies, studies, strict=True)):
            unchanged = same_circuit(before.circuit, after.circuit) and before.assumptions == after.assumptions
            if unchanged and not shift:
                continue  # that it is the same as itself was proved to begin with
            try:
                pair = side_by_side(before, after, shift)
                program = Program(pair.study.circuit)
                every = starts(program)
            except Unlike:
                return Verdict.FAILS
            except (TooManyStarts, work.Undecided):
                return Verdict.UNDECIDED
            if len(every) > 1:
                return Verdict.OPEN_START
            levels = every[0].levels
            if any(
                read(program.probe(one), levels) != read(program.probe(other), levels) for one, other in pair.outputs
            ):
                return Verdict.FAILS
            verdict = self._verdict(pair.study, place)
            if verdict not in SHOWN:
                return verdict
        return Verdict.PROVED

    def _verdict(self, pair: Study, place: int) -> Verdict:
        """PROVED where every claim of a pair is; else what the first one comes to that is not."""
        kept = self._kept[place]
        for number, check in enumerate(kept):
            if first_run_that_fails(pair._replace(checks=(check,))) is not None:
                kept.insert(0, kept.pop(number))
                return Verdict.FAILS
        meter = self._limits.meter()
        prover = prover_of(pair, self._limits, solving=False, budget=meter, burn_outs=False)
        try:
            for claim in pair.claims:
                outcome = proved(prover, pair, claim, self._limits)
                if outcome.verdict not in SHOWN:
                    self._title = claim.title
                    if outcome.failure is not None and outcome.failure.check is not None:
                        run = outcome.failure.check
                        kept.insert(0, Check("", run.acts, (), (), run.until, NOWHERE))
                        del kept[MOST_KEPT:]
                    return outcome.verdict
        except work.Undecided:
            return Verdict.UNDECIDED
        finally:
            self.steps += meter.steps
        return Verdict.PROVED


def given_out(circuit: Circuit) -> tuple[str, ...]:
    """What a circuit gives to the outside: its outputs, its lamps, and dust that nothing reads; else all unread."""
    graph = circuit.graph
    unread = (name for name, part in circuit.by_name.items() if part.dust and not graph.out_degree(name))
    return tuple(dict.fromkeys((*outputs_of(circuit), *unread)))


def side_by_side(before: Study, after: Study, shift: int = 0) -> Pair:
    """Two circuits on the same inputs as one, and that each output of the second is that of the first, so much later.

    With a shift that is said of outputs that start alike.

    Raises Unlike where they have not the same inputs, outputs and rules, or parts that can't stand there twice.
    """
    first, second = before.circuit, after.circuit
    inputs = _inputs(first)
    if inputs != _inputs(second):
        raise Unlike("their inputs differ")
    if (first.rules, first.cycle) != (second.rules, second.cycle) or before.assumptions != after.assumptions:
        raise Unlike("what they stand under differs")
    outputs = given_out(first)
    lost = next((name for name in outputs if second.signal(name) is None), None)
    if lost is not None:
        raise Unlike(f"'{lost}' is gone")
    for circuit in (first, second):
        _refuse(circuit)
        if shift:
            _only_on_or_off(circuit, outputs)
    parts = (*(_renamed(part, inputs) for part in first.parts if part.name not in inputs), *second.parts)
    given = (Output(_other(each.name, inputs), _other(each.source, inputs), each.span) for each in first.outputs)
    pair = Circuit("pair", parts, (*given, *second.outputs), second.rules, cycle=second.cycle)
    signals = {name: (pair.signal(_other(name, inputs)) or name, pair.signal(name) or name) for name in outputs}
    claims = tuple(
        Claim(f"'{name}'", body, NOWHERE)
        for name, (was, now) in signals.items()
        for body in (_follow(was, now, shift) if shift else (Invariant(_alike(was, now)),))
        if was != now
    )
    return Pair(Study(pair, (), claims, assumptions=before.assumptions), tuple(signals.values()))


def _only_on_or_off(circuit: Circuit, outputs: Sequence[str]) -> None:
    """Raises Unlike where an output has levels, or is an input: then it can't be said to be the same, but later."""
    for name in outputs:
        part = circuit.by_name[circuit.signal(name) or name]
        if part.word not in ON_OR_OFF:
            raise Unlike(f"'{name}' gives the level of a {part.word}, of which only the same without a shift is known")


def _inputs(circuit: Circuit) -> Mapping[str, Part]:
    return {part.name: replace(part, span=NOWHERE) for part in circuit.inputs}


def _other(name: str, inputs: Mapping[str, Part]) -> str:
    return name if name in inputs else f"{BEFORE}{name}"


def _refuse(circuit: Circuit) -> None:
    """Raises Unlike for what can't stand beside itself."""
    if circuit.drawing is not None:
        raise Unlike("it is drawn, and not said in lines")
    if circuit.places:
        raise Unlike("it has light, and what is lit stands in one place only")
    for part in circuit.parts:
        known = INPUTS if part.verbs else COPIED
        if part.word not in known or part.cell is not None or (part.verbs and part.ports()):
            raise Unlike(f"it has a {part.word}, '{part.name}', which can't be held beside what it was")


def _renamed(part: Part, inputs: Mapping[str, Part]) -> Part:
    """A part under its other name, which reads what it read under their other names. Raises Unlike."""
    wired: dict[str, Any] = {
        field.name: tuple(_other(each, inputs) for each in value)
        for field in fields(part)
        if isinstance(value := getattr(part, field.name), tuple) and all(isinstance(each, str) for each in value)
    }
    other = replace(part, name=_other(part.name, inputs), **wired)
    if any(not (name in inputs or name.startswith(BEFORE)) for port in other.ports() for name in port.sources):
        raise Unlike(f"it has a {part.word}, '{part.name}', which can't be held beside what it was")
    return other


def _follow(before: str, after: str, shift: int) -> tuple[Body, ...]:
    return follows(before, after, shift) if shift > 0 else follows(after, before, -shift)


def follows(first: str, second: str, gt: int) -> tuple[Body, ...]:
    """Claims that together say of two signals, each on or off, that the second is the first so many gt (d) later.

    1. After each change of the first it does not change in the next d gt.
    2. The second never changes to what the first is not.
    3. From a rise of the first to the next rise of the second it takes d, and from fall to fall as well.

    Both start alike. Until the first changes, the second can't change, by (2). Let the first change at t, and the two
    be alike just before: to be on, say. By (1) it stays on up to t + d at least, in which time the second can't go off,
    by (2); so it goes on once at most, and by (3) that is at t + d, as a wait that began earlier has ended: its edge of
    the second came d after an edge of the first, which was more than d before t, by (1). From then on until the
    first changes again, the second can't change, by (2), so they are alike just before that, and so on. So each change
    of the second is one of the first d earlier, and each of the first one of the second d later.
    """
    changed = AllOf((Atom(second, Test.CHANGES), _on_and_off(first, second)))
    return (
        Invariant(Not(changed)),
        Steady(Atom(first, Test.CHANGES), first, gt),
        Delay(Atom(first, Test.RISES), Atom(second, Test.RISES), gt, gt),
        Delay(Atom(first, Test.FALLS), Atom(second, Test.FALLS), gt, gt),
    )


def _on_and_off(one: str, other: str) -> Condition:
    return Not(_both_or_neither(one, other, 1))


def _alike(one: str, other: str) -> Condition:
    """Two signals have the same level."""
    return AllOf(tuple(_both_or_neither(one, other, level) for level in range(1, FULL_POWER + 1)))


def _both_or_neither(one: str, other: str, level: int) -> Condition:
    first, second = Atom(one, Test.AT_LEAST, level), Atom(other, Test.AT_LEAST, level)
    return AnyOf((AllOf((first, second)), AllOf((Not(first), Not(second)))))
