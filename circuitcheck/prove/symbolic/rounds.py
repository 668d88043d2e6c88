"""A claim about runs without end as one about finite ones: how many fair rounds a run can go while something is owed.

K. Claessen and N. Sörensson, "A liveness checking algorithm that counts" (FMCAD 2012). A *round* is over when
everything has held again that the claim takes to hold again and again; where it takes nothing so, each gt is one. A
claim is broken by a run in which from some gt on something is owed for ever, in rounds without end. So it is proved if
no run goes more than some number of rounds while the same thing is owed: that an invariant can show. Theirs counts over
the whole run; ours begins again whenever what was owed is given, since only the last time counts.

Why nothing proved so is false: each run of the engine is one of the formula, gt by gt (`prove.symbolic.system`), with
the same answers at the end of each gt, so that it goes as many rounds there. A run without end that breaks the claim
goes through more rounds than any number; one of its finite beginnings goes through more than the number proved, and
that is a run of the formula too. Of unknown orders nothing is taken for granted: the bits that stand for them are free
again in each gt, and no round asks for them to come out one way or the other.

What is proved of no more than k rounds of the formula is so of its finite runs, whatever k; the k itself is of no
matter to the claim. A claim that is true of the formula has such a k, since the states are finite in number: with more
rounds than states, two begin in one state, and between them lies a round that can be gone for ever.
"""

from __future__ import annotations

import itertools

from circuitcheck.checks.conditions import Holds
from circuitcheck.model.claims import Condition, ForEver
from circuitcheck.prove.owed import Owed
from circuitcheck.prove.symbolic.formula import FALSE
from circuitcheck.prove.symbolic.system import System
from circuitcheck.prove.symbolic.watched import answered


class Rounds:
    """What a claim is owed, in a system, and how many rounds have gone while it was.

    `rests` says that the circuit is known to rest again and again (`prove.symbolic.rest`): from each rest it comes back
    to rest before anybody acts, and stays there if nobody does. Then each round waits for that as well, as for what the
    claim takes to hold again and again: a run without end goes through as many rounds, and few of them are enough.
    """

    def __init__(self, system: System, body: ForEver, rests: bool = False) -> None:
        self._system = system
        formula = system.formula
        asked: list[Condition] = []

        def compiles(condition: Condition) -> Holds:
            number = len(asked)
            asked.append(condition)
            return lambda answers, _: bool(answers[number])

        claim = Owed(body, compiles)
        answers = [answered(system, condition) for condition in asked]
        own = len(asked) - claim.count
        waits = formula.any(then for _, then in system.waiting) if claim.rest or rests else FALSE
        self.owed = formula.fresh()
        rows = {
            (owed, waiting, *bits): int(claim.after(bool(owed), bits, bits, bool(waiting and claim.rest)))
            for owed, waiting, *bits in itertools.product((0, 1), repeat=own + 2)
        }
        owed_then = formula.table([self.owed, waits, *answers[:own]], rows)
        if claim.rest:
            # A round that rest is claimed of is one in which nobody does anything.
            owed_then = formula.all([owed_then, *(-part.driven for part in system.parts)])
        self.owed_then = owed_then
        system.keeps([self.owed], [owed_then], (0,))
        self.held = [*answers[own:], *([-waits] if rests else [])]
        """Of each condition taken to hold again and again a literal for: it holds at the end of the gt."""
        self._over = self._round_over()
        self._counted: list[int] = []

    def _round_over(self) -> int:
        """A literal for: with this gt a round is over."""
        formula = self._system.formula
        if len(self.held) < 2:
            return formula.all((self.owed_then, *self.held))
        seen = [formula.fresh() for _ in self.held]
        so_far = [formula.any(pair) for pair in zip(seen, self.held, strict=True)]
        over = formula.all((self.owed_then, *so_far))
        then = [formula.all((self.owed_then, -over, each)) for each in so_far]
        self._system.keeps(seen, then, (0,) * len(seen))
        return over

    def at_least(self, rounds: int) -> int:
        """A literal of a state for: so many rounds have gone, at least, while the same thing was owed."""
        formula = self._system.formula
        while len(self._counted) < rounds:
            before = self._counted[-1] if self._counted else self.owed_then
            counted = formula.fresh()
            then = formula.both(self.owed_then, formula.any((counted, formula.both(before, self._over))))
            self._system.keeps([counted], [then], (0,))
            self._counted.append(counted)
        return self._counted[rounds - 1]
