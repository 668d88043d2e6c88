"""Inputs that wait for rest in place of inputs that keep a pace: nobody acts while something waits.

The memory of a pace is most of what a state of the formula holds. Where at most one input changes within some time, and
the circuit always comes to rest in it, this may be left out: each run that keeps the pace waits for rest as well, so
that what is proved of all that do is proved of it. This is shown from gt to gt. Let somebody act first while something
waits. Until then the run has waited for rest, so that nothing waited when somebody acted before; from there on nobody
acted for as long as the pace says; and in this time the circuit has come to rest, from whatever state in which nothing
waits. That last is asked of the formula: a run of so many gt, from any state at rest, in which something still waits.
"""

from __future__ import annotations

from collections.abc import Sequence

from circuitcheck.model.claims import Assumption, RateLimit
from circuitcheck.prove.compose import Stimulus
from circuitcheck.prove.forever import Lasso
from circuitcheck.prove.meter import Meter
from circuitcheck.prove.piece import Deed
from circuitcheck.prove.symbolic.induction import Unrolled
from circuitcheck.prove.symbolic.system import System

LONGEST = 160
"""Of so many gt it is asked, at most, whether a circuit is at rest after them."""


def rests_within_pace(system: System, assumptions: Sequence[Assumption], meter: Meter) -> bool:
    """Whether nobody who keeps the pace acts while something waits; for a system without one. Raises OverBudget."""
    pace = _pace(assumptions)
    formula = system.formula
    acts = formula.any(part.driven for part in system.parts)
    waits = formula.any(now for now, _ in system.waiting)
    run = Unrolled(system, [], meter)
    run.start(0, system.starts)
    if not pace or run.ask([run.literal(0, waits)]):
        return False
    run = Unrolled(system, [], meter)
    run.add(run.literal(0, -waits))
    for step in range(min(pace, LONGEST)):
        run.deepen()
        run.add(run.literal(step, acts if step == 0 else -acts))
        if not run.ask([run.literal(run.last, waits)]):
            return True
    return False


def waits_for_rest(system: System) -> int:
    """A literal for: nobody acts while something waits."""
    formula = system.formula
    acts = formula.any(part.driven for part in system.parts)
    return -formula.both(acts, formula.any(now for now, _ in system.waiting))


def apart(lasso: Lasso, assumptions: Sequence[Assumption]) -> Lasso:
    """A lasso of inputs that wait for rest, with more time before each change, so that it keeps the pace.

    Nothing waits then, so that the time changes nothing else.
    """
    pace = _pace(assumptions)
    way: Stimulus = []
    since = pace
    for actions in lasso.way:
        since = _later(way, actions, since, pace)
    round_: Stimulus = []
    since = min(since, _since_last(lasso.round))
    for actions in lasso.round:
        since = _later(round_, actions, since, pace)
    return Lasso(way, round_)


def _later(into: Stimulus, actions: list[Deed], since: int, pace: int) -> int:
    """Adds a gt, and time before it where it is too early for its actions; how long ago the latest is after it."""
    if not actions:
        into.append(actions)
        return since + 1
    into += [[] for _ in range(pace - since)]
    into.append(actions)
    return 1


def _since_last(stimulus: Stimulus) -> int:
    """How many gt after its latest action a stimulus ends, counted as `_later` does; of one without, its length."""
    return next((gt for gt, actions in enumerate(reversed(stimulus), 1) if actions), len(stimulus))


def _pace(assumptions: Sequence[Assumption]) -> int:
    """In how many gt in a row at most one input changes."""
    return max((each.within for each in assumptions if isinstance(each, RateLimit) and each.most == 1), default=0)
