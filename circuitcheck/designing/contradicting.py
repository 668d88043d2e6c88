"""What is asked that contradicts itself: no circuit at all keeps it, whatever parts it has.

Everything but the inputs is left free: it may be on or off at the end of each gt, and there and back within it. If even
so something asked is broken in a run, whatever then is, that run shows it; of what is asked in it, the fewest that
nothing keeps together are named.
"""

from __future__ import annotations

from collections.abc import Iterable
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
from circuitcheck.model.claims import Act, Check, Watched
from circuitcheck.prove.meter import Meter, OverBudget
from circuitcheck.prove.symbolic.formula import Formula
from circuitcheck.prove.symbolic.sat import Sat

MOST_RUNS = 60
"""In how many runs it is looked for, the shortest first."""
SHORT = 40
"""In gt: how long each input alone is worked, to look there too."""
STATES = 150_000
"""How many states it may cost."""


class Contradiction(NamedTuple):
    """What contradicts itself, and where that shows."""

    titles: tuple[str, ...]
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
                    titles, asked = self._fewest(run)
                    return Contradiction(titles, self._shortest(asked, run))
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

    def _fewest(self, run: Stimulus) -> tuple[tuple[str, ...], Asked]:
        """The fewest that can't be kept together, and their titles: each goes if the others can't be kept either."""
        asked, place = self._asked, run.check
        checks: tuple[Check, ...] = () if place is None else (asked.checks[place],)
        if place is not None:
            silent = asked.checks[place]._replace(expectations=(), throughout=())
            others = asked._replace(checks=(*asked.checks[:place], silent, *asked.checks[place + 1 :]))
            if self._broken(others, run):
                asked, checks = others, ()
        claims = [claim for claim in asked.claims if isinstance(claim.body, Watched) and not claim.fails_because]
        for claim in tuple(claims):
            fewer = [each for each in claims if each is not claim]
            if self._broken(asked._replace(claims=tuple(fewer)), run):
                claims = fewer
        titles = (*(check.title for check in checks), *(claim.title for claim in claims))
        return titles, asked._replace(claims=tuple(claims))
