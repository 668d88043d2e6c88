"""An approximation for machines that are too large to be computed: days simulated with a fixed seed.

Whoever uses it says that it is an approximation, and from how many days.
"""

from __future__ import annotations

from typing import NamedTuple

from circuitcheck.chance.days.calendar import Calendar, Window
from circuitcheck.chance.days.walk import Walker, Watching, first_within
from circuitcheck.chance.machine.chain import Chain
from circuitcheck.chance.machine.joint import Changed
from circuitcheck.model.claims import Atom

MOST_DAYS = 2_500
"""Any share of so many days is off by less than 2 % in 95 of 100 cases."""
SEED = 1


class Sample(NamedTuple):
    """What some days came to."""

    days: int
    waits: dict[int, int]
    """For each number of gt that it took, on how many days."""
    already: int
    false_alarms: int
    open: int
    """On how many days an order was open (rule C5)."""


def sampled(chain: Chain, calendar: Calendar, phase: str, edge: Atom, window: Window, wrong: Window) -> Sample:
    """The first such phase of as many days as may be. Raises ManyStarts, TooManyStarts and TooLarge."""
    walker = Walker(chain, calendar, Watching((edge,), (phase,)))
    steps = days = already = alarms = opened = 0
    waits: dict[int, int] = {}

    def told(now: int, changed: Changed) -> None:
        nonlocal steps
        steps += 1

    closeness = chain.closeness
    most_steps = closeness.most_sampled // len(chain.program.devices)
    most_asked = chain.asked + closeness.most_asked_sampled
    most_outcomes = closeness.most_outcomes_sampled
    while days < MOST_DAYS and steps < most_steps and chain.asked < most_asked and chain.draws.outcomes < most_outcomes:
        lived = walker.run(days, SEED, told=told)
        days += 1
        edges = lived.edges[0]
        opened += bool(lived.open_orders)
        alarms += sum(wrong.begin <= at < wrong.end for at in edges)
        if window.day in lived.already[0]:
            already += 1
            continue
        wait = first_within(edges, window.begin, window.end)
        if wait is not None:
            waits[wait] = waits.get(wait, 0) + 1
    return Sample(days, waits, already, alarms, opened)
