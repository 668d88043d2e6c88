"""What a claim about runs without end is owed at the end of each gt: asked of a search's answers, or of levels."""

from __future__ import annotations

from circuitcheck.checks.conditions import Levels
from circuitcheck.checks.watches import Compiles
from circuitcheck.model.claims import Condition, Eventually, ForEver, Recurring


class Owed:
    """One claim, with its conditions as functions of what `compiles` makes them of.

    Where rest is claimed, it is owed always, and given where nothing waits.
    """

    def __init__(self, body: ForEver, compiles: Compiles) -> None:
        trigger: Condition | None = None
        goal: Condition | None = None
        given: tuple[Condition, ...] = ()
        if isinstance(body, Eventually):
            trigger, goal, given = body.trigger, body.goal, body.given
        elif isinstance(body, Recurring):
            goal, given = body.condition, body.given
        self.rest = goal is None
        self._trigger = None if trigger is None else compiles(trigger)
        self._goal = None if goal is None else compiles(goal)
        self._given = [compiles(each) for each in given]

    @property
    def count(self) -> int:
        """How many conditions are taken to hold again and again."""
        return len(self._given)

    def triggers(self, now: Levels, before: Levels) -> bool:
        """Whether something is owed from this gt on, unless it is given in it."""
        return self._trigger is None or self._trigger(now, before)

    def after(self, owed: bool, now: Levels, before: Levels, waits: bool) -> bool:
        """Whether something is owed after a gt, if something was `owed` before; `waits` says whether anything waits."""
        met = not waits if self._goal is None else self._goal(now, before)
        return not met and (owed or self.triggers(now, before))

    def held(self, now: Levels, before: Levels) -> frozenset[int]:
        """Which of the conditions hold that are taken to hold again and again, by number."""
        return frozenset(number for number, given in enumerate(self._given) if given(now, before))
