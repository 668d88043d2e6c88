"""Many runs of days on end, spread over processes, and what they come to together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from typing import NamedTuple

from circuitcheck.chance.calendar import Calendar
from circuitcheck.chance.chain import MOST_WALKED, Chain
from circuitcheck.chance.walk import Event, Lived, Walker, Watching, first_within
from circuitcheck.model.circuit import Circuit
from circuitcheck.model.light import OPPOSITE

MOST_DAYS = 1_000_000
"""How many days are lived through in one call."""


class Plan(NamedTuple):
    """What is to be lived through."""

    circuit: Circuit
    watching: Watching
    runs: int
    on_end: int
    """How many days a run has."""
    case: str = "clear"
    seed: int = 1

    @property
    def calendar(self) -> Calendar:
        """Its days."""
        return Calendar(self.circuit.cycle, self.on_end, self.case)


class Odd(NamedTuple):
    """A day worth looking at: its run, its number in it from 0, and what was odd."""

    run: int
    day: int
    what: str


class Tally(NamedTuple):
    """What one edge came to on one day of all runs."""

    day: int
    waits: tuple[int, ...]
    """How long it took, in gt, in order; those days left out on which it was so already or never came."""
    missed: int
    already: int
    false_alarms: int

    @property
    def asked(self) -> int:
        """On how many days it was in question."""
        return len(self.waits) + self.missed


class Together(NamedTuple):
    """What all runs came to."""

    plan: Plan
    tallies: tuple[tuple[Tally, ...], ...]
    """For each edge, its days in turn."""
    events: dict[str, int]
    """How often each thing that only the whole shows was seen."""
    odd: tuple[Odd, ...]
    open_orders: int
    """In how many gt of all runs an order was open (rule C5), and the first was followed."""


Share = tuple[Plan, int, int]
"""A plan, the first run of it to be lived through, and how many."""


def lived(share: Share) -> list[Lived]:
    """Lives through some runs of a plan. Stands alone, so that it can be sent to another process."""
    plan, first, count = share
    chain = chain_of(plan)
    walker = Walker(chain, plan.calendar, plan.watching)
    return [walker.run(number, plan.seed, plan.case == "withered") for number in range(first, first + count)]


def chain_of(plan: Plan) -> Chain:
    """The chain of a plan's circuit, with all that is looked at. Raises ManyStarts and TooManyStarts."""
    return Chain(plan.circuit, [edge.name for edge in plan.watching.edges], MOST_WALKED)


def live_through(plan: Plan, executor: Executor | None = None, workers: int = 1) -> Together:
    """Lives through a plan. What comes out does not hang on the number of workers. Raises TooLarge and ManyStarts."""
    shares = list(_shares(plan, workers if executor is not None else 1))
    parts = [lived(share) for share in shares] if executor is None else list(executor.map(lived, shares))
    runs = [run for part in parts for run in part]
    calendar = plan.calendar
    tallies = tuple(tuple(_tallies(plan, calendar, runs, number)) for number in range(len(plan.watching.edges)))
    events: dict[str, int] = {}
    for event in (event for run in runs for event in run.events):
        name = f"{event.latch}: {event.kind}"
        events[name] = events.get(name, 0) + 1
    odd = tuple(sorted(_odd(plan, calendar, runs)))
    return Together(plan, tallies, events, odd, sum(run.open_orders for run in runs))


def _shares(plan: Plan, workers: int) -> Iterator[Share]:
    for number in range(workers):
        first, following = plan.runs * number // workers, plan.runs * (number + 1) // workers
        if first < following:
            yield plan, first, following - first


def _tallies(plan: Plan, calendar: Calendar, runs: Sequence[Lived], number: int) -> Iterator[Tally]:
    phase = plan.watching.phases[number]
    wrong = {window.day: window for window in calendar.wrong(phase)}
    for window in calendar.windows(phase):
        asked = [run for run in runs if window.day not in run.already[number]]
        waits = [first_within(run.edges[number], window.begin, window.end) for run in asked]
        came = sorted(wait for wait in waits if wait is not None)
        false = wrong.get(window.day)
        alarms = 0
        if false is not None:
            alarms = sum(false.begin <= edge < false.end for run in runs for edge in run.edges[number])
        yield Tally(window.day, tuple(came), len(waits) - len(came), len(runs) - len(asked), alarms)


def _odd(plan: Plan, calendar: Calendar, runs: Sequence[Lived]) -> Iterator[Odd]:
    for number, (edge, phase) in enumerate(zip(plan.watching.edges, plan.watching.phases, strict=True)):
        wrong = list(calendar.wrong(phase))
        windows = list(calendar.windows(phase))
        for run in runs:
            for window in windows:
                if window.day in run.already[number]:
                    yield Odd(
                        run.run, window.day, f"'{edge.name}' was so already when {phase} began: re-armed too late"
                    )
                elif first_within(run.edges[number], window.begin, window.end) is None:
                    yield Odd(run.run, window.day, f"'{edge.name}' was missed from {phase} on")
            for window in wrong:
                if any(window.begin <= at < window.end for at in run.edges[number]):
                    yield Odd(run.run, window.day, f"'{edge.name}' came by {OPPOSITE[phase]}, a false alarm")
    for run in runs:
        for event in run.events:
            yield Odd(run.run, calendar.day_at(event.time), told(event))


def told(event: Event) -> str:
    """What happened to a latch, in words."""
    return f"'{event.latch}': {event.kind}"
