"""What is asked that contradicts itself: no circuit at all keeps it, whatever parts it has.

Everything but the inputs is left free: it may be on or off at the end of each gt, and there and back within it. If even
so something asked is broken in a run, whatever then is, that run shows it; of what is asked in it, the fewest that
nothing keeps together are named. Two checks in which the same is worked up to some gt are both of the run up to there,
so that what both expect by then must go together.
"""

from __future__ import annotations

import itertools
from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from circuitcheck.certificate.behaviour import Behaviour, LeftFree
from circuitcheck.certificate.transition import Transition
from circuitcheck.certificate.uncertified import Uncertified
from circuitcheck.checks.allowed import allowed
from circuitcheck.designing.frame import INPUTS, Frame
from circuitcheck.designing.netlist import TORCH
from circuitcheck.designing.open_system import OpenSystem
from circuitcheck.designing.unrolled import Asked, Stimulus, Unrolling, worked_in
from circuitcheck.diagnostics import NOWHERE
from circuitcheck.model.claims import Act, Check, Claim, Expectation, Watched
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.symbolic.formula import Formula
from circuitcheck.prove.symbolic.sat import Sat

MOST_RUNS = 60
"""In how many runs it is looked for, the shortest first."""
MOST_PAIRS = 200
"""How many pairs of checks are looked at."""
SHORT = 40
"""In gt: how long each input alone is worked, to look there too."""
STATES = 150_000
"""How many states it may cost."""


class Contradiction(NamedTuple):
    """What contradicts itself, and where that shows."""

    asked: tuple[Check | Claim, ...]
    """The claims and checks that no circuit keeps together; without any one of them some might."""
    run: Stimulus
    """What is worked, and for how many gt."""


class _Free(OpenSystem):
    """All that may be: the inputs do what they do, and everything else whatever it likes."""

    def _behaviour(self, name: str) -> Behaviour:
        part = self.wired.parts[name]
        if part.word in INPUTS:
            return super()._behaviour(name)
        return LeftFree(self, part, ())

    def _build(self) -> None:
        Transition._build(self)
        for name in self._joined:
            free = self.parts[name] = LeftFree(self, self.wired.parts[name], ())
            free.build(())

    def rests(self) -> int:
        """No input is worked yet."""
        gates = self.gates
        inputs = [part for part in self.parts.values() if part.part.word in INPUTS]
        return gates.all(part.on if part.part.start else part.on ^ 1 for part in inputs)


class Contradictions:
    """Looks for what contradicts itself in what a file asks."""

    def __init__(self, frame: Frame, asked: Asked, budget: Meter) -> None:
        self._asked, self._budget = asked, budget.part(STATES, "for what contradicts itself")
        self._circuit = frame.everything(dict.fromkeys(frame.named, TORCH))
        self._joined = [line.name for line in frame.read if line.word != "lamp"]
        self._inputs = tuple(frame.circuit.inputs)
        self._on = [part.name for part in self._inputs if part.start]

    def first(self, known: Iterable[Stimulus]) -> Contradiction | None:
        """The first, in the runs that a search met, in those of the checks, and where one input is worked, or none."""
        runs = {run._replace(start=None) for run in known} | set(self._of_checks()) | set(self._short())
        try:
            for run in sorted(runs, key=lambda each: (each.gt, len(each.worked), sorted(each.worked)))[:MOST_RUNS]:
                if self._broken(self._asked, run):
                    fewest, asked = self._fewest(run)
                    return Contradiction(fewest, self._shortest(asked, run))
            return next(self._of_two_checks(), None)
        except (OverBudget, Uncertified):
            pass
        return None

    def _short(self) -> Iterable[Stimulus]:
        """Nothing worked, and each input alone, as far as that is assumed to be possible."""
        for part in (None, *self._inputs):
            verb = "" if part is None else "press" if "press" in part.verbs else "off" if part.start else "on"
            acts = () if part is None else (Act(0, part.name, verb, 0, NOWHERE),)
            if allowed(Check("", acts, (), (), SHORT, NOWHERE), self._asked.assumptions):
                yield Stimulus(frozenset((0, act.name) for act in acts), SHORT)

    def _of_checks(self) -> Iterable[Stimulus]:
        for place, check in enumerate(self._asked.checks):
            if not check.fails_because:
                try:
                    yield Stimulus(worked_in(check, self._on), check.until + 1, place)
                except Uncertified:
                    continue

    def _of_two_checks(self) -> Iterator[Contradiction]:
        """Two checks that contradict each other, maybe together with claims, with a run that shows it."""
        checks = [check for check in self._asked.checks if not check.fails_because]
        for one, other in itertools.islice(itertools.combinations(checks, 2), MOST_PAIRS):
            both = next(filter(self._breaks, together(one, other)), None)
            if both is not None:
                claims = [claim for claim in self._asked.claims if is_watched(claim)]
                for claim in tuple(claims):
                    fewer = [each for each in claims if each is not claim]
                    claims = fewer if self._breaks(both, fewer) else claims
                most = bisect_left(range(both.until), True, key=lambda gt: self._breaks(cut_off(both, gt), claims))
                run = Stimulus(frozenset(act for act in worked_in(both, self._on) if act[0] <= most), most + 1)
                yield Contradiction((one, other, *claims), run)

    def _breaks(self, check: Check, claims: Sequence[Claim] | None = None) -> bool:
        """A check, or one of some claims in its run, is broken, whatever happens."""
        claims = self._asked.claims if claims is None else claims
        try:
            run = Stimulus(worked_in(check, self._on), check.until + 1, 0)
        except Uncertified:
            return False
        return self._broken(self._asked._replace(checks=(check,), claims=tuple(claims)), run)

    def _broken(self, asked: Asked, run: Stimulus) -> bool:
        """Something of this is broken in a run, whatever happens in it."""
        formula = Formula()
        Unrolling(_Free(self._circuit, {}, [], self._joined), asked).write(run, formula, {})
        return not Sat(formula.clauses, self._budget).ask([])

    def _shortest(self, asked: Asked, run: Stimulus) -> Stimulus:
        """A run that breaks something whatever happens, ended as soon as it has: by halving."""
        if run.check is not None:
            return run
        least, most = 1, run.gt
        while least < most:
            middle = (least + most) // 2
            if self._broken(asked, run._replace(gt=middle)):
                most = middle
            else:
                least = middle + 1
        return run._replace(gt=most, worked=frozenset(act for act in run.worked if act[0] < most))

    def _fewest(self, run: Stimulus) -> tuple[tuple[Check | Claim, ...], Asked]:
        """The fewest that can't be kept together: each goes if the others can't be kept either."""
        asked, place = self._asked, run.check
        checks: tuple[Check, ...] = () if place is None else (asked.checks[place],)
        if place is not None:
            silent = asked.checks[place]._replace(expectations=(), throughout=())
            others = asked._replace(checks=(*asked.checks[:place], silent, *asked.checks[place + 1 :]))
            if self._broken(others, run):
                asked, checks = others, ()
        claims = [claim for claim in asked.claims if is_watched(claim)]
        for claim in tuple(claims):
            fewer = [each for each in claims if each is not claim]
            if self._broken(asked._replace(claims=tuple(fewer)), run):
                claims = fewer
        return (*checks, *claims), asked._replace(claims=tuple(claims))


def is_watched(claim: Claim) -> bool:
    """Whether a claim can be broken in a run, and may not be."""
    return isinstance(claim.body, Watched) and not claim.fails_because


def together(one: Check, other: Check) -> Iterator[Check]:
    """What two checks expect of one run, each time as one check: of the one's, what the other expects of it as well.

    That is what it expects up to the gt before something is worked in one of them only. What must hold throughout one
    of them counts as far as both go.
    """
    differing = [act.at for act in (*_only_in(one, other), *_only_in(other, one))]
    last = min([*(at - 1 for at in differing), max(one.until, other.until)])
    for base, more in ((one, other), (other, one)):
        expected = _until(more, last)
        if expected:
            yield base._replace(expectations=(*base.expectations, *expected))
    if last >= 0 and (one.throughout or other.throughout):
        every, throughout = (*one.expectations, *other.expectations), (*one.throughout, *other.throughout)
        both = one._replace(expectations=every, throughout=throughout)
        yield cut_off(both, min(last, one.until, other.until))


def cut_off(check: Check, last: int) -> Check:
    """What a check asks up to a gt."""
    acts = tuple(act for act in check.acts if act.at <= last)
    return check._replace(acts=acts, expectations=_until(check, last), until=last)


def _only_in(one: Check, other: Check) -> list[Act]:
    known = {(act.at, act.name, act.verb, act.level) for act in other.acts}
    return [act for act in one.acts if (act.at, act.name, act.verb, act.level) not in known]


def _until(check: Check, last: int) -> tuple[Expectation, ...]:
    """What a check expects up to a gt."""
    return tuple(
        each._replace(end=min(each.end, last + 1))
        for each in check.expectations
        if (each.end - 1 if each.eventually else each.start) <= last
    )
